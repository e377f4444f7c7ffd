"""The speed over a recording, from what its lead said of it."""

from dataclasses import replace
from pathlib import Path

from ratings.recordings.speed.record import SpeedRecord, within_recording
from ratings.study.runs import (
    ConstantSpeed,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
    SpeedSource,
)
from ratings.study.speed_trace import SpeedTrace


def speed_over(source: SpeedSource, recording: Path, duration_s: float) -> SpeedTrace:
    """Read the speed over a recording; see `speed_record_over`, which also tells what was odd."""
    return speed_record_over(source, recording, duration_s).trace


def speed_record_over(source: SpeedSource, recording: Path, duration_s: float) -> SpeedRecord:
    """Read the speed over a recording, and nothing of it from before or after.

    Parameters
    ----------
    recording
        The file from whose channels speed may have to be read.
    duration_s
        Of the recording.

    Raises
    ------
    RecordingError
        When there is no speed in what was given, or none while the recording runs.
    """
    record = _read(source, recording, duration_s)
    return replace(record, trace=within_recording(record.trace, recording, duration_s))


def _read(source: SpeedSource, recording: Path, duration_s: float) -> SpeedRecord:
    from ratings.recordings.speed.channels import speed_from_channel, speed_from_pulses
    from ratings.recordings.speed.trace_files import read_speed_record

    match source:
        case SpeedFile(path, offset_s):
            return read_speed_record(path, offset_s)
        case ConstantSpeed(speed_km_h):
            return SpeedRecord(SpeedTrace.constant(speed_km_h, duration_s))
        case SpeedChannel(channel, km_h_per_unit, km_h_at_zero, offset_s):
            return speed_from_channel(recording, channel - 1, km_h_per_unit, km_h_at_zero, offset_s)
        case SpeedPulses(channel, pulses_per_metre, offset_s):
            return speed_from_pulses(recording, channel - 1, pulses_per_metre, offset_s)
