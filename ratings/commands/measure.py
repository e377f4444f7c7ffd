"""The command ``measure``: figures of a recording, channel by channel."""

import argparse
from pathlib import Path

from ratings.commands.common_options import add_json_option, printed
from ratings.commands.measure_output import as_json, as_text
from ratings.errors import MeasurementError
from ratings.measuring.calibrating import Calibration, calibration_of
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
from ratings.recordings.opening import open_recording
from ratings.recordings.speed_files import read_speed_trace
from ratings.study.bands import DEFAULT_BANDS
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size

HELP = "measure a recording: levels, bands, loudness, tones, the cavity line"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", type=Path, metavar="FILE", help="WAV, FLAC, UFF 58, MAT, HDF5 ...")
    parser.add_argument(
        "--channel", type=int, metavar="N", help="measure this channel only, counted from 1"
    )
    known = parser.add_mutually_exclusive_group()
    known.add_argument(
        "--pa-per-full-scale",
        type=float,
        metavar="X",
        help="sound pressure in pascal of a sample of 1.0",
    )
    known.add_argument(
        "--tone", type=Path, metavar="TONEFILE", help="recording of the calibrator's tone"
    )
    parser.add_argument(
        "--tone-after", type=Path, metavar="TONEFILE", help="the same tone after the runs"
    )
    parser.add_argument(
        "--tone-db", type=float, default=94.0, metavar="DB", help="level of the tone (default 94)"
    )
    parser.add_argument(
        "--field",
        choices=("free", "diffuse"),
        default="free",
        help="sound field for the loudness: free (default), or diffuse as inside a vehicle",
    )
    speed = parser.add_mutually_exclusive_group()
    speed.add_argument("--speed-kmh", type=float, metavar="V", help="steady speed in km/h")
    speed.add_argument(
        "--speed-trace",
        type=Path,
        metavar="TRACE",
        help="speed over time: CSV with time_s,speed_km_h, GPX or NMEA",
    )
    parser.add_argument("--tyre", metavar="SIZE", help="such as 205/55R16, for the cavity line")
    parser.add_argument("--pitches", type=int, metavar="N", help="tread pitches around the tyre")
    parser.add_argument(
        "--air-c",
        type=float,
        default=20.0,
        metavar="T",
        help="temperature of the air in the tyres in degrees Celsius (default 20)",
    )
    add_json_option(parser)


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
    measured = _measured_channels(arguments.channel, channels)
    calibration = _calibration(arguments, channels, own_factors)
    settings = _settings(arguments, duration_s)
    measurement = measure(arguments.file, settings, calibration.pa_per_full_scale, measured)
    if arguments.json:
        return printed(as_json(measurement))
    return as_text(measurement, calibration.words)


def _measured_channels(wanted: int | None, channels: int) -> tuple[int, ...] | None:
    if wanted is None:
        return None
    if not 1 <= wanted <= channels:
        raise MeasurementError(
            f"There is no channel {wanted}: the recording has {channels}.",
            "Channels are counted from 1.",
        )
    return (wanted,)


def _calibration(
    arguments: argparse.Namespace, channels: int, own: tuple[float | None, ...]
) -> Calibration:
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
        tone_db=arguments.tone_db,
    )


def _settings(arguments: argparse.Namespace, duration_s: float) -> MeasuringSettings:
    speed, steady_km_h = None, arguments.speed_kmh
    if arguments.speed_trace is not None:
        speed = read_speed_trace(arguments.speed_trace)
    elif steady_km_h is not None:
        if not 0 < steady_km_h <= 400:
            raise MeasurementError(
                f"{steady_km_h:g} km/h is not a speed to measure at.", "Give the speed in km/h."
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
