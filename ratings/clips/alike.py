"""Clips that are to be compared: windows alike, one loop, one full scale, one rate."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ratings.clips.cutting import ClipCut, CutSound, cut_sound
from ratings.clips.equaliser import Equaliser
from ratings.clips.level_scale import LevelScale, level_scale
from ratings.clips.loop_points import FoundLoop, Loop, common_loop
from ratings.clips.masking import Mask
from ratings.clips.sources import ClipSource, common_rate_hz
from ratings.clips.stretch import first_frame
from ratings.clips.windows import (
    COAST_DOWN_CLIP_LENGTH_S,
    STEADY_CLIP_LENGTH_S,
    STEADY_TOLERANCE_KM_H,
    Window,
    common_speed_window,
    common_steady_window,
    common_window,
)
from ratings.errors import FullScaleError, RecordingError
from ratings.recordings.opening import shown_name
from ratings.recordings.speed.record import SpeedRecord
from ratings.study.progress import Progress, quiet
from ratings.study.sets import Condition

LEAST_STEADY_S = 5.0
"""Steady clips keep so much of their window (common practice, no source: 5 to 8 s)."""
LEAST_PART_OF_SHORT = 0.6
"""Of a steady stretch that was asked for shorter than `ROOM_FOR_LOOP_S` (own choice)."""
ROOM_FOR_LOOP_S = 6.0
"""A steady window as long as this has room to find a loop of 5 s in (own choice)."""
LEAST_PART_OF_PASSAGE = 5 / 6
"""A coast-down is about the way down, so that most of it stays (own choice)."""


@dataclass(frozen=True, slots=True)
class ClipWish:
    """What is wanted of clips that are to be compared.

    Attributes
    ----------
    speeds_km_h
        Where a passage starts and ends; twice the same speed for a steady stretch. None for a
        window by time, in the middle of the shortest recording and beside lost signal.
    ends_s
        Start and stop of a stretch that is taken as it is, in seconds of every recording; neither
        speeds nor lost signal count then.
    length_s
        Longest window; None for the usual one, 8 s, and 12 s for a passage.
    is_passage
        Whether the speed changes though the window is by time, as in a coast-down without traces.
    loop
        ``trim`` cuts all clips to the loop that they share, if there is one, for a player that
        joins end and start by a crossfade; ``mark`` finds it and leaves the window whole.
    fade_s
        At both ends, see `ClipCut`; the loop stays clear of it.
    equaliser
        Of the headphones, for all clips alike.
    sample_rate_hz
        None for the rate that the recordings share, or 48000.
    title
        Names the condition in refusals.
    """

    speeds_km_h: tuple[float, float] | None = None
    ends_s: tuple[float, float] | None = None
    length_s: float | None = None
    is_passage: bool = False
    loop: Literal["trim", "mark", "none"] = "trim"
    fade_s: float = 0.0
    equaliser: Equaliser | None = None
    sample_rate_hz: int | None = None
    title: str = ""

    def __post_init__(self) -> None:
        if self.loop == "trim" and self.fade_s:
            raise RecordingError("Clips that are cut at their loop have no fades.")

    @property
    def changes_speed(self) -> bool:
        """Whether the speed changes within a clip."""
        return self.is_passage or len(set(self.speeds_km_h or ())) > 1

    @property
    def longest_s(self) -> float:
        """Longest window."""
        if self.length_s is not None:
            return self.length_s
        return COAST_DOWN_CLIP_LENGTH_S if self.changes_speed else STEADY_CLIP_LENGTH_S

    def least_loop_s(self, length_s: float) -> float:
        """Shortest loop within a window."""
        if self.changes_speed:
            return max(LEAST_STEADY_S, LEAST_PART_OF_PASSAGE * length_s)
        is_asked_for = self.length_s is not None or self.ends_s is not None
        if is_asked_for and length_s < ROOM_FOR_LOOP_S:
            return LEAST_PART_OF_SHORT * length_s
        return LEAST_STEADY_S


def wish_for(condition: Condition, sources: Sequence[ClipSource]) -> ClipWish:
    """Wish for the clips of a condition: by speed where it is known for all, else by time."""
    start_km_h, end_km_h = condition.speed_km_h, condition.end_speed_km_h
    coasts = condition.manoeuvre == "coast-down"
    speeds_km_h = None
    if start_km_h is not None and all(source.speed is not None for source in sources):
        if end_km_h is not None:
            speeds_km_h = start_km_h, end_km_h
        elif not coasts:
            speeds_km_h = start_km_h, start_km_h
    return ClipWish(speeds_km_h, is_passage=coasts, title=condition.title)


def expected_length_s(condition: Condition, durations_s: Sequence[float]) -> float:
    """Say how long the clips of a condition get at most, before anything but lengths is known."""
    start_s, stop_s = common_window(durations_s, wish_for(condition, ()).longest_s)
    return stop_s - start_s


@dataclass(frozen=True, slots=True, eq=False)
class PlannedClip:
    """Which stretch of a recording becomes a clip, and all that is needed to cut it.

    Attributes
    ----------
    speed
        By which its window was chosen; None when by time.
    """

    source: ClipSource
    cut: ClipCut
    sample_rate_hz: int
    equaliser: Equaliser | None = None
    speed: SpeedRecord | None = None

    @property
    def speeds_km_h(self) -> tuple[float, float] | None:
        """Speed at start and stop; None when its window was not chosen by speed."""
        if self.speed is None:
            return None
        ends_s = np.array([self.cut.start_s, self.cut.stop_s])
        first_km_h, last_km_h = self.speed.trace.at(ends_s).tolist()
        return first_km_h, last_km_h

    @property
    def lost_s(self) -> list[float]:
        """Where within the clip signal that the recording has lost begins."""
        start_s, stop_s = self.cut.start_s, self.cut.stop_s
        return [lost for lost, end in self.source.lost_s if lost < stop_s and end > start_s]

    def sound(self, mask: Mask | None = None) -> CutSound:
        """Cut the clip, under noise of its own if a mask is given; see `cut_sound`."""
        with self.source.told_by_its_own_name():
            return cut_sound(self.source.file, self.cut, self.sample_rate_hz, self.equaliser, mask)


@dataclass(frozen=True, slots=True, eq=False)
class AlikeClips:
    """Clips of equal length that share one loop, one rate and one full scale.

    Attributes
    ----------
    clips
        In the order of their sources.
    scale
        What their samples stand for.
    loop
        In frames of the clips; None when there is none, or none was sought.
    no_loop_because
        A sentence; empty when there is one.
    window_remarks, loop_remark
        How window and loop were chosen, in the user's words.
    recorder_step
        Of the coarsest recorder, see `CutSound`.
    """

    clips: tuple[PlannedClip, ...]
    scale: LevelScale
    loop: Loop | None
    no_loop_because: str
    window_remarks: tuple[str, ...]
    loop_remark: str
    recorder_step: float


def cut_alike(
    sources: Sequence[ClipSource],
    wish: ClipWish = ClipWish(),
    scale: LevelScale | None = None,
    progress: Progress = quiet,
) -> AlikeClips:
    """Choose windows, loop and gains of clips that are to be compared.

    Parameters
    ----------
    sources
        One for each set.
    scale
        None for the full scale of these recordings alone, at a gain of 0 dB.

    Raises
    ------
    RecordingError
        When there is no window, naming recording and condition, or a clip cannot be cut.
    FullScaleError
        When clips would exceed full scale: of the loudest, with how many do.
    DesignError
        When only some recordings are calibrated.

    Examples
    --------
    >>> runs = [clip_source(path) for path in paths]  # doctest: +SKIP
    >>> clips = cut_alike(runs, ClipWish(length_s=6.0, loop="mark"))  # doctest: +SKIP
    >>> heard = [clip.sound().samples for clip in clips.clips]  # doctest: +SKIP
    """
    if not sources:
        raise RecordingError("There is no recording to cut.", "Choose the recordings first.")
    scale = scale or scale_of(sources)
    rate_hz = common_rate_hz(sources) if wish.sample_rate_hz is None else wish.sample_rate_hz
    speeds: list[SpeedRecord | None] = [None] * len(sources)
    if wish.speeds_km_h is not None and wish.ends_s is None:
        speeds = [source.speed_record() for source in sources]
    windows, remarks = _windows(sources, speeds, wish)
    clips = tuple(
        PlannedClip(
            source,
            ClipCut(*source.ears, *window, scale.gain_of(source.pa_per_full_scale), wish.fade_s),
            rate_hz,
            wish.equaliser,
            speed,
        )
        for source, window, speed in zip(sources, windows, speeds, strict=True)
    )
    sounds = _sounds(clips, progress)
    found = _loop(sounds, wish)
    loop = found.loop
    if loop is not None and wish.loop == "trim":
        clips = tuple(replace(clip, cut=_cut_to(loop, clip.cut, rate_hz)) for clip in clips)
        loop = replace(loop, start_frame=0, stop_frame=loop.stop_frame - loop.start_frame)
    step = max(sound.recorder_step for sound in sounds)
    return AlikeClips(clips, scale, loop, found.no_loop_because, remarks, found.remark, step)


def scale_of(sources: Sequence[ClipSource], gain_db: float = 0.0) -> LevelScale:
    """Give the full scale that clips of recordings share; see `level_scale`."""
    return level_scale(
        [source.pa_per_full_scale for source in sources],
        [source.peak_full_scale for source in sources],
        gain_db,
    )


def _windows(
    sources: Sequence[ClipSource], speeds: Sequence[SpeedRecord | None], wish: ClipWish
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    """Give a window for each source, and how they were chosen."""
    if wish.ends_s is not None:
        return (Window(*wish.ends_s),) * len(sources), ()
    if wish.speeds_km_h is None:
        return _by_time(sources, wish)
    traces = [speed.trace for speed in speeds if speed is not None]
    names = [_name(source, wish) for source in sources]
    from_km_h, to_km_h = wish.speeds_km_h
    if from_km_h == to_km_h:
        words = f"within {STEADY_TOLERANCE_KM_H:g} km/h of {from_km_h:g} km/h"
        windows = common_steady_window(traces, from_km_h, longest_s=wish.longest_s, names=names)
    else:
        words = f"from {from_km_h:g} km/h {'up' if to_km_h > from_km_h else 'down'}wards"
        windows = common_speed_window(traces, from_km_h, to_km_h, wish.longest_s, names)
    return windows, (f"window by speed: {words}",)


def _by_time(
    sources: Sequence[ClipSource], wish: ClipWish
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    durations_s = [source.facts.duration_s for source in sources]
    length_s = wish.longest_s
    least_s = length_s if wish.changes_speed else LEAST_STEADY_S
    lost_s = [lost for source in sources for lost in source.lost_s]
    names = [_name(source, wish) for source in sources]
    window = common_window(durations_s, length_s, lost_s, least_s, names)
    usual = common_window(durations_s, length_s)
    words = () if window == usual else ("window beside lost signal in one of the recordings",)
    return (window,) * len(sources), words


def _name(source: ClipSource, wish: ClipWish) -> str:
    return ", ".join(filter(None, (shown_name(source.path), wish.title)))


def _sounds(clips: Sequence[PlannedClip], progress: Progress) -> list[CutSound]:
    sounds, too_loud = [], []
    for number, clip in enumerate(clips):
        progress(number / len(clips), f"Looking for a loop in {clip.source.path.name}")
        try:
            sounds.append(clip.sound())
        except FullScaleError as problem:
            too_loud.append(problem)
    if too_loud:
        loudest = max(too_loud, key=lambda problem: problem.over_db)
        loudest.clips = len(too_loud)
        raise loudest
    return sounds


def _loop(sounds: Sequence[CutSound], wish: ClipWish) -> FoundLoop:
    if wish.loop == "none":
        return FoundLoop(None, "", "No loop was sought.")
    rate_hz = sounds[0].sample_rate_hz
    least_s = wish.least_loop_s(len(sounds[0].codes) / rate_hz)
    return common_loop([sound.samples for sound in sounds], rate_hz, least_s, wish.fade_s)


def _cut_to(loop: Loop, cut: ClipCut, sample_rate_hz: int) -> ClipCut:
    first = first_frame(cut.start_s, sample_rate_hz)
    return replace(
        cut,
        start_s=(first + loop.start_frame) / sample_rate_hz,
        stop_s=(first + loop.stop_frame) / sample_rate_hz,
    )
