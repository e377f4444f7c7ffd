"""The command ``clip``: equal stretches of recordings as blind clips, and the key to them."""

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from ratings.clips.blind_clips import write_blind
from ratings.clips.cutting import ClipCut, CutSound, Window, cut_sound
from ratings.clips.equaliser import Equaliser, read_equaliser
from ratings.clips.level_scale import level_scale
from ratings.clips.loop_points import Loop, find_loop
from ratings.clips.provenance import key_exists
from ratings.commands.clip_report import ClipReport, as_json, as_text
from ratings.commands.clip_windows import ChosenWindow, add_window_options, chosen_windows
from ratings.commands.common_options import (
    add_json_option,
    named_path,
    number,
    printed,
    whole_number,
)
from ratings.errors import RecordingError, reason_of
from ratings.recordings.opening import open_recording, shown_name

HELP = "cut equal stretches out of recordings, by time or by speed, under blind codes"

COMMON_RATE_HZ = 48_000
"""Rate of clips from recordings of different rates."""
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
    add_window_options(parser)
    _add_sound_options(parser)
    add_json_option(parser)


def _add_sound_options(parser: argparse.ArgumentParser) -> None:
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
    RecordingError
        When anything is wrong; nothing is left behind then.
    """
    key = _key_path(arguments)
    equaliser = read_equaliser(arguments.equaliser) if arguments.equaliser else None
    calibrations = arguments.pa_per_full_scale or _calibrations(arguments)
    scale = level_scale(calibrations, arguments.gain_db, len(arguments.recordings))
    windows = chosen_windows(arguments)
    sample_rate_hz = arguments.sample_rate
    if sample_rate_hz is None:
        sample_rate_hz = _common_rate_hz(arguments.recordings)
    cuts = [
        _cut(arguments, chosen, gain_db)
        for chosen, gain_db in zip(windows, scale.gains_db, strict=True)
    ]
    sounds = _sounds(arguments, cuts, sample_rate_hz, equaliser)
    loop, no_loop = _common_loop(sounds, cuts[0].fade_s)
    if arguments.trim_to_loop:
        if loop is None:
            raise RecordingError(no_loop)
        cuts = [_trimmed(cut, loop, sample_rate_hz) for cut in cuts]
        windows = tuple(
            replace(chosen, window=Window(cut.start_s, cut.stop_s))
            for chosen, cut in zip(windows, cuts, strict=True)
        )
        sounds = _sounds(arguments, cuts, sample_rate_hz, equaliser)
        loop = replace(loop, start_frame=0, stop_frame=loop.stop_frame - loop.start_frame)
    clips = write_blind(arguments.output, key, sounds, cuts, scale, equaliser, loop)
    report = ClipReport(arguments.output, key, tuple(sounds), windows, clips, scale, loop, no_loop)
    return printed(as_json(report)) if arguments.json else as_text(report)


def _sounds(
    arguments: argparse.Namespace,
    cuts: Sequence[ClipCut],
    sample_rate_hz: int,
    equaliser: Equaliser | None,
) -> list[CutSound]:
    return [
        cut_sound(source, cut, sample_rate_hz, equaliser)
        for source, cut in zip(arguments.recordings, cuts, strict=True)
    ]


def _key_path(arguments: argparse.Namespace) -> Path:
    folder: Path = arguments.output
    try:
        whole = folder.resolve()
        if not whole.name:
            raise RecordingError(
                f"Nothing can lie beside {shown_name(whole)}, and the key must not lie in it.",
                "Name a folder for the clips.",
            )
        key: Path = arguments.key or whole.with_name(f"{whole.name}-key.json")
        is_among_clips, is_there = key.resolve().is_relative_to(whole), key.exists()
    except OSError as problem:
        raise RecordingError(
            f"The key cannot be written beside {shown_name(folder)}: {reason_of(problem)}.",
            "Name another place for the key.",
        ) from problem
    if is_among_clips:
        raise RecordingError(
            f"The key {shown_name(key)} would lie among the clips, where evaluators could read it.",
            "Name a place outside the folder of the clips.",
        )
    if is_there:
        raise key_exists(key)
    return key


def _common_rate_hz(paths: Sequence[Path]) -> int:
    rates = set()
    for path in paths:
        with open_recording(path) as recording:
            rates.add(recording.sample_rate_hz)
    return rates.pop() if len(rates) == 1 else COMMON_RATE_HZ


def _ears(arguments: argparse.Namespace) -> tuple[int, int]:
    """Give the channels of the ears, counted from 0."""
    left, right = arguments.left, arguments.right
    if left is None and right is None:
        return 0, 1
    return (right if left is None else left) - 1, (left if right is None else right) - 1


def _calibrations(arguments: argparse.Namespace) -> list[float]:
    """Give what the files themselves say, as measurement files do; nothing where none says any."""
    found = []
    for path in arguments.recordings:
        with open_recording(path) as recording:
            scales = recording.pa_per_full_scale
        found.append({scales[ear] for ear in _ears(arguments) if 0 <= ear < len(scales)})
    known = [scale for ears in found for scale in ears if scale is not None]
    if not known:
        return []
    if any(len(ears) != 1 or None in ears for ears in found):
        raise RecordingError(
            "Some of these channels say what their pressure is and others do not, or say another "
            "one, so that their levels cannot be compared.",
            "Give --pa-per-full-scale for each recording.",
        )
    return known


def _cut(arguments: argparse.Namespace, chosen: ChosenWindow, gain_db: float) -> ClipCut:
    left, right = _ears(arguments)
    return ClipCut(
        left_channel=left,
        right_channel=right,
        start_s=chosen.window.start_s,
        stop_s=chosen.window.stop_s,
        gain_db=gain_db,
        fade_s=_fade_s(arguments),
    )


def _trimmed(cut: ClipCut, loop: Loop, sample_rate_hz: int) -> ClipCut:
    first = round(cut.start_s * sample_rate_hz)
    return replace(
        cut,
        start_s=(first + loop.start_frame) / sample_rate_hz,
        stop_s=(first + loop.stop_frame) / sample_rate_hz,
    )


def _fade_s(arguments: argparse.Namespace) -> float:
    if arguments.trim_to_loop:
        if arguments.fade_ms:
            raise RecordingError("Clips that are cut at their loop have no fades.")
        return 0.0
    fade_ms: float = _FADE_MS if arguments.fade_ms is None else arguments.fade_ms
    return fade_ms / 1000


def _common_loop(sounds: list[CutSound], fade_s: float) -> tuple[Loop | None, str]:
    # The clips of a pair share one play position, and so one loop.
    side_by_side = np.concatenate([sound.samples for sound in sounds], axis=1)
    try:
        return find_loop(side_by_side, sounds[0].sample_rate_hz, margin_s=fade_s), ""
    except RecordingError as problem:
        return None, problem.what_happened
