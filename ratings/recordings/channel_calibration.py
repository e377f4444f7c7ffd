"""How a recording's samples become pascal, and the words that say how that is known."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ratings.errors import MeasurementError
from ratings.recordings.calibration import (
    ToneCalibration,
    calibration_from_tone,
    compare_calibrations,
)
from ratings.recordings.files.containers import SOUND_KINDS
from ratings.recordings.opening import OpenRecording, open_recording, shown_name
from ratings.study.calibration_factor import refuse_implausible_factor
from ratings.study.constants import CALIBRATOR_LEVEL_DB
from ratings.study.figures import Remark

_HIGHEST_PA = 1e6
_LEAKING_DB = 20.0
"""Microphones of one run are closer to each other than this (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """Pascal per stored 1.0 of every channel, None where unknown, and where it comes from.

    Attributes
    ----------
    remarks
        What is odd about the tones, channel by channel; empty when nothing.
    """

    pa_per_full_scale: tuple[float | None, ...]
    words: str
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class _Tones:
    before: Path
    after: Path | None
    level_db: float
    frequency_hz: float


def calibration_of(
    channels: int,
    own: Sequence[float | None],
    factor: float | None = None,
    tone: Path | None = None,
    tone_after: Path | None = None,
    tone_db: float = CALIBRATOR_LEVEL_DB,
    tone_hz: float = 1000.0,
    run: Path | None = None,
    numbers: Sequence[int] | None = None,
) -> Calibration:
    """Decide on the calibration of a recording.

    Parameters
    ----------
    own
        What the file itself says, one for each channel.
    factor
        The same for every channel; stands above what the file says.
    tone, tone_after
        Recordings of a calibrator before and after the runs: of one channel, which then counts
        for every channel, or of as many channels as the recording. They stand above what the
        file says.
    tone_db, tone_hz
        The calibrator's level re 20 uPa and its frequency.
    run
        The recording; where it is given, tones whose samples mean something else are refused.
    numbers
        The channels that need a calibration, counted from 1; None for all. A tone of many
        channels need not be on the others, whose calibration is then None.

    Raises
    ------
    MeasurementError
        For an impossible factor, tones before and after that do not agree, or a tone whose
        samples mean something else than those of the run.
    RecordingError
        When a tone's file cannot be used.
    """
    if factor is not None:
        refuse_implausible_factor(factor, _HIGHEST_PA)
        return Calibration((factor,) * channels, f"{factor:g} Pa per full scale, given")
    if tone is None:
        known = sum(each is not None for each in own)
        if not known:
            return Calibration((None,) * channels, "not calibrated")
        words = "pascal by the file's own units"
        return Calibration(
            tuple(own), words if known == channels else f"{words}, {known} of {channels} channels"
        )
    if run is not None:
        for each in filter(None, (tone, tone_after)):
            _refuse_other_samples(each, run)
    tones = _Tones(tone, tone_after, tone_db, tone_hz)
    return _from_tones(tones, channels, numbers or range(1, channels + 1))


def _from_tones(tones: _Tones, channels: int, numbers: Sequence[int]) -> Calibration:
    with open_recording(tones.before) as recording:
        on = recording.channels
    if on not in (1, channels):
        raise MeasurementError(
            f"The tone was recorded on {on} channels and the run on {channels}.",
            "Give a tone on one channel for all, or one on as many channels as the run.",
        )
    factors: list[float | None] = [None] * on
    remarks: list[Remark] = []
    apart_db: list[float] = []
    for channel in range(on):
        if on > 1 and channel + 1 not in numbers:
            continue
        before = _tone(tones, tones.before, channel)
        remarks += _told(before, channel if on > 1 else None)
        factors[channel] = before.pa_per_full_scale
        if tones.after is not None:
            after = _tone(tones, tones.after, channel)
            remarks += _told(after, channel if on > 1 else None)
            pair = compare_calibrations(before, after)
            factors[channel] = pair.pa_per_full_scale
            apart_db.append(pair.difference_db)
    remarks += _softer(factors)
    words = f"tone of {tones.level_db:g} dB"
    if apart_db:
        words += f" before and after, up to {max(map(abs, apart_db)):.2f} dB apart"
    else:
        words += ", before only"
    return Calibration(tuple(factors) * (channels // on), words, tuple(remarks))


def _softer(factors: Sequence[float | None]) -> Iterator[Remark]:
    """Tell of tones so soft that the calibrator was on another channel and only leaked in."""
    known = [factor for factor in factors if factor is not None]
    for number, factor in enumerate(factors, start=1):
        softer_db = 0.0 if factor is None else 20 * math.log10(factor / min(known))
        if softer_db > _LEAKING_DB:
            yield Remark(
                "doubtful",
                f"Calibration tone on channel {number}: it is {softer_db:.0f} dB softer than the "
                "loudest one: was the calibrator on this microphone?",
                number,
            )


def _tone(tones: _Tones, path: Path, channel: int) -> ToneCalibration:
    return calibration_from_tone(path, channel, tones.level_db, tones.frequency_hz)


def _told(found: ToneCalibration, channel: int | None) -> Iterator[Remark]:
    number = None if channel is None else channel + 1
    where = "" if number is None else f" on channel {number}"
    for remark in found.remarks:
        yield Remark("doubtful", f"Calibration tone{where}: {remark}.", number)


def _refuse_other_samples(tone: Path, run: Path) -> None:
    """Refuse a tone whose samples mean something else than those of the run."""
    with open_recording(tone) as recording:
        of_tone = _meanings(recording)
    with open_recording(run) as recording:
        of_run = _meanings(recording)
    if len(of_tone) == 1:
        of_tone *= len(of_run)
    if of_tone != of_run and len(of_tone) == len(of_run):
        channel = next(n for n, (a, b) in enumerate(zip(of_tone, of_run, strict=True)) if a != b)
        raise MeasurementError(
            f"The samples of the tone {shown_name(tone)} are {of_tone[channel]} and those of "
            f"channel {channel + 1} of the run are {of_run[channel]}: the one does not calibrate "
            "the other.",
            "Export the tone and the run in the same way.",
        )


def _meanings(recording: OpenRecording) -> list[str]:
    if recording.container in SOUND_KINDS:
        return ["fractions of full scale"] * recording.channels
    return [
        "numbers without a unit" if unit is None else f"in {unit.strip()}"
        for unit in recording.units
    ]
