import pytest

from ratings.design.session_length import break_positions, seconds_left, seconds_per_pair


def test_that_a_short_session_has_no_break():
    assert break_positions(6, 100.0) == ()


def test_that_a_long_session_is_cut_into_equal_stretches_below_twenty_minutes():
    breaks = break_positions(24, 120.0)
    stretches = [b - a for a, b in zip((0, *breaks), (*breaks, 24), strict=True)]
    assert breaks == (8, 16)
    assert max(stretches) * 120.0 <= 20 * 60


def test_that_a_session_of_very_slow_pairs_has_at_most_a_break_after_each():
    assert break_positions(2, 5000.0) == (1,)


@pytest.mark.parametrize(
    ("durations", "expected"), [([], 270.0), ([50.0, 40.0, 600.0], 210.0), ([50.0] * 27, 162.0)]
)
def test_that_the_time_left_follows_the_persons_own_pace_and_ignores_one_long_pause(
    durations, expected
):
    assert seconds_left(durations, 3, 90.0) == expected


def test_that_more_attributes_take_longer():
    assert seconds_per_pair(7, 8.0) > seconds_per_pair(5, 8.0)
