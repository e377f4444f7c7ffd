"""Which stretch of each recording the command ``clip`` cuts: by time, or by the car's speed."""

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ratings.clips.cutting import (
    COAST_DOWN_CLIP_LENGTH_S,
    STEADY_CLIP_LENGTH_S,
    Window,
    common_window,
)
from ratings.clips.windows import common_speed_window, common_steady_window
from ratings.commands.common_options import named_path, number, whole_number
from ratings.errors import RecordingError
from ratings.recordings.opening import open_recording
from ratings.recordings.speed.channels import speed_from_channel
from ratings.recordings.speed.record import SpeedRecord, within_recording
from ratings.recordings.speed.trace_files import read_speed_record


@dataclass(frozen=True, slots=True, eq=False)
class ChosenWindow:
    """A stretch of one recording.

    Attributes
    ----------
    window
        In seconds of the recording.
    speed
        The speed trace by which it was chosen; None when by time.
    """

    window: Window
    speed: SpeedRecord | None = None

    @property
    def speeds_km_h(self) -> tuple[float, float] | None:
        """Speed at start and stop; None where no trace was given."""
        if self.speed is None:
            return None
        first_km_h, last_km_h = self.speed.trace.at(np.array(self.window)).tolist()
        return first_km_h, last_km_h

    @property
    def remarks(self) -> tuple[str, ...]:
        """What was odd about the speed trace."""
        return () if self.speed is None else self.speed.remarks


def add_window_options(parser: argparse.ArgumentParser) -> None:
    """Take the window by time or by speed."""
    parser.add_argument("--start", type=number, metavar="S", help="start, seconds")
    parser.add_argument("--stop", type=number, metavar="S", help="stop, seconds")
    parser.add_argument(
        "--length",
        type=number,
        metavar="S",
        help="length, or the longest one of a speed window "
        f"(default {STEADY_CLIP_LENGTH_S:g}, when speed changes {COAST_DOWN_CLIP_LENGTH_S:g})",
    )
    parser.add_argument(
        "--speed",
        nargs=2,
        type=number,
        metavar=("FROM", "TO"),
        help="speed window in km/h; twice the same speed: the longest stretch within 1 km/h of it",
    )
    parser.add_argument(
        "--speed-trace",
        type=named_path,
        action="append",
        default=[],
        metavar="TRACE",
        help="CSV (time_s, speed_km_h), GPX or NMEA; once for each FILE, in their order",
    )
    parser.add_argument(
        "--speed-channel",
        type=whole_number,
        metavar="N",
        help="the speed is in channel N of each FILE",
    )
    parser.add_argument(
        "--kmh-per-unit",
        type=number,
        metavar="X",
        help="km/h per unit of that channel (at full scale, in sound files)",
    )
    parser.add_argument(
        "--speed-offset",
        type=number,
        action="append",
        default=[],
        metavar="S",
        help="added to the times of the traces; once for all, or once for each FILE",
    )


def chosen_windows(arguments: argparse.Namespace) -> tuple[ChosenWindow, ...]:
    """Return one window for each recording, all equally long.

    Raises
    ------
    RecordingError
        When the options contradict each other or no such window exists.
    """
    has_trace = bool(arguments.speed_trace) or arguments.speed_channel is not None
    if arguments.speed is None:
        if has_trace or arguments.speed_offset or arguments.kmh_per_unit is not None:
            raise RecordingError("A speed trace is of use with --speed FROM TO only.")
        return _by_time(arguments)
    if arguments.start is not None or arguments.stop is not None:
        raise RecordingError("Give either --start and --stop or --speed, not both.")
    if not has_trace:
        raise RecordingError("--speed needs --speed-trace or --speed-channel.")
    records = [
        _during(path, record)
        for path, record in zip(arguments.recordings, _speed_records(arguments), strict=True)
    ]
    return _by_speed(arguments, records)


def _during(path: Path, record: SpeedRecord) -> SpeedRecord:
    with open_recording(path) as recording:
        duration_s = recording.duration_s
    return replace(record, trace=within_recording(record.trace, path, duration_s))


def _by_time(arguments: argparse.Namespace) -> tuple[ChosenWindow, ...]:
    start_s, stop_s, length_s = arguments.start, arguments.stop, arguments.length
    if start_s is None:
        if stop_s is not None:
            raise RecordingError("--stop needs --start.")
        durations_s = []
        for path in arguments.recordings:
            with open_recording(path) as recording:
                durations_s.append(recording.duration_s)
        window = common_window(durations_s, STEADY_CLIP_LENGTH_S if length_s is None else length_s)
    elif stop_s is not None:
        if length_s is not None:
            raise RecordingError("Give two of --start, --stop and --length, not all three.")
        window = Window(start_s, stop_s)
    else:
        window = Window(start_s, start_s + (STEADY_CLIP_LENGTH_S if length_s is None else length_s))
    return (ChosenWindow(window),) * len(arguments.recordings)


def _by_speed(
    arguments: argparse.Namespace, records: list[SpeedRecord]
) -> tuple[ChosenWindow, ...]:
    from_km_h, to_km_h = arguments.speed
    traces = [record.trace for record in records]
    if from_km_h == to_km_h:
        length_s = STEADY_CLIP_LENGTH_S if arguments.length is None else arguments.length
        windows = common_steady_window(traces, from_km_h, longest_s=length_s)
    else:
        length_s = COAST_DOWN_CLIP_LENGTH_S if arguments.length is None else arguments.length
        windows = common_speed_window(traces, from_km_h, to_km_h, length_s)
    return tuple(
        ChosenWindow(window, record) for window, record in zip(windows, records, strict=True)
    )


def _speed_records(arguments: argparse.Namespace) -> list[SpeedRecord]:
    recordings = arguments.recordings
    offsets_s = arguments.speed_offset or [0.0]
    if len(offsets_s) not in (1, len(recordings)):
        raise RecordingError("Give --speed-offset once, or once for each recording.")
    if len(offsets_s) == 1:
        offsets_s = offsets_s * len(recordings)
    if arguments.speed_channel is None:
        if arguments.kmh_per_unit is not None:
            raise RecordingError("--kmh-per-unit needs --speed-channel.")
        if len(arguments.speed_trace) != len(recordings):
            raise RecordingError(
                f"There are {len(recordings)} recordings and {len(arguments.speed_trace)} speed "
                "traces; give --speed-trace once for each recording."
            )
        return [
            read_speed_record(path, offset_s)
            for path, offset_s in zip(arguments.speed_trace, offsets_s, strict=True)
        ]
    if arguments.speed_trace:
        raise RecordingError("Give either --speed-trace or --speed-channel, not both.")
    if arguments.kmh_per_unit is None:
        raise RecordingError("--speed-channel needs --kmh-per-unit.")
    channel = arguments.speed_channel - 1
    return [
        speed_from_channel(path, channel, arguments.kmh_per_unit, offset_s=offset_s)
        for path, offset_s in zip(recordings, offsets_s, strict=True)
    ]
