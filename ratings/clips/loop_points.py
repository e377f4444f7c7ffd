"""Loop points of clips: where the seam is least audible, in the worst of several sets."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.acoustics.levels import weighted
from ratings.errors import RecordingError

SEAM_S = 0.010
"""Length of the crossfade by which the player joins the end of a loop to its start."""
SHORTEST_LOOP_S = 1.0
UNRELATED_SEAM_DB = 0.0
"""Two places of a noise meet with this; a loop that does no better is none (own choice)."""

_HOP_S = 0.010
_FRAME_S = 0.060
_SEARCH_S = 0.015
_PLACES = 256
_LOWEST_BAND_HZ, _HIGHEST_BAND_HZ = 100.0, 10_000.0
_FLOOR_DB = -120.0

Samples = npt.NDArray[np.float64]
Places = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Loop:
    """A stretch of a clip that is to be repeated.

    Attributes
    ----------
    start_frame, stop_frame
        The loop holds the frames from start up to, and without, stop. Its last 10 ms are faded
        into its first 10 ms, and playing goes on behind these.
    seam_db
        What the two sounds that are faded into each other have not in common: power of their
        difference over the sum of their powers, A-weighted, all channels alike. Minus infinity
        is limited to -120 dB and means equal; 0 dB unrelated sounds, as at any two places of a
        noise; +3 dB opposite ones. Of several clips, that of the worst.
    colour_db
        How far the third-octave levels around the two places differ, root mean square in dB; of
        several clips, in the worst.
    """

    start_frame: int
    stop_frame: int
    seam_db: float
    colour_db: float


@dataclass(frozen=True, slots=True)
class FoundLoop:
    """The loop that clips share, or why there is none.

    Attributes
    ----------
    loop
        None when there is none.
    remark
        What becomes of clips that are cut to it, in the user's words.
    no_loop_because
        A sentence; empty when there is one.
    """

    loop: Loop | None
    remark: str
    no_loop_because: str = ""


def common_loop(
    clips: Sequence[Samples], sample_rate_hz: int, least_s: float, margin_s: float = 0.0
) -> FoundLoop:
    """Find the loop whose seam is least audible in the worst of several clips, all alike.

    Parameters
    ----------
    clips
        Each of shape (frames, channels), all of equal shape and any scale. They share one play
        position, and so one loop; each counts alike, whatever its level.
    least_s
        Shortest loop.
    margin_s
        Kept clear at both ends, for fades.

    Raises
    ------
    RecordingError
        When all of them are silent.

    Notes
    -----
    First the places with the most alike third-octave spectra in 60 ms are taken, on a grid of
    10 ms; around each, cross-correlation finds the start whose 10 ms fit the end best. The best
    fit of all wins. The criterion is our own; A-weighting keeps the low rumble, which a seam
    hardly disturbs, from deciding. There is no loop where none meets better than unrelated sounds
    do, and better than the ends of the clips.
    """
    frames, margin = len(clips[0]), math.ceil(margin_s * sample_rate_hz)
    prepared = _balanced(np.concatenate(clips, axis=1), sample_rate_hz, len(clips))
    try:
        loop = _best_loop(prepared, sample_rate_hz, least_s, margin)
    except RecordingError as problem:
        words = f"whole window: too short for a loop of {least_s:g} s"
        return FoundLoop(None, words, problem.what_happened)
    whole_db = _seam_db(prepared, sample_rate_hz, margin, frames - margin)
    if loop.seam_db >= min(whole_db, UNRELATED_SEAM_DB):
        return FoundLoop(
            None,
            "whole window: no better loop was found",
            f"No loop of {least_s:g} s or more joins better than the ends of the clips do, and "
            "than unrelated sounds.",
        )
    loop_s = (loop.stop_frame - loop.start_frame) / sample_rate_hz
    return FoundLoop(
        loop,
        f"cut to a loop of {loop_s:.2f} s, which joins by {whole_db - loop.seam_db:.1f} dB better "
        "than the uncut clip, in the set that joins worst",
    )


def seam_level_db(
    samples: Samples, sample_rate_hz: int, start_frame: int, stop_frame: int, clips: int = 1
) -> float:
    """Give `Loop.seam_db` for a loop from anywhere to anywhere."""
    prepared = _balanced(samples, sample_rate_hz, clips)
    return _seam_db(prepared, sample_rate_hz, start_frame, stop_frame)


def _best_loop(prepared: list[Samples], sample_rate_hz: int, least_s: float, margin: int) -> Loop:
    seam = round(SEAM_S * sample_rate_hz)
    frames = len(prepared[0])
    least = _least_frames(frames - 2 * margin, sample_rate_hz, least_s)
    hop = round(_HOP_S * sample_rate_hz)
    levels_db = [_spectra_db(clip, sample_rate_hz) for clip in prepared]
    starts, stops, colours_db = _alike_places(levels_db, hop, seam, margin, frames - margin, least)
    best: Loop | None = None
    search = round(_SEARCH_S * sample_rate_hz)
    for start, stop, colour_db in zip(starts, stops, colours_db, strict=True):
        lowest = max(margin, int(start) - search)
        highest = min(int(start) + search, int(stop) - least)
        mismatch = _mismatches(prepared, lowest, highest, int(stop), seam)
        at = int(np.argmin(mismatch))
        seam_db = _decibels(float(mismatch[at]))
        if best is None or seam_db < best.seam_db:
            best = Loop(lowest + at, int(stop), seam_db, float(colour_db))
    if best is None:
        raise _too_short(frames - 2 * margin, sample_rate_hz, least)
    return best


def _seam_db(
    prepared: list[Samples], sample_rate_hz: int, start_frame: int, stop_frame: int
) -> float:
    seam = round(SEAM_S * sample_rate_hz)
    return _decibels(float(_mismatches(prepared, start_frame, start_frame, stop_frame, seam)[0]))


def _least_frames(room: int, sample_rate_hz: int, least_s: float) -> int:
    least = math.ceil(max(least_s, SHORTEST_LOOP_S) * sample_rate_hz)
    if least + round(2 * _FRAME_S * sample_rate_hz) > room:
        raise _too_short(room, sample_rate_hz, least)
    return least


def _too_short(room: int, sample_rate_hz: int, least: int) -> RecordingError:
    return RecordingError(
        f"{max(room, 0) / sample_rate_hz:.2f} s are too short to find a loop of "
        f"{least / sample_rate_hz:.2f} s in them.",
        "Cut a longer clip, or ask for a shorter loop.",
    )


def _balanced(samples: Samples, sample_rate_hz: int, clips: int) -> list[Samples]:
    """Give the sounding channels of every clip that sounds, all equally loud."""
    heard = weighted(np.asarray(samples, dtype=np.float64), sample_rate_hz, "A")
    rms = np.sqrt(np.mean(heard**2, axis=0))
    if not rms.any():
        raise RecordingError("A silent clip has no loop.", "Choose another stretch.")
    balanced = []
    for channels in np.split(np.arange(heard.shape[1]), clips):
        sounding = channels[rms[channels] > 0.0]
        if len(sounding):
            balanced.append(heard[:, sounding] / rms[sounding])
    return balanced


def _spectra_db(prepared: Samples, sample_rate_hz: int) -> Samples:
    """Give third-octave levels, shape (frames of a spectrogram, bands x channels)."""
    hop, length = round(_HOP_S * sample_rate_hz), round(_FRAME_S * sample_rate_hz)
    frequency_hz = np.fft.rfftfreq(length, 1 / sample_rate_hz)
    highest_hz = min(_HIGHEST_BAND_HZ, 0.4 * sample_rate_hz)
    lowest, highest = (round(10 * math.log10(hz / 1000)) for hz in (_LOWEST_BAND_HZ, highest_hz))
    centre_hz = 1000.0 * 10.0 ** (np.arange(lowest, highest + 1) / 10)
    band = np.abs(np.log10(np.maximum(frequency_hz, 1e-9)[:, np.newaxis] / centre_hz)) <= 0.05
    band = band[:, band.any(axis=0)].astype(np.float64)
    window = np.hanning(length)[:, np.newaxis]
    rows = [
        band.T @ np.abs(np.fft.rfft(prepared[at : at + length] * window, axis=0)) ** 2
        for at in range(0, len(prepared) - length + 1, hop)
    ]
    power = np.array(rows).reshape(len(rows), -1)
    floor = power.max() * 1e-10
    levels_db: Samples = 10 * np.log10(np.maximum(power, floor))
    return levels_db


def _alike_places(
    levels_db: list[Samples], hop: int, seam: int, lowest: int, highest: int, least: int
) -> tuple[Places, Places, Samples]:
    """Give starts and stops, in frames, of the loops whose surroundings sound most alike."""
    half = round(_FRAME_S / _HOP_S / 2) * hop
    middles = np.arange(len(levels_db[0])) * hop + half
    starts, stops = middles - seam // 2, middles - seam // 2 + seam
    first = np.flatnonzero((starts >= lowest) & (starts <= highest - least))
    second = np.flatnonzero((stops <= highest) & (stops >= lowest + least))
    distance = np.zeros((len(first), len(second)))
    for levels in levels_db:
        np.maximum(distance, _distances_db(levels[first], levels[second]), out=distance)
    too_short = stops[second] - starts[first][:, np.newaxis] < least
    distance[too_short] = np.inf
    order = np.argsort(distance, axis=None, kind="stable")[:_PLACES]
    rows, columns = np.unravel_index(order, distance.shape)
    found = distance[rows, columns]
    held = np.isfinite(found)
    return starts[first][rows[held]], stops[second][columns[held]], found[held]


def _distances_db(early: Samples, late: Samples) -> Samples:
    """Give how far every row of one differs from every row of the other, root mean square."""
    squares = (
        np.sum(early**2, axis=1)[:, np.newaxis] + np.sum(late**2, axis=1) - 2 * (early @ late.T)
    )
    distances: Samples = np.sqrt(np.maximum(squares, 0.0) / early.shape[1])
    return distances


def _mismatches(
    prepared: list[Samples], lowest: int, highest: int, stop: int, seam: int
) -> Samples:
    """Give the mismatch of the worst clip's seam for every start from lowest to highest."""
    each = [_mismatches_of(clip, lowest, highest, stop, seam) for clip in prepared]
    worst: Samples = np.max(each, axis=0)
    return worst


def _mismatches_of(prepared: Samples, lowest: int, highest: int, stop: int, seam: int) -> Samples:
    tail = prepared[stop - seam : stop]
    heads = prepared[lowest : highest + seam]
    common = sum(
        np.correlate(heads[:, channel], tail[:, channel], mode="valid")
        for channel in range(prepared.shape[1])
    )
    sums = np.concatenate([[0.0], np.cumsum(np.sum(heads**2, axis=1))])
    power = sums[seam:] - sums[:-seam] + float(np.sum(tail**2))
    mismatches: Samples = 1.0 - 2.0 * np.asarray(common) / np.maximum(power, 1e-30)
    return mismatches


def _decibels(mismatch: float) -> float:
    return 10 * math.log10(max(mismatch, 10 ** (_FLOOR_DB / 10)))
