import numpy as np
import pytest

from ratings.errors import MeasurementError
from ratings.study.speed_trace import SpeedTrace


def trace(times_s: list[float], speed_km_h: list[float]) -> SpeedTrace:
    return SpeedTrace(np.array(times_s), np.array(speed_km_h))


def test_that_speeds_between_points_are_read_off_a_line_and_are_unknown_outside() -> None:
    read = trace([1.0, 3.0], [100.0, 80.0]).at(np.array([0.9, 1.0, 1.5, 3.0, 3.1]))
    np.testing.assert_allclose(read, [np.nan, 100.0, 95.0, 80.0, np.nan])


def test_that_a_steady_trace_keeps_its_speed_to_the_end() -> None:
    steady = SpeedTrace.constant(80.0, 20.0)
    assert steady.at(np.array([0.0, 7.0, 20.0])).tolist() == [80.0, 80.0, 80.0]
    assert not steady.is_falling


@pytest.mark.parametrize(
    ("speeds", "falls"),
    [([100, 60, 30], True), ([100, 60, 60.8], True), ([100, 60, 90], False), ([30, 60, 90], False)],
)
def test_that_falling_allows_the_recorders_jitter_but_no_second_run(
    speeds: list[float], falls: bool
) -> None:
    assert trace([0.0, 10.0, 20.0], speeds).is_falling is falls


def test_that_a_windows_mean_is_its_distance_over_its_time() -> None:
    # By hand: 5 s from 100 to 90 and 5 s at 90 km/h.
    run = trace([0.0, 10.0, 20.0], [110.0, 90.0, 90.0])
    assert run.mean_km_h(5.0, 15.0) == pytest.approx((95.0 * 5 + 90.0 * 5) / 10)
    assert np.isnan(run.mean_km_h(15.0, 25.0))


@pytest.mark.parametrize(
    ("times_s", "speed_km_h", "words"),
    [
        ([0.0, 1.0], [80.0], "as many"),
        ([0.0], [80.0], "fewer than two"),
        ([0.0, 0.0], [80.0, 80.0], "do not increase"),
        ([0.0, 1.0], [80.0, np.nan], "no number"),
        ([0.0, 1.0], [80.0, -1.0], "below zero"),
    ],
)
def test_that_a_trace_that_is_none_is_refused_in_words(
    times_s: list[float], speed_km_h: list[float], words: str
) -> None:
    with pytest.raises(MeasurementError, match=words):
        trace(times_s, speed_km_h)


def test_that_a_noisy_coast_down_still_falls() -> None:
    times_s = np.arange(0, 20, 0.1)
    noise = np.random.default_rng(3).normal(0, 0.8, times_s.size)
    assert SpeedTrace(times_s, 100 - 3 * times_s + noise).is_falling
    assert not SpeedTrace(times_s, 80 + noise).is_falling


def test_that_a_coast_down_with_a_push_in_between_does_not_fall() -> None:
    times_s = np.arange(0, 20, 0.1)
    push = 4 * np.clip(times_s - 10, 0, 2)
    assert not SpeedTrace(times_s, 100 - 2 * times_s + 2 * push).is_falling
