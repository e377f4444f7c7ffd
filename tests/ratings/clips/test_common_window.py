"""One window for all recordings of a condition."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ratings.clips.windows import COAST_DOWN_CLIP_LENGTH_S, common_window
from ratings.errors import RecordingError


def test_that_the_window_is_the_middle_of_the_shortest() -> None:
    assert common_window([30.0, 20.0, 25.0]) == (6.0, 14.0)
    assert common_window([30.0, 20.0], COAST_DOWN_CLIP_LENGTH_S) == (4.0, 16.0)


def test_that_a_short_recording_gives_all_it_has() -> None:
    assert common_window([9.0, 5.0]) == (0.0, 5.0)
    assert common_window([2.0]) == (0.0, 2.0)


@pytest.mark.parametrize("durations_s", [[], [1.999], [10.0, 0.5], [float("nan")]])
def test_that_too_little_is_refused(durations_s) -> None:
    with pytest.raises(RecordingError) as refusal:
        common_window(durations_s)
    assert refusal.value.what_to_do


@pytest.mark.parametrize("length_s", [0.0, -3.0, 1.9, float("nan")])
def test_that_a_wish_under_two_seconds_is_refused(length_s: float) -> None:
    with pytest.raises(RecordingError, match="too short"):
        common_window([20.0], length_s)


@given(
    st.lists(st.floats(2.0, 4000.0), min_size=1, max_size=6),
    st.floats(2.0, 30.0),
)
def test_that_the_window_lies_within_every_recording(
    durations_s: list[float], length_s: float
) -> None:
    start_s, stop_s = common_window(durations_s, length_s)

    assert 0 <= start_s < stop_s <= min(durations_s) + 1e-9
    assert stop_s - start_s <= length_s + 1e-6
    assert stop_s - start_s >= min(length_s, *durations_s) - 0.0011
    middle_s = (start_s + stop_s) / 2
    assert middle_s == pytest.approx(min(durations_s) / 2, abs=0.0011)


def test_that_the_window_lies_beside_lost_signal_where_there_is_room() -> None:
    gap = [(4.5, 4.51)]
    # 50 ms are kept to the gap; the longer side is taken, shortened down to the least.
    assert common_window([10.0], 8.0, gap, least_s=5.0) == (4.56, 10.0)
    assert common_window([30.0, 20.0], 8.0, [(9.0, 9.1)], least_s=5.0) == (9.15, 17.15)
    assert common_window([20.0], 8.0, [(15.0, 15.1), (5.0, 5.1)], least_s=5.0) == (6.0, 14.0)


def test_that_the_window_stays_in_the_middle_where_no_side_is_long_enough() -> None:
    assert common_window([9.0], 8.0, [(4.5, 4.51)], least_s=5.0) == (0.5, 8.5)
    assert common_window([10.0], 8.0, [(4.5, 4.51)]) == common_window([10.0])


@given(
    st.lists(
        st.tuples(st.floats(0.0, 30.0), st.floats(0.005, 5.0)).map(lambda g: (g[0], sum(g))),
        max_size=6,
    ),
    st.floats(5.0, 30.0),
)
def test_that_a_window_that_gave_way_holds_no_lost_signal(lost_s, duration_s) -> None:
    window = common_window([duration_s], 8.0, lost_s, least_s=5.0)
    assert 0.0 <= window.start_s < window.stop_s <= duration_s
    if window != common_window([duration_s]):
        assert all(end <= window.start_s or start >= window.stop_s for start, end in lost_s)
