"""Where the clips of a condition are cut: the same window for all sets, and in it the same loop."""

from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ratings.clips.cutting import (
    COAST_DOWN_CLIP_LENGTH_S,
    STEADY_CLIP_LENGTH_S,
    ClipCut,
    CutSound,
    Window,
    common_window,
)
from ratings.clips.loop_points import Loop, find_loop, seam_level_db
from ratings.clips.prepared import TakenRecording
from ratings.clips.stretch import first_frame
from ratings.clips.windows import (
    STEADY_TOLERANCE_KM_H,
    common_speed_window,
    common_steady_window,
)
from ratings.design.study_plan import ChosenRecording
from ratings.errors import RecordingError
from ratings.recordings.opening import shown_name
from ratings.recordings.refusals import told_by_its_own_name
from ratings.recordings.speed.sources import speed_over
from ratings.study.runs import SpeedFile, SpeedSource
from ratings.study.sets import Condition
from ratings.study.speed_trace import SpeedTrace

SHORTEST_LOOP_S = 5.0
"""Steady clips keep so much of their window (common practice, no source: 5 to 8 s)."""
LEAST_PART_OF_COAST_DOWN = 5 / 6
"""A coast-down is about the way down, so that most of it stays (own choice)."""
UNRELATED_SEAM_DB = 0.0
"""Two places of a noise meet with this; a loop that does no better is none (own choice)."""

Taken = Mapping[ChosenRecording, TakenRecording]


@dataclass(frozen=True, slots=True)
class ConditionWindows:
    """Windows of equal length, one for each set.

    Attributes
    ----------
    windows
        In the order of the recordings.
    remarks
        How they were chosen, in the user's words.
    """

    windows: tuple[Window, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FoundLoop:
    """The loop of a condition, or why its whole window is heard.

    Attributes
    ----------
    loop
        In frames of the windows; None when there is none.
    remark
        What was found, in the user's words.
    """

    loop: Loop | None
    remark: str


def condition_windows(condition: Condition, taken: Taken) -> ConditionWindows:
    """Choose windows by speed where every recording has a trace, else the same one by time.

    Parameters
    ----------
    taken
        The recordings of the condition.

    Raises
    ------
    RecordingError
        When there is no such window, naming recording and condition.
    """
    start_km_h, end_km_h = condition.speed_km_h, condition.end_speed_km_h
    coasts = condition.manoeuvre == "coast-down"
    is_known = start_km_h is not None and (end_km_h is not None or not coasts)
    if start_km_h is None or not is_known or any(each.speed is None for each in taken):
        return _by_time(condition, taken)
    traces = [
        _trace(recording, recording.speed, each)
        for recording, each in taken.items()
        if recording.speed is not None
    ]

    def windows(chosen: Sequence[SpeedTrace]) -> tuple[Window, ...]:
        if end_km_h is not None:
            return common_speed_window(chosen, start_km_h, end_km_h)
        return common_steady_window(chosen, start_km_h)

    for recording, trace in zip(taken, traces, strict=True):
        try:
            windows([trace])
        except RecordingError as problem:
            raise _named(problem, recording.path, condition) from problem
    words = (
        f"window by speed: from {start_km_h:g} km/h downwards"
        if end_km_h is not None
        else f"window by speed: within {STEADY_TOLERANCE_KM_H:g} km/h of {start_km_h:g} km/h"
    )
    return ConditionWindows(windows(traces), (words,))


def common_loop(sounds: Sequence[CutSound], condition: Condition) -> FoundLoop:
    """Find the loop whose seam is least audible in the worst of the sets.

    Parameters
    ----------
    sounds
        The windows of a condition, equally long.

    Notes
    -----
    The whole window is kept where no loop of the least length meets better than unrelated
    sounds do, and better than the ends of the window.
    """
    side_by_side = np.concatenate([sound.samples for sound in sounds], axis=1)
    rate_hz, clips = sounds[0].sample_rate_hz, len(sounds)
    length_s = len(side_by_side) / rate_hz
    coasts = condition.manoeuvre == "coast-down"
    least_s = max(SHORTEST_LOOP_S, LEAST_PART_OF_COAST_DOWN * length_s * coasts)
    try:
        loop = find_loop(side_by_side, rate_hz, least_s, clips=clips)
    except RecordingError:
        return FoundLoop(None, f"whole window: too short for a loop of {least_s:g} s")
    whole_db = seam_level_db(side_by_side, rate_hz, 0, len(side_by_side), clips)
    if loop.seam_db >= min(whole_db, UNRELATED_SEAM_DB):
        return FoundLoop(None, "whole window: no better loop was found")
    loop_s = (loop.stop_frame - loop.start_frame) / rate_hz
    return FoundLoop(
        loop,
        f"cut to a loop of {loop_s:.2f} s, which joins by {whole_db - loop.seam_db:.1f} dB better "
        "than the uncut clip, in the set that joins worst",
    )


def cut_to_loop(cut: ClipCut, loop: Loop | None, sample_rate_hz: int) -> ClipCut:
    """Shorten a cut to the loop that was found in it, to the frame."""
    if loop is None:
        return cut
    first = first_frame(cut.start_s, sample_rate_hz)
    return replace(
        cut,
        start_s=(first + loop.start_frame) / sample_rate_hz,
        stop_s=(first + loop.stop_frame) / sample_rate_hz,
    )


def lost_by(recording: ChosenRecording, taken: TakenRecording) -> list[tuple[float, float]]:
    """Give start and end, in seconds, of each stretch that an ear of a recording has lost."""
    return taken.facts.lost_s(recording.ears(taken.facts.channels))


def _by_time(condition: Condition, taken: Taken) -> ConditionWindows:
    durations_s = {recording.path: each.facts.duration_s for recording, each in taken.items()}
    coasts = condition.manoeuvre == "coast-down"
    length_s = COAST_DOWN_CLIP_LENGTH_S if coasts else STEADY_CLIP_LENGTH_S
    least_s = length_s if coasts else SHORTEST_LOOP_S
    lost_s = [lost for recording, each in taken.items() for lost in lost_by(recording, each)]
    try:
        window = common_window(list(durations_s.values()), length_s, lost_s, least_s)
        usual = common_window(list(durations_s.values()), length_s)
    except RecordingError as problem:
        shortest = min(durations_s, key=durations_s.__getitem__)
        raise _named(problem, shortest, condition) from problem
    words = () if window == usual else ("window beside lost signal in one of the recordings",)
    return ConditionWindows((window,) * len(taken), words)


def _trace(recording: ChosenRecording, speed: SpeedSource, taken: TakenRecording) -> SpeedTrace:
    with ExitStack() as telling:
        telling.enter_context(told_by_its_own_name(taken.copy, recording.path))
        if isinstance(speed, SpeedFile) and taken.speed_copy is not None:
            telling.enter_context(told_by_its_own_name(taken.speed_copy, speed.path))
            speed = replace(speed, path=taken.speed_copy)
        return speed_over(speed, taken.copy, taken.facts.duration_s)


def _named(problem: RecordingError, path: Path, condition: Condition) -> RecordingError:
    return RecordingError(
        f"{shown_name(path)}, {condition.title}: {problem.what_happened}", problem.what_to_do
    )
