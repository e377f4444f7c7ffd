"""Windows by speed start at one speed and are equally long."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ratings.clips.windows import (
    common_speed_window,
    common_steady_window,
)
from ratings.errors import RecordingError
from ratings.study.speed_trace import SpeedTrace


def _falling(from_km_h: float, per_s: float, duration_s: float = 30.0) -> SpeedTrace:
    times_s = np.arange(0.0, duration_s, 0.1)
    return SpeedTrace(times_s, np.maximum(from_km_h - per_s * times_s, 0.0))


def test_that_a_coast_down_is_cut_at_its_speeds() -> None:
    # 100 km/h less 4 km/h a second: 95 after 1.25 s, 60 after 10 s.
    assert common_speed_window([_falling(100, 4)], 95, 60)[0] == (1.25, 10.0)


def test_that_an_acceleration_is_cut_too() -> None:
    trace = SpeedTrace(np.array([0.0, 10.0]), np.array([20.0, 70.0]))
    assert common_speed_window([trace], 30, 60)[0] == (2.0, 8.0)


def test_that_the_longest_length_keeps_the_start() -> None:
    assert common_speed_window([_falling(100, 4)], 95, 30)[0] == (1.25, 13.25)
    assert common_speed_window([_falling(100, 4)], 95, 30, longest_s=5.0)[0] == (1.25, 6.25)


def test_that_a_wandering_speed_starts_at_its_last_way_in() -> None:
    times_s = np.arange(0.0, 9.0)
    trace = SpeedTrace(times_s, np.array([90.0, 79.0, 82.0, 78.0, 70.0, 60.0, 50.0, 55.0, 45.0]))
    # 80 is left for the last time half-way between 82 and 78; 50 is first reached at 6 s.
    assert common_speed_window([trace], 80, 50)[0] == (2.5, 6.0)


def test_that_the_second_of_two_runs_does_not_stretch_the_first() -> None:
    times_s = np.arange(0.0, 40.0)
    speed = np.concatenate([np.linspace(100, 30, 20), np.linspace(100, 30, 20)])
    first = common_speed_window([SpeedTrace(times_s, speed)], 90, 60)[0]
    alone = common_speed_window([SpeedTrace(times_s[:20], speed[:20])], 90, 60)[0]
    assert first == alone


@given(
    st.lists(st.floats(1.0, 8.0), min_size=1, max_size=6),
    st.floats(70.0, 95.0),
    st.floats(20.0, 30.0),
)
def test_that_sets_start_at_one_speed_and_last_equally_long(
    falls: list[float], from_km_h: float, to_km_h: float
) -> None:
    traces = [_falling(100.0, fall, 120.0) for fall in falls]

    windows = common_speed_window(traces, from_km_h, to_km_h)

    lengths_ms = {round((stop_s - start_s) * 1000) for start_s, stop_s in windows}
    assert len(lengths_ms) == 1
    shortest_s = (from_km_h - to_km_h) / max(falls)
    assert lengths_ms.pop() == pytest.approx(min(shortest_s, 12.0) * 1000, abs=1.01)
    for trace, window in zip(traces, windows, strict=True):
        first_km_h, last_km_h = trace.at(np.array(window))
        assert first_km_h == pytest.approx(from_km_h, abs=0.01)
        assert last_km_h >= to_km_h - 0.02


@pytest.mark.parametrize(
    ("from_km_h", "to_km_h", "sentence"),
    [
        (110, 60, "between 0.0 and 100.0 km/h, and never from 110 to 60 km/h"),
        (60, 90, "never from 60 to 90 km/h"),
        (80, 80, "is empty"),
        (-5, 80, "from 0 km/h upwards"),
        (float("nan"), 80, "from 0 km/h upwards"),
        (80, 75, "takes 1.25 s"),
    ],
)
def test_that_an_impossible_window_is_one_sentence(from_km_h, to_km_h, sentence: str) -> None:
    with pytest.raises(RecordingError) as refusal:
        common_speed_window([_falling(100, 4)], from_km_h, to_km_h)[0]
    assert sentence in refusal.value.what_happened


def test_that_the_recording_without_the_window_is_named() -> None:
    names = ("'first.wav'", "'second.wav'")
    with pytest.raises(RecordingError, match=r"^'second.wav': The speed goes from 70"):
        common_speed_window([_falling(100, 4), _falling(70, 4)], 90, 60, names=names)
    with pytest.raises(RecordingError, match=r"^'second.wav': .* takes 1\.87 s; a clip needs 2 s"):
        common_speed_window([_falling(100, 4), _falling(100, 16)], 90, 60, names=names)
    with pytest.raises(RecordingError, match="no speed trace"):
        common_speed_window([], 90, 60)
    with pytest.raises(RecordingError, match="too short to be judged"):
        common_speed_window([_falling(100, 4)], 90, 60, longest_s=1.0)


def test_that_the_longest_steady_stretch_is_taken_in_its_middle() -> None:
    times_s = np.arange(0.0, 40.0)
    speed = np.full(40, 80.0)
    speed[8], speed[30:] = 81.2, 83.0
    # Held from 9 to 29 s: the middle 8 s of it.
    trace = SpeedTrace(times_s, speed)
    assert common_steady_window([trace], 80.0)[0] == (15.0, 23.0)
    assert common_steady_window([trace], 80.0, longest_s=30.0)[0] == (
        9.0,
        29.0,
    )
    # A wider tolerance takes the single point in.
    assert common_steady_window([trace], 80.0, 1.5, 30.0)[0] == (0.0, 29.0)


def test_that_steady_windows_of_sets_are_equally_long() -> None:
    long = SpeedTrace.constant(80.4, 20.0)
    short = SpeedTrace.constant(79.5, 6.0)
    assert common_steady_window([long, short], 80.0) == ((7.0, 13.0), (0.0, 6.0))


def test_that_a_speed_that_was_not_held_is_told() -> None:
    with pytest.raises(RecordingError, match=r"within 1 km/h of 80 km/h for 0\.4 s at most"):
        common_steady_window([_falling(100, 4)], 80.0)[0]
    with pytest.raises(RecordingError, match=r"for 0\.0 s at most"):
        common_steady_window([SpeedTrace.constant(90.0, 20.0)], 80.0)[0]
    with pytest.raises(RecordingError, match="tolerance above 0"):
        common_steady_window([SpeedTrace.constant(90.0, 20.0)], 80.0, 0.0)[0]
