"""Clips out: a stretch of a recording, two ears, one rate, and no trace of where it came from."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import soxr

from ratings.acoustics.levels import equivalent_level_db, maximum_level_db, weighted
from ratings.errors import RecordingError
from ratings.recordings.clip_files import HIGHEST_CODE, LOWEST_CODE, write_clip
from ratings.recordings.opening import (
    HIGHEST_SAMPLE_RATE_HZ,
    LOWEST_SAMPLE_RATE_HZ,
    OpenRecording,
    open_recording,
    shown_name,
)
from ratings.recordings.read import clipping_magnitude, is_lossy

STEADY_CLIP_LENGTH_S = 8.0
"""Length for steady speed (common practice, no source: 5 to 8 s)."""
COAST_DOWN_CLIP_LENGTH_S = 12.0
"""Length for coast-down (common practice, no source: up to 12 s)."""
SHORTEST_CLIP_S = 1.0
SHORTEST_COMMON_WINDOW_S = 2.0

_FULL_SCALE_CODE = 2**23
_PER_SECOND = 10**9
_GAIN_STEP_DB = 0.1


@dataclass(frozen=True, slots=True)
class ClipCut:
    """Which stretch of a recording becomes a clip.

    Attributes
    ----------
    left_channel, right_channel
        Channels of the recording, counted from 0, for the two ears. A recording of one channel
        is heard in both ears whatever stands here.
    start_s, stop_s
        Seconds from the start of the recording.
    gain_db
        The same for every clip that is to be compared; no clip is ever normalised.
    """

    left_channel: int
    right_channel: int
    start_s: float
    stop_s: float
    gain_db: float = 0.0


@dataclass(frozen=True, slots=True)
class ClipFacts:
    """What was written.

    Attributes
    ----------
    frames, sample_rate_hz
        Length and rate of the clip.
    content_hash
        SHA-256 of the clip file, hexadecimal.
    peak_full_scale
        Largest magnitude in either ear, full scale 1.0.
    leq_a_db_re_full_scale, fast_max_a_db_re_full_scale
        A-weighted equivalent and maximum fast level of the louder ear. 0 dB is an rms of 1.0;
        add 20 log10(pascal per full scale / 20 uPa) for the sound pressure level.
    remarks
        What was done to the sound or is odd about it, in the user's words; empty when nothing.
    """

    frames: int
    sample_rate_hz: int
    content_hash: str
    peak_full_scale: float
    leq_a_db_re_full_scale: float
    fast_max_a_db_re_full_scale: float
    remarks: tuple[str, ...]


class Window(NamedTuple):
    """A stretch of time in seconds."""

    start_s: float
    stop_s: float


def common_window(durations_s: Sequence[float], length_s: float = STEADY_CLIP_LENGTH_S) -> Window:
    """Give the same window for all recordings of a condition: the middle of the shortest one.

    Parameters
    ----------
    durations_s
        Lengths of the recordings, at least one.
    length_s
        Wished length; shortened to that of the shortest recording. 2 s at least.

    Returns
    -------
    Start and stop on whole milliseconds, within every recording.

    Raises
    ------
    RecordingError
        When the window would be shorter than 2 s, or there is no recording.
    """
    if len(durations_s) == 0:
        raise RecordingError(
            "There is no recording to take a window from.", "Choose the recordings first."
        )
    if not length_s >= SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"A window of {length_s:g} s is too short to be judged by ear.",
            f"Choose {SHORTEST_COMMON_WINDOW_S:g} s or more; 5 to 8 s suit steady speed.",
        )
    shortest_s = min(durations_s)
    if not shortest_s >= SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"The shortest recording of this condition lasts {shortest_s:.3f} s, and every clip "
            f"needs the same window of at least {SHORTEST_COMMON_WINDOW_S:g} s.",
            "Leave that run out or choose a longer one.",
        )
    shortest_ms = math.floor(shortest_s * 1000 + 1e-6)
    length_ms = min(math.floor(length_s * 1000 + 1e-6), shortest_ms)
    start_ms = (shortest_ms - length_ms) // 2
    return Window(start_ms / 1000, (start_ms + length_ms) / 1000)


def cut_clip(
    source: Path, destination: Path, cut: ClipCut, sample_rate_hz: int = 48_000
) -> ClipFacts:
    """Cut a clip out of a recording and write it as 24-bit stereo WAV.

    Raises
    ------
    RecordingError
        When the recording cannot be used, the cut lies outside it or is under 1 s, an ear would
        hear nothing, the clip would exceed full scale, or the file cannot be written. Nothing
        is left at `destination` then, or what was there before.

    Notes
    -----
    The clip is what the whole recording, brought to `sample_rate_hz`, holds from the frame
    nearest to `start_s`. Cuts of equal length give equal frame counts and file sizes. There is
    no fade, no dither and no normalising: an integer recording of up to 24 bits at the same
    rate and gain 0 comes out bit for bit.
    """
    _refuse_senseless(cut, sample_rate_hz)
    with open_recording(source) as recording:
        ears = _ear_channels(recording, cut)
        start_frame, frames = _placed(recording, cut, sample_rate_hz)
        original, heard = _read_window(recording, start_frame, frames, sample_rate_hz, ears)
    _refuse_silence(source, original, ears)
    if cut.gain_db != 0.0:
        heard = heard * 10 ** (cut.gain_db / 20)
    codes = _codes(source, heard)
    _refuse_silence(source, codes, ears)
    content_hash = write_clip(destination, codes, sample_rate_hz, source)
    written = codes / _FULL_SCALE_CODE
    a_weighted = weighted(written, sample_rate_hz, "A")
    return ClipFacts(
        frames=frames,
        sample_rate_hz=sample_rate_hz,
        content_hash=content_hash,
        peak_full_scale=float(np.abs(written).max()),
        leq_a_db_re_full_scale=float(
            equivalent_level_db(a_weighted, sample_rate_hz, "Z", 1.0).max()
        ),
        fast_max_a_db_re_full_scale=float(
            maximum_level_db(a_weighted, sample_rate_hz, "Z", "fast", 1.0).max()
        ),
        remarks=_remarks(recording, cut, original, ears, sample_rate_hz),
    )


def _refuse_senseless(cut: ClipCut, sample_rate_hz: int) -> None:
    if not all(map(math.isfinite, (cut.start_s, cut.stop_s, cut.gain_db))):
        raise RecordingError("Start, stop and gain of a clip must be numbers.", "Enter them again.")
    if cut.stop_s - cut.start_s < SHORTEST_CLIP_S - 1 / _PER_SECOND:
        raise RecordingError(
            f"A clip from {cut.start_s:.3f} s to {cut.stop_s:.3f} s is shorter than "
            f"{SHORTEST_CLIP_S:g} s, too short to be judged by ear.",
            "Choose a longer stretch; 5 to 8 s suit steady speed.",
        )
    if not LOWEST_SAMPLE_RATE_HZ <= sample_rate_hz <= HIGHEST_SAMPLE_RATE_HZ:
        raise RecordingError(
            f"Clips cannot be written at {sample_rate_hz} Hz.",
            f"Choose {LOWEST_SAMPLE_RATE_HZ} to {HIGHEST_SAMPLE_RATE_HZ} Hz; 48000 Hz is usual.",
        )


def _ear_channels(recording: OpenRecording, cut: ClipCut) -> tuple[int, int]:
    if recording.channels == 1:
        return 0, 0
    for channel in (cut.left_channel, cut.right_channel):
        if not 0 <= channel < recording.channels:
            raise RecordingError(
                f"{shown_name(recording.path)} has no channel {channel + 1}; "
                f"it has {recording.channels}.",
                "Choose the channels for the two ears again.",
            )
    return cut.left_channel, cut.right_channel


def _placed(recording: OpenRecording, cut: ClipCut, sample_rate_hz: int) -> tuple[int, int]:
    """Give the first frame and the number of frames, counted at the rate of the clip."""
    # Whole nanoseconds, so that 10.1 - 2.1 and 8.1 - 0.1 are the same length.
    length_ns = round((cut.stop_s - cut.start_s) * _PER_SECOND)
    frames = (length_ns * sample_rate_hz + _PER_SECOND // 2) // _PER_SECOND
    start_frame = (
        round(cut.start_s * _PER_SECOND) * sample_rate_hz + _PER_SECOND // 2
    ) // _PER_SECOND
    source_hz = recording.sample_rate_hz
    available = (recording.frames * sample_rate_hz + source_hz // 2) // source_hz
    if start_frame + frames == available + 1 and start_frame > 0:
        # Start and length were both rounded up by half a frame.
        start_frame -= 1
    if cut.start_s < 0 or start_frame + frames > available:
        raise RecordingError(
            f"{shown_name(recording.path)} lasts {recording.duration_s:.3f} s; a clip from "
            f"{cut.start_s:.3f} s to {cut.stop_s:.3f} s does not lie within it.",
            "Move the window, shorten it, or choose a longer run.",
        )
    return start_frame, frames


def _read_window(
    recording: OpenRecording,
    start_frame: int,
    frames: int,
    sample_rate_hz: int,
    ears: tuple[int, int],
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Give the stretch as recorded and at the rate of the clip, both of shape (frames, 2)."""
    source_hz = recording.sample_rate_hz
    first = start_frame * source_hz // sample_rate_hz
    last = min(-(-(start_frame + frames) * source_hz // sample_rate_hz), recording.frames)
    if source_hz == sample_rate_hz:
        original = recording.read(first, last)[:, ears]
        return original, original
    # The resampled frames fall on source frames once per period. Starting there, a second or
    # more before the clip, gives the very frames that resampling the whole recording would.
    period = source_hz // math.gcd(source_hz, sample_rate_hz)
    read_from = max(0, first - source_hz) // period * period
    read_to = min(last + source_hz, recording.frames)
    samples = recording.read(read_from, read_to)[:, ears]
    resampled: npt.NDArray[np.float64] = soxr.resample(
        samples, source_hz, sample_rate_hz, quality="VHQ"
    )
    skipped = start_frame - read_from * sample_rate_hz // source_hz
    return samples[first - read_from : last - read_from], resampled[skipped : skipped + frames]


def _remarks(
    recording: OpenRecording,
    cut: ClipCut,
    original: npt.NDArray[np.float64],
    ears: tuple[int, int],
    sample_rate_hz: int,
) -> tuple[str, ...]:
    remarks = []
    if ears[0] == ears[1]:
        remarks.append(f"channel {ears[0] + 1} in both ears")
    is_resampled = recording.sample_rate_hz != sample_rate_hz
    if is_resampled:
        remarks.append(f"resampled from {recording.sample_rate_hz} to {sample_rate_hz} Hz")
    if cut.gain_db != 0.0:
        remarks.append(f"gain {cut.gain_db:+g} dB")
    elif not is_resampled and np.any(original * _FULL_SCALE_CODE % 1):
        remarks.append("rounded to 24 bits")
    if is_lossy(recording.encoding):
        remarks.append(f"the recording was stored with loss ({recording.encoding})")
    clipped = np.count_nonzero(np.abs(original) >= clipping_magnitude(recording.encoding), axis=0)
    for ear, count in zip(("left", "right"), clipped.tolist(), strict=True):
        if count:
            remarks.append(f"{ear} ear: {count} samples at full scale in the recording")
    return tuple(remarks)


def _refuse_silence(
    source: Path,
    samples: npt.NDArray[np.float64] | npt.NDArray[np.int32],
    ears: tuple[int, int],
) -> None:
    for ear, channel, column in zip(("left", "right"), ears, samples.T, strict=True):
        if column.min() == column.max():
            raise RecordingError(
                f"Channel {channel + 1} of {shown_name(source)}, for the {ear} ear, "
                "is silent throughout this clip.",
                "Choose another channel, another stretch or another run.",
            )


def _codes(source: Path, heard: npt.NDArray[np.float64]) -> npt.NDArray[np.int32]:
    scaled = np.rint(heard * _FULL_SCALE_CODE)
    over = max(scaled.max() / HIGHEST_CODE, scaled.min() / LOWEST_CODE)
    if over > 1:
        over_db = math.ceil(20 * math.log10(over) / _GAIN_STEP_DB) * _GAIN_STEP_DB
        raise RecordingError(
            f"This clip of {shown_name(source)} would exceed full scale.",
            f"Lower the gain of all clips of the study by {over_db:.1f} dB; "
            "lowering only this one would make it sound quieter than the others.",
        )
    return scaled.astype(np.int32)
