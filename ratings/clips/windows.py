"""Windows for clips: equally long for all recordings, by time, or from the same speed on."""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.study.speed_trace import SpeedTrace

STEADY_CLIP_LENGTH_S = 8.0
"""Length for steady speed (common practice, no source: 5 to 8 s)."""
COAST_DOWN_CLIP_LENGTH_S = 12.0
"""Length for coast-down (common practice, no source: up to 12 s)."""
SHORTEST_COMMON_WINDOW_S = 2.0
BESIDE_LOST_S = 0.05
"""A window keeps so far away from lost signal (our judgement)."""
STEADY_TOLERANCE_KM_H = 1.0
"""A steady run keeps its speed within so much on either side (common practice, no source)."""

_LONGER_RUN = "Choose another speed window, or another run."


class Window(NamedTuple):
    """A stretch of time in seconds."""

    start_s: float
    stop_s: float


def common_window(
    durations_s: Sequence[float],
    length_s: float = STEADY_CLIP_LENGTH_S,
    lost_s: Sequence[tuple[float, float]] = (),
    least_s: float = math.inf,
    names: Sequence[str] = (),
) -> Window:
    """Give the same window for all recordings of a condition: the middle of the shortest one.

    Where a recording lost its signal, the window lies beside it if there is room.

    Parameters
    ----------
    durations_s
        Lengths of the recordings, at least one.
    length_s
        Wished length; shortened to that of the shortest recording. 2 s at least.
    lost_s
        Start and end of lost signal, in any of the recordings and any order.
    least_s
        So short, and no shorter, a window may become to lie beside lost signal; where even that
        does not fit, it lies where it would without.
    names
        Of the recordings, for a refusal that concerns the shortest.

    Returns
    -------
    Start and stop on whole milliseconds, within every recording.

    Raises
    ------
    RecordingError
        When the window would be shorter than 2 s, or there is no recording.
    """
    if len(durations_s) == 0:
        raise RecordingError(
            "There is no recording to take a window from.", "Choose the recordings first."
        )
    if not length_s >= SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"A window of {length_s:g} s is too short to be judged by ear.",
            f"Choose {SHORTEST_COMMON_WINDOW_S:g} s or more; 5 to 8 s suit steady speed.",
        )
    shortest_s = min(durations_s)
    if not shortest_s >= SHORTEST_COMMON_WINDOW_S:
        named = f"{names[durations_s.index(shortest_s)]}: " if names else ""
        raise RecordingError(
            f"{named}The shortest recording of this condition lasts {shortest_s:.3f} s, and every "
            f"clip needs the same window of at least {SHORTEST_COMMON_WINDOW_S:g} s.",
            "Leave that run out or choose a longer one.",
        )
    shortest_ms = math.floor(shortest_s * 1000 + 1e-6)
    length_ms = min(math.floor(length_s * 1000 + 1e-6), shortest_ms)
    least_ms = min(length_ms, max(least_s, SHORTEST_COMMON_WINDOW_S) * 1000)
    whole = [each for each in _whole_parts_ms(lost_s, shortest_ms) if each[1] - each[0] >= least_ms]
    windows_ms = []
    for begin_ms, end_ms in whole or [(0, shortest_ms)]:
        this_ms = min(length_ms, end_ms - begin_ms)
        middle_ms = (shortest_ms - this_ms) // 2
        start_ms = min(max(middle_ms, begin_ms), end_ms - this_ms)
        windows_ms.append((this_ms, -abs(start_ms - middle_ms), start_ms))
    # The longest, and of equally long ones the nearest to the middle.
    length_ms, _, start_ms = max(windows_ms)
    return Window(start_ms / 1000, (start_ms + length_ms) / 1000)


def common_speed_window(
    traces: Sequence[SpeedTrace],
    from_km_h: float,
    to_km_h: float,
    longest_s: float = COAST_DOWN_CLIP_LENGTH_S,
    names: Sequence[str] = (),
) -> tuple[Window, ...]:
    """Give the stretches in which cars pass from one speed to another, in the order of the traces.

    Each starts when the first speed is left for the last time before the second is reached. The
    second speed below the first is a coast-down, above it an acceleration. Cars slow down
    differently, so equal speeds at both ends would give unequal lengths, and a longer clip would
    tell its set: all windows last as long as the shortest passage, or `longest_s` (own rule);
    their final speeds may differ.

    Parameters
    ----------
    names
        Of the recordings, for refusals that concern one of them.

    Raises
    ------
    RecordingError
        When a trace never passes through that window, or passes it in less than 2 s.
    """
    passages = _found(traces, names, lambda trace: _passage_s(trace, from_km_h, to_km_h))
    length_s = _length_s(passages, longest_s)
    return tuple(_window(start_s, length_s) for start_s, _ in passages)


def common_steady_window(
    traces: Sequence[SpeedTrace],
    speed_km_h: float,
    tolerance_km_h: float = STEADY_TOLERANCE_KM_H,
    longest_s: float = STEADY_CLIP_LENGTH_S,
    names: Sequence[str] = (),
) -> tuple[Window, ...]:
    """Give windows of equal length, each the middle of its trace's longest steady stretch.

    Parameters
    ----------
    speed_km_h, tolerance_km_h
        The speed that was to be held, and how far it may stray to either side.
    names
        Of the recordings, for refusals that concern one of them.

    Raises
    ------
    RecordingError
        When a speed never keeps within the tolerance for 2 s.
    """
    stretches = _found(
        traces, names, lambda trace: _steady_stretch_s(trace, speed_km_h, tolerance_km_h)
    )
    length_s = _length_s(stretches, longest_s)
    return tuple(
        _window((start_s + stop_s - length_s) / 2, length_s) for start_s, stop_s in stretches
    )


def _whole_parts_ms(
    lost_s: Sequence[tuple[float, float]], duration_ms: int
) -> list[tuple[int, int]]:
    """Give what lies clear of lost signal, start and end; where nothing does, the end is first."""
    parts, begin_ms = [], 0
    for start_s, end_s in sorted(lost_s):
        parts.append((begin_ms, min(math.floor((start_s - BESIDE_LOST_S) * 1000), duration_ms)))
        begin_ms = max(begin_ms, math.ceil((end_s + BESIDE_LOST_S) * 1000))
    return [*parts, (begin_ms, duration_ms)]


def _found(
    traces: Sequence[SpeedTrace],
    names: Sequence[str],
    find: Callable[[SpeedTrace], tuple[float, float]],
) -> list[tuple[float, float]]:
    if not traces:
        raise RecordingError("There is no speed trace to take a window from.")
    found = []
    for number, trace in enumerate(traces):
        try:
            found.append(find(trace))
            # By itself, so that the one that is too short is named.
            _length_s(found[-1:], SHORTEST_COMMON_WINDOW_S)
        except RecordingError as problem:
            if not names:
                raise
            raise RecordingError(
                f"{names[number]}: {problem.what_happened}", problem.what_to_do
            ) from problem
    return found


def _passage_s(trace: SpeedTrace, from_km_h: float, to_km_h: float) -> tuple[float, float]:
    if not (math.isfinite(from_km_h) and math.isfinite(to_km_h)) or min(from_km_h, to_km_h) < 0:
        raise RecordingError("A speed window needs two speeds from 0 km/h upwards.")
    if from_km_h == to_km_h:
        raise RecordingError(
            f"A speed window from {from_km_h:g} to {to_km_h:g} km/h is empty.",
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


def _length_s(stretches_s: Sequence[tuple[float, float]], longest_s: float) -> float:
    if not longest_s >= SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"A window of {longest_s:g} s is too short to be judged by ear.",
            f"Choose {SHORTEST_COMMON_WINDOW_S:g} s or more; up to 12 s suit a coast-down.",
        )
    shortest_s = min(stop_s - start_s for start_s, stop_s in stretches_s)
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
