"""Windows for clips by speed: the same speed at the start for all sets, and equal lengths."""

import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from ratings.clips.cutting import (
    COAST_DOWN_CLIP_LENGTH_S,
    SHORTEST_COMMON_WINDOW_S,
    STEADY_CLIP_LENGTH_S,
    Window,
)
from ratings.errors import RecordingError
from ratings.study.speed_trace import SpeedTrace

STEADY_TOLERANCE_KM_H = 1.0
"""A steady run keeps its speed within so much on either side (common practice, no source)."""

_Finder = Callable[[SpeedTrace, float, float], tuple[float, float]]
_LONGER_RUN = "Choose another speed window, or another run."


def common_speed_window(
    traces: Sequence[SpeedTrace],
    from_km_h: float,
    to_km_h: float,
    longest_s: float = COAST_DOWN_CLIP_LENGTH_S,
) -> tuple[Window, ...]:
    """Give the stretch of each set in which the car passes from one speed to another.

    It starts when the first speed is left for the last time before the second is reached, and
    ends when that is reached, or after `longest_s`. The second speed below the first is a
    coast-down, above it an acceleration.

    Cars slow down differently, so equal speeds at both ends would give unequal lengths, and a
    longer clip would tell its set. All windows start at the same speed and last as long as the
    shortest (own rule); their final speeds may differ.

    Raises
    ------
    RecordingError
        When a trace never passes through that window, or passes it in less than 2 s; of several
        recordings it is named by its number.
    """
    passages = [
        _told_which(number, len(traces), _passage_s, trace, from_km_h, to_km_h)
        for number, trace in enumerate(_at_least_one(traces), start=1)
    ]
    length_s = _length_s([stop_s - start_s for start_s, stop_s in passages], longest_s)
    return tuple(_window(start_s, length_s) for start_s, _ in passages)


def common_steady_window(
    traces: Sequence[SpeedTrace],
    speed_km_h: float,
    tolerance_km_h: float = STEADY_TOLERANCE_KM_H,
    longest_s: float = STEADY_CLIP_LENGTH_S,
) -> tuple[Window, ...]:
    """Give windows of equal length, each the middle of its trace's longest steady stretch.

    Parameters
    ----------
    speed_km_h, tolerance_km_h
        The speed that was to be held, and how far it may stray to either side.

    Raises
    ------
    RecordingError
        When a speed never keeps within the tolerance for 2 s; of several recordings it is named by
        its number.
    """
    stretches = [
        _told_which(number, len(traces), _steady_stretch_s, trace, speed_km_h, tolerance_km_h)
        for number, trace in enumerate(_at_least_one(traces), start=1)
    ]
    length_s = _length_s([stop_s - start_s for start_s, stop_s in stretches], longest_s)
    return tuple(
        _window((start_s + stop_s - length_s) / 2, length_s) for start_s, stop_s in stretches
    )


def _at_least_one(traces: Sequence[SpeedTrace]) -> Sequence[SpeedTrace]:
    if not traces:
        raise RecordingError("There is no speed trace to take a window from.")
    return traces


def _told_which(
    number: int,
    count: int,
    find: _Finder,
    trace: SpeedTrace,
    first: float,
    second: float,
) -> tuple[float, float]:
    try:
        return find(trace, first, second)
    except RecordingError as problem:
        if count == 1:
            raise
        raise RecordingError(
            f"Recording {number} of {count}: {problem.what_happened}", problem.what_to_do
        ) from problem


def _passage_s(trace: SpeedTrace, from_km_h: float, to_km_h: float) -> tuple[float, float]:
    if not (math.isfinite(from_km_h) and math.isfinite(to_km_h)) or min(from_km_h, to_km_h) < 0:
        raise RecordingError("A speed window needs two speeds from 0 km/h upwards.")
    if from_km_h == to_km_h:
        raise RecordingError(
            f"A speed window from {from_km_h:g} to {to_km_h:g} km/h is none.",
            "Give two speeds, or ask for a steady stretch.",
        )
    # Upwards or downwards, the way through the window is seen as a rise.
    sign = 1.0 if to_km_h > from_km_h else -1.0
    way, first, last = sign * trace.speed_km_h, sign * from_km_h, sign * to_km_h
    low = np.flatnonzero(way <= first)
    high = np.flatnonzero(way >= last)
    high = high[high > low[0]] if len(low) else high[:0]
    if not len(high):
        raise RecordingError(
            f"The speed goes from {trace.speed_km_h[0]:.1f} to {trace.speed_km_h[-1]:.1f} km/h, "
            f"between {trace.speed_km_h.min():.1f} and {trace.speed_km_h.max():.1f} km/h, and "
            f"never from {from_km_h:g} to {to_km_h:g} km/h.",
            _LONGER_RUN,
        )
    end = int(high[0])
    begin = int(low[low < end][-1])
    start_s = _crossing_s(trace.times_s, way, begin, first)
    return start_s, _crossing_s(trace.times_s, way, end - 1, last)


def _crossing_s(
    times_s: npt.NDArray[np.float64], way: npt.NDArray[np.float64], index: int, level: float
) -> float:
    part = (level - way[index]) / (way[index + 1] - way[index])
    return float(times_s[index] + part * (times_s[index + 1] - times_s[index]))


def _steady_stretch_s(
    trace: SpeedTrace, speed_km_h: float, tolerance_km_h: float
) -> tuple[float, float]:
    if not (math.isfinite(speed_km_h) and 0 < tolerance_km_h < math.inf):
        raise RecordingError("A steady stretch needs a speed and a tolerance above 0 km/h.")
    is_held = np.abs(trace.speed_km_h - speed_km_h) <= tolerance_km_h
    edges = np.flatnonzero(np.diff(is_held.astype(np.int8), prepend=0, append=0))
    starts, last = edges[::2], edges[1::2] - 1
    lengths_s = trace.times_s[last] - trace.times_s[starts]
    if not len(lengths_s) or lengths_s.max() < SHORTEST_COMMON_WINDOW_S:
        held_s = lengths_s.max() if len(lengths_s) else 0.0
        raise RecordingError(
            f"The speed keeps within {tolerance_km_h:g} km/h of {speed_km_h:g} km/h for "
            f"{held_s:.1f} s at most (it lies between {trace.speed_km_h.min():.1f} and "
            f"{trace.speed_km_h.max():.1f} km/h); a clip needs {SHORTEST_COMMON_WINDOW_S:g} s.",
            _LONGER_RUN,
        )
    longest = int(np.argmax(lengths_s))
    return float(trace.times_s[starts[longest]]), float(trace.times_s[last[longest]])


def _length_s(lengths_s: Sequence[float], longest_s: float) -> float:
    if not longest_s >= SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"A window of {longest_s:g} s is too short to be judged by ear.",
            f"Choose {SHORTEST_COMMON_WINDOW_S:g} s or more; up to 12 s suit a coast-down.",
        )
    shortest_s = min(lengths_s)
    # Whole milliseconds, so that equal lengths are equal to the frame.
    length_s = math.floor(min(shortest_s, longest_s) * 1000 + 1e-6) / 1000
    if length_s < SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"The shortest passage through this speed window takes {shortest_s:.2f} s; a clip "
            f"needs {SHORTEST_COMMON_WINDOW_S:g} s.",
            "Widen the speed window, or choose another run.",
        )
    return length_s


def _window(start_s: float, length_s: float) -> Window:
    start_ms = round(start_s * 1000)
    return Window(start_ms / 1000, (start_ms + round(length_s * 1000)) / 1000)
