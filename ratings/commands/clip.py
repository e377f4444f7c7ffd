"""The command ``clip``: equal stretches of recordings as blind clips, and the key to them."""

import argparse

from ratings.clips.alike import AlikeClips, ClipWish, cut_alike, scale_of
from ratings.clips.blind_clips import key_place, write_blind
from ratings.clips.doubts import refuse_lost_signal
from ratings.clips.equaliser import read_equaliser
from ratings.clips.sources import COMMON_RATE_HZ, ClipSource, clip_source
from ratings.clips.windows import COAST_DOWN_CLIP_LENGTH_S, STEADY_CLIP_LENGTH_S
from ratings.commands.clip_report import ClipReport, as_json, as_text
from ratings.commands.common_options import (
    add_json_option,
    named_path,
    number,
    printed,
    whole_number,
)
from ratings.errors import DoubtfulClipError, RecordingError
from ratings.study.runs import SpeedChannel, SpeedFile, SpeedSource

HELP = "cut equal stretches out of recordings, by time or by speed, under blind codes"

_FADE_MS = 20.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "recordings",
        type=named_path,
        nargs="+",
        metavar="FILE",
        help="recordings, one for each set",
    )
    parser.add_argument(
        "-o",
        "--output",
        type=named_path,
        required=True,
        metavar="FOLDER",
        help="where the clips go",
    )
    parser.add_argument(
        "--key",
        type=named_path,
        metavar="KEY.json",
        help="where to write what each code stands for, outside FOLDER "
        "(default: FOLDER-key.json beside it)",
    )
    _add_window_options(parser)
    _add_speed_options(parser)
    _add_level_options(parser)
    _add_sound_options(parser)
    add_json_option(parser)


def _add_window_options(parser: argparse.ArgumentParser) -> None:
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


def _add_speed_options(parser: argparse.ArgumentParser) -> None:
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


def _add_level_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--left", type=whole_number, metavar="N", help="channel for the left ear (1)"
    )
    parser.add_argument(
        "--right",
        type=whole_number,
        metavar="N",
        help="channel for the right ear (2); one channel alone is heard in both ears",
    )
    parser.add_argument(
        "--gain-db",
        type=number,
        default=0.0,
        metavar="G",
        help="the same for all clips (default 0)",
    )
    parser.add_argument(
        "--pa-per-full-scale",
        type=number,
        action="append",
        default=[],
        metavar="X",
        help="calibration, once for all or once for each FILE, which brings all to one full scale "
        "(default: what the files say)",
    )


def _add_sound_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--fade-ms",
        type=number,
        metavar="MS",
        help=f"fade at both ends (default {_FADE_MS:g}; 0 where the player fades by itself)",
    )
    parser.add_argument(
        "--trim-to-loop",
        action="store_true",
        help="cut the clips at the loop points, without fades, for a player that joins the end "
        "of a clip to its start by a crossfade",
    )
    parser.add_argument(
        "--equaliser",
        type=named_path,
        metavar="FIR",
        help="the headphones' equaliser: impulse response as a sound file, or taps as text",
    )
    parser.add_argument(
        "--sample-rate",
        type=whole_number,
        metavar="HZ",
        help=f"rate of the clips (default: that of the recordings, or {COMMON_RATE_HZ})",
    )


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed, after all clips and the key are written.

    Raises
    ------
    RatingsError
        When anything is wrong; nothing is left behind then.
    """
    key = key_place(arguments.output, arguments.key)
    wish = _wish(arguments)
    sources = _sources(arguments)
    alike = cut_alike(sources, wish, scale_of(sources, arguments.gain_db))
    if arguments.trim_to_loop and alike.loop is None:
        raise RecordingError(alike.no_loop_because)
    if wish.ends_s is None:
        _refuse_lost_signal(alike)
    clips = write_blind(alike, arguments.output, key)
    report = ClipReport(arguments.output, key, alike, clips)
    return printed(as_json(report)) if arguments.json else as_text(report)


def _refuse_lost_signal(alike: AlikeClips) -> None:
    try:
        refuse_lost_signal(alike.clips, accepted=())
    except DoubtfulClipError as problem:
        raise DoubtfulClipError(
            f"{problem.what_happened} Choose another stretch; one that is named by --start is cut "
            "as it is."
        ) from problem


def _wish(arguments: argparse.Namespace) -> ClipWish:
    ends_s = _ends_s(arguments)
    _refuse_senseless_speed(arguments)
    fade_ms = arguments.fade_ms
    if fade_ms is None:
        fade_ms = 0.0 if arguments.trim_to_loop else _FADE_MS
    return ClipWish(
        speeds_km_h=arguments.speed and tuple(arguments.speed),
        ends_s=ends_s,
        length_s=arguments.length,
        loop="trim" if arguments.trim_to_loop else "mark",
        fade_s=fade_ms / 1000,
        equaliser=read_equaliser(arguments.equaliser) if arguments.equaliser else None,
        sample_rate_hz=arguments.sample_rate,
    )


def _ends_s(arguments: argparse.Namespace) -> tuple[float, float] | None:
    start_s, stop_s, length_s = arguments.start, arguments.stop, arguments.length
    if arguments.speed is not None and (start_s is not None or stop_s is not None):
        raise RecordingError("Give either --start and --stop or --speed, not both.")
    if start_s is None:
        if stop_s is not None:
            raise RecordingError("--stop needs --start.")
        return None
    if stop_s is None:
        return start_s, start_s + (STEADY_CLIP_LENGTH_S if length_s is None else length_s)
    if length_s is not None:
        raise RecordingError("Give two of --start, --stop and --length, not all three.")
    return start_s, stop_s


def _refuse_senseless_speed(arguments: argparse.Namespace) -> None:
    traces, channel = arguments.speed_trace, arguments.speed_channel
    has_factor, count = arguments.kmh_per_unit is not None, len(arguments.recordings)
    if arguments.speed is None:
        if traces or channel is not None or arguments.speed_offset or has_factor:
            raise RecordingError("A speed trace needs --speed FROM TO.")
        return
    if not traces and channel is None:
        raise RecordingError("--speed needs --speed-trace or --speed-channel.")
    if len(arguments.speed_offset) not in (0, 1, count):
        raise RecordingError("Give --speed-offset once, or once for each recording.")
    if channel is None and has_factor:
        raise RecordingError("--kmh-per-unit needs --speed-channel.")
    if channel is None and len(traces) != count:
        raise RecordingError(
            f"There are {count} recordings and {len(traces)} speed traces; give --speed-trace "
            "once for each recording."
        )
    if channel is not None and traces:
        raise RecordingError("Give either --speed-trace or --speed-channel, not both.")
    if channel is not None and not has_factor:
        raise RecordingError("--speed-channel needs --kmh-per-unit.")


def _sources(arguments: argparse.Namespace) -> list[ClipSource]:
    count = len(arguments.recordings)
    factors = arguments.pa_per_full_scale or [None]
    if len(factors) not in (1, count):
        raise RecordingError(
            f"There are {count} recordings and {len(factors)} calibrations; "
            "give one for all, or one for each."
        )
    # One channel alone is heard in both ears.
    left = arguments.right if arguments.left is None else arguments.left
    right = arguments.left if arguments.right is None else arguments.right
    left, right = (None if ear is None else ear - 1 for ear in (left, right))
    return [
        clip_source(path, left, right, factors[index % len(factors)], _speed(arguments, index))
        for index, path in enumerate(arguments.recordings)
    ]


def _speed(arguments: argparse.Namespace, index: int) -> SpeedSource | None:
    offsets_s = arguments.speed_offset or [0.0]
    offset_s = offsets_s[index % len(offsets_s)]
    if arguments.speed_channel is not None:
        return SpeedChannel(arguments.speed_channel, arguments.kmh_per_unit, offset_s=offset_s)
    return SpeedFile(arguments.speed_trace[index], offset_s) if arguments.speed_trace else None
