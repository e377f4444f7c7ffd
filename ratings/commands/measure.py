"""The command ``measure``: figures of a recording, channel by channel."""

import argparse
from collections.abc import Sequence
from dataclasses import replace

from ratings.commands.common_options import (
    add_json_option,
    named_path,
    number,
    printed,
    whole_number,
)
from ratings.commands.measure_output import as_json, as_text
from ratings.errors import MeasurementError
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
from ratings.recordings.channel_calibration import Calibration, calibration_of
from ratings.recordings.opening import open_recording
from ratings.recordings.speed.trace_files import read_speed_trace
from ratings.study.bands import DEFAULT_BANDS
from ratings.study.constants import CALIBRATOR_LEVEL_DB
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size

HELP = "measure a recording: levels, bands, loudness, tones, the cavity line"

_TONE_HZ = 1000.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "file", type=named_path, metavar="FILE", help="WAV, FLAC, UFF 58, MAT, HDF5 ..."
    )
    parser.add_argument(
        "--channel",
        type=whole_number,
        metavar="N",
        help="measure this channel only, counted from 1",
    )
    _add_calibration_options(parser)
    parser.add_argument(
        "--field",
        choices=("free", "diffuse"),
        default="diffuse",
        help="sound field for the loudness: diffuse, as inside a vehicle (default), or free",
    )
    _add_speed_options(parser)
    parser.add_argument(
        "--tyre",
        metavar="SIZE",
        help="such as 205/55R16, for the cavity line and what follows the wheel",
    )
    parser.add_argument(
        "--pitches",
        type=whole_number,
        metavar="N",
        help="tread pitches around the tyre, for the orders of its pattern",
    )
    parser.add_argument(
        "--air-c",
        type=number,
        default=20.0,
        metavar="T",
        help="temperature of the air in the tyres in degrees Celsius (default 20)",
    )
    add_json_option(parser)


def _add_calibration_options(parser: argparse.ArgumentParser) -> None:
    known = parser.add_mutually_exclusive_group()
    known.add_argument(
        "--pa-per-full-scale",
        type=number,
        metavar="X",
        help="sound pressure in pascal of a sample of 1.0",
    )
    known.add_argument(
        "--tone", type=named_path, metavar="TONEFILE", help="recording of the calibrator's tone"
    )
    parser.add_argument(
        "--tone-after",
        type=named_path,
        metavar="TONEFILE",
        help="the same tone after the runs; more than 0.5 dB apart is refused",
    )
    parser.add_argument(
        "--tone-db",
        type=number,
        metavar="DB",
        help=f"level of the tone (default {CALIBRATOR_LEVEL_DB:g})",
    )
    parser.add_argument(
        "--tone-hz",
        type=number,
        metavar="HZ",
        help=f"frequency of the tone (default {_TONE_HZ:g}; 250 for most pistonphones)",
    )


def _add_speed_options(parser: argparse.ArgumentParser) -> None:
    speed = parser.add_mutually_exclusive_group()
    speed.add_argument("--speed-kmh", type=number, metavar="V", help="steady speed in km/h")
    speed.add_argument(
        "--speed-trace",
        type=named_path,
        metavar="TRACE",
        help="speed over time: CSV with time_s,speed_km_h, GPX or NMEA",
    )
    parser.add_argument(
        "--speed-offset",
        type=number,
        metavar="S",
        help="added to the times of the trace, to count them from the start of the recording",
    )


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed.

    Raises
    ------
    RatingsError
        When the recording, its calibration or its speed cannot be used.
    """
    with open_recording(arguments.file) as recording:
        channels, own_factors = recording.channels, recording.pa_per_full_scale
        duration_s = recording.duration_s
    measured = None if arguments.channel is None else (arguments.channel,)
    calibration = _calibration(arguments, channels, own_factors, measured)
    settings = _settings(arguments, duration_s)
    measurement = measure(arguments.file, settings, calibration.pa_per_full_scale, measured)
    measurement = replace(measurement, remarks=(*calibration.remarks, *measurement.remarks))
    if arguments.json:
        return printed(as_json(measurement))
    return as_text(measurement, calibration.words)


def _calibration(
    arguments: argparse.Namespace,
    channels: int,
    own: Sequence[float | None],
    measured: Sequence[int] | None,
) -> Calibration:
    level_db, frequency_hz = arguments.tone_db, arguments.tone_hz
    if arguments.tone is None and (level_db is not None or frequency_hz is not None):
        raise MeasurementError(
            "The level or frequency of a tone needs --tone.",
            "Give the recording of the tone.",
        )
    if arguments.tone_after is not None and arguments.tone is None:
        raise MeasurementError(
            "A tone after the runs says nothing without the one before them.",
            "Give the one before with --tone.",
        )
    return calibration_of(
        channels,
        own,
        factor=arguments.pa_per_full_scale,
        tone=arguments.tone,
        tone_after=arguments.tone_after,
        tone_db=CALIBRATOR_LEVEL_DB if level_db is None else level_db,
        tone_hz=_TONE_HZ if frequency_hz is None else frequency_hz,
        run=arguments.file,
        numbers=measured,
    )


def _settings(arguments: argparse.Namespace, duration_s: float) -> MeasuringSettings:
    speed, steady_km_h = None, arguments.speed_kmh
    if arguments.speed_offset is not None and arguments.speed_trace is None:
        raise MeasurementError(
            "--speed-offset needs --speed-trace.", "Give the trace whose times it shifts."
        )
    if arguments.speed_trace is not None:
        speed = read_speed_trace(arguments.speed_trace, arguments.speed_offset or 0.0)
    elif steady_km_h is not None:
        if not 0 < steady_km_h <= 400:
            raise MeasurementError(
                f"{steady_km_h:g} km/h is not a valid speed.", "Give the speed in km/h."
            )
        speed = SpeedTrace.constant(steady_km_h, duration_s)
    return MeasuringSettings(
        field=arguments.field,
        bands=DEFAULT_BANDS,
        tyre=None if arguments.tyre is None else tyre_size(arguments.tyre),
        air_c=arguments.air_c,
        pitches=arguments.pitches,
        speed=speed,
        speed_km_h=steady_km_h,
    )
