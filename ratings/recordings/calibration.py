"""Pascal per full scale from a recorded calibration tone, before and after the runs."""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.errors import MeasurementError
from ratings.recordings.channel_facts import ChannelMeter
from ratings.recordings.files.encodings import clipping_magnitude
from ratings.recordings.opening import OpenRecording, open_recording
from ratings.recordings.refusals import shown_name
from ratings.recordings.steady_tone import (
    FRAME_S,
    Stretch,
    Tone,
    ToneFrames,
    ToneMeter,
    measure_tone,
    steady_part,
    tone_stretch,
)
from ratings.study.constants import CALIBRATOR_LEVEL_DB, REFERENCE_PRESSURE_PA

MOST_FREQUENCY_ERROR = 0.02
"""Relative; a calibrator keeps within 1 to 2 % by its class (IEC 60942, from memory)."""
MOST_LEVEL_SPREAD_DB = 0.2
"""Range of the level over the steady stretch (common practice, no source)."""
SHORTEST_STEADY_TONE_S = 2.0
"""Common practice, no source; 10 s and more are usual."""
LEAST_TONE_TO_REST_DB = 20.0
GOOD_TONE_TO_REST_DB = 30.0
"""A calibrator's own distortion lies below 3 to 4 %, 30 dB (IEC 60942, from memory)."""
MOST_DIFFERENCE_DB = 0.5
"""Between before and after (practice of ISO 5128 and ISO 362 class methods, from memory)."""
_LONGEST_MEASURED_S = 30.0
_STRAY_FACTOR_DB = 0.5
_OTHER_LEVEL_DB = 1.0
_MOST_FLAT_SHARE = 0.1
"""A tone rounded to few codes has short flat peaks too, one cut by 0.1 dB has 10 %."""
_DO_AGAIN = "Record the calibrator again on this channel, 10 s or more without touching it."


@dataclass(frozen=True, slots=True)
class ToneCalibration:
    """What a recorded calibration tone says about a channel.

    Attributes
    ----------
    pa_per_full_scale
        Pascal in a sample of 1.0.
    frequency_hz
        Of the tone.
    level_spread_db
        Range of the tone's level over the stretch used.
    tone_to_rest_db
        Its level above noise and distortion, unweighted.
    start_s, stop_s
        The stretch used.
    remarks
        What is odd about it, in the user's words; empty when nothing.
    """

    pa_per_full_scale: float
    frequency_hz: float
    level_spread_db: float
    tone_to_rest_db: float
    start_s: float
    stop_s: float
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CalibrationPair:
    """Calibrations before and after the runs between them.

    Attributes
    ----------
    difference_db
        Sensitivity after against before; positive when the same sound gives larger samples.
    pa_per_full_scale
        The mean of both, on the scale of decibels.
    """

    difference_db: float
    pa_per_full_scale: float


def calibration_from_tone(
    path: Path, channel: int, tone_db: float = CALIBRATOR_LEVEL_DB, tone_hz: float = 1000.0
) -> ToneCalibration:
    """Find a channel's calibration from a recording of a calibrator's tone.

    Parameters
    ----------
    channel
        Counted from 0.
    tone_db
        Level that the calibrator gives, re 20 uPa.
    tone_hz
        Its frequency: 1000 Hz, or 250 Hz for most pistonphones.

    Raises
    ------
    RecordingError
        When the file cannot be used as it is.
    MeasurementError
        When there is no such channel or no tone on it, it is at another frequency, not steady for
        2 s, clipped, or less than 20 dB above the rest.

    Notes
    -----
    The operator's handling at both ends is left out: the longest stretch in which the tone stands
    out and its level keeps within 0.2 dB is used, at most 30 s from its middle. The level is that
    of the tone alone, so that noise beside it does not count.
    """
    if not (math.isfinite(tone_db) and 40 <= tone_db <= 180 and 100 <= tone_hz <= 2000):
        raise MeasurementError(
            f"{tone_db:g} dB at {tone_hz:g} Hz is not a standard calibrator.",
            "Enter what is written on it: 94 or 114 dB at 1000 Hz, or 250 Hz for a pistonphone.",
        )
    with open_recording(path) as recording:
        if not 0 <= channel < recording.channels:
            raise MeasurementError(
                f"{shown_name(path)} has no channel {channel + 1}; it has {recording.channels}.",
                "Choose the channel of the tone again.",
            )
        return _calibration(recording, channel, tone_db, tone_hz)


def compare_calibrations(before: ToneCalibration, after: ToneCalibration) -> CalibrationPair:
    """Compare the calibrations before and after the runs of a channel.

    Raises
    ------
    MeasurementError
        When they are more than 0.5 dB apart.

    Notes
    -----
    The limit is practice of the measuring standards of this trade, from memory.
    """
    difference_db = 20 * math.log10(before.pa_per_full_scale / after.pa_per_full_scale)
    # A difference of 0.5 dB itself is allowed, whatever the last bit says.
    if not abs(difference_db) <= MOST_DIFFERENCE_DB + 1e-9:
        raise MeasurementError(
            f"The calibrations before and after differ by {abs(difference_db):.2f} dB, more than "
            f"{MOST_DIFFERENCE_DB:g} dB: the runs between are void.",
            "Look for the fault in microphone, cable and gain, and drive the runs again.",
        )
    return CalibrationPair(
        difference_db=difference_db,
        pa_per_full_scale=math.sqrt(before.pa_per_full_scale * after.pa_per_full_scale),
    )


def _calibration(
    recording: OpenRecording, channel: int, tone_db: float, tone_hz: float
) -> ToneCalibration:
    where = f"channel {channel + 1} of {shown_name(recording.path)}"
    meter = ToneMeter(recording.sample_rate_hz)
    for block in recording.blocks():
        meter.feed(block[:, channel])
    frames = meter.result()
    stretch = _steady(frames, where, tone_hz)
    start, samples = _stretch_samples(recording, channel, stretch)
    _refuse_clipped(recording, samples, where)
    near_hz = float(np.median(frames.frequency_hz[stretch.start : stretch.stop]))
    tone = measure_tone(samples, recording.sample_rate_hz, near_hz)
    if tone.tone_to_rest_db < LEAST_TONE_TO_REST_DB:
        raise MeasurementError(
            f"The tone on {where} is only {tone.tone_to_rest_db:.0f} dB above noise and "
            f"distortion; {LEAST_TONE_TO_REST_DB:.0f} dB are needed.",
            _DO_AGAIN,
        )
    pressure_pa = REFERENCE_PRESSURE_PA * 10 ** (tone_db / 20)
    pa_per_full_scale = pressure_pa / tone.rms
    return ToneCalibration(
        pa_per_full_scale=pa_per_full_scale,
        frequency_hz=tone.frequency_hz,
        level_spread_db=tone.level_spread_db,
        tone_to_rest_db=tone.tone_to_rest_db,
        start_s=start / recording.sample_rate_hz,
        stop_s=(start + len(samples)) / recording.sample_rate_hz,
        remarks=(
            *_other_tones(frames, stretch),
            *_remarks(recording, channel, tone, pa_per_full_scale),
        ),
    )


def _steady(frames: ToneFrames, where: str, tone_hz: float) -> Stretch:
    stretch = tone_stretch(frames)
    if stretch is None or (stretch.stop - stretch.start) * FRAME_S < SHORTEST_STEADY_TONE_S:
        raise MeasurementError(
            f"There is no tone of {SHORTEST_STEADY_TONE_S:g} s or more on {where}.", _DO_AGAIN
        )
    frequency_hz = float(np.median(frames.frequency_hz[stretch.start : stretch.stop]))
    if abs(frequency_hz / tone_hz - 1) > MOST_FREQUENCY_ERROR:
        raise MeasurementError(
            f"The tone on {where} is at {frequency_hz:.0f} Hz and not at {tone_hz:g} Hz.",
            "Choose the recording of the calibrator, or enter its frequency.",
        )
    steady = steady_part(frames, stretch, MOST_LEVEL_SPREAD_DB)
    # The tone comes and goes somewhere within its first and its last 0.1 s.
    inner = Stretch(steady.start + 1, steady.stop - 1, steady.spread_db)
    if (inner.stop - inner.start) * FRAME_S < SHORTEST_STEADY_TONE_S:
        raise MeasurementError(
            f"The tone on {where} is not steady: its level moves over {stretch.spread_db:.1f} dB, "
            f"and keeps within {MOST_LEVEL_SPREAD_DB:g} dB for less than "
            f"{SHORTEST_STEADY_TONE_S:g} s.",
            _DO_AGAIN,
        )
    return inner


def _stretch_samples(
    recording: OpenRecording, channel: int, stretch: Stretch
) -> tuple[int, npt.NDArray[np.float64]]:
    frame = round(FRAME_S * recording.sample_rate_hz)
    most = round(_LONGEST_MEASURED_S / FRAME_S)
    spare = max(stretch.stop - stretch.start - most, 0)
    start = (stretch.start + spare // 2) * frame
    stop = start + min(stretch.stop - stretch.start, most) * frame
    # A tenth of a second at a time, because there may be 64 channels and one is wanted.
    parts = [recording.read(at, at + frame)[:, channel] for at in range(start, stop, frame)]
    return start, np.concatenate(parts)


def _refuse_clipped(recording: OpenRecording, samples: npt.NDArray[np.float64], where: str) -> None:
    rate_hz = recording.sample_rate_hz
    at_limit = _clipped(samples, rate_hz, clipping_magnitude(recording.encoding))
    flat = _clipped(samples, rate_hz, math.inf)
    # An amplifier before the converter clips below full scale, and flattens every peak.
    if at_limit or flat > _MOST_FLAT_SHARE * len(samples):
        raise MeasurementError(
            f"The tone on {where} is clipped: {max(at_limit, flat)} samples stand at the end of "
            "its range.",
            "Lower the recorder's gain, and record calibrator and runs again with that gain.",
        )


def _clipped(samples: npt.NDArray[np.float64], sample_rate_hz: int, limit: float) -> int:
    meter = ChannelMeter(1, limit, sample_rate_hz)
    meter.feed(samples[:, np.newaxis])
    return meter.result()[0].clipped_samples


def _other_tones(frames: ToneFrames, used: Stretch) -> tuple[str, ...]:
    """Tell of a tone of another level in the same file, which may be the one that was meant."""
    level_db = float(np.median(frames.tone_db[used.start : used.stop]))
    stands_out = frames.tone_db >= frames.rest_db + LEAST_TONE_TO_REST_DB
    other = stands_out & (np.abs(frames.tone_db - level_db) > _OTHER_LEVEL_DB)
    other &= np.isfinite(frames.tone_db)
    if np.count_nonzero(other) * FRAME_S < SHORTEST_STEADY_TONE_S:
        return ()
    other_db = float(np.median(frames.tone_db[other])) - level_db
    return (f"the file also holds a tone {other_db:+.1f} dB from the one that was used",)


def _remarks(
    recording: OpenRecording, channel: int, tone: Tone, pa_per_full_scale: float
) -> tuple[str, ...]:
    remarks = []
    if tone.tone_to_rest_db < GOOD_TONE_TO_REST_DB:
        remarks.append(
            f"noise or distortion lies only {tone.tone_to_rest_db:.0f} dB below the tone"
        )
    told = recording.pa_per_full_scale[channel]
    if told is not None:
        off_db = 20 * math.log10(pa_per_full_scale / told)
        if abs(off_db) > _STRAY_FACTOR_DB:
            remarks.append(
                f"the file gives its samples in {recording.units[channel]}; "
                f"by the tone they are {off_db:+.1f} dB off"
            )
    return tuple(remarks)
