"""The speed over a recording, from what its lead said of it."""

from pathlib import Path

from ratings.recordings.speed.record import within_recording
from ratings.study.runs import (
    ConstantSpeed,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
    SpeedSource,
)
from ratings.study.speed_trace import SpeedTrace


def speed_over(source: SpeedSource, recording: Path, duration_s: float) -> SpeedTrace:
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
    return within_recording(_read(source, recording, duration_s), recording, duration_s)


def _read(source: SpeedSource, recording: Path, duration_s: float) -> SpeedTrace:
    from ratings.recordings.speed.channels import speed_from_channel, speed_from_pulses
    from ratings.recordings.speed.trace_files import read_speed_trace

    match source:
        case SpeedFile(path, offset_s):
            return read_speed_trace(path, offset_s)
        case ConstantSpeed(speed_km_h):
            return SpeedTrace.constant(speed_km_h, duration_s)
        case SpeedChannel(channel, km_h_per_unit, km_h_at_zero, offset_s):
            return speed_from_channel(
                recording, channel - 1, km_h_per_unit, km_h_at_zero, offset_s
            ).trace
        case SpeedPulses(channel, pulses_per_metre, offset_s):
            return speed_from_pulses(recording, channel - 1, pulses_per_metre, offset_s).trace
