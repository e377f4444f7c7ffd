import numpy as np
import pytest

from ratings.synthesis.sketch import SketchError
from ratings.synthesis.speed import (
    coast_down_speed_km_h,
    distance_m,
    per_sample,
    steady_speed_km_h,
)


def test_that_a_coast_down_falls_all_the_way_from_start_to_end() -> None:
    trace = coast_down_speed_km_h(80.0, 40.0, 12.0)
    assert trace.size == 1201
    assert trace[0] == pytest.approx(80.0)
    assert trace[-1] == pytest.approx(40.0)
    assert (np.diff(trace) < 0).all()


def test_that_a_coast_down_slows_faster_at_speed() -> None:
    # dv/dt proportional to 1 + (v/90)^2, checked by differences instead of the closed form.
    trace = coast_down_speed_km_h(80.0, 40.0, 12.0)
    slowing = -np.gradient(trace, 0.01)[1:-1]
    assert slowing / (1 + (trace[1:-1] / 90.0) ** 2) == pytest.approx(
        np.full(trace.size - 2, slowing[0] / (1 + (trace[1] / 90.0) ** 2)), rel=1e-4
    )


def test_that_a_steady_speed_stays_within_the_trades_one_km_h() -> None:
    trace = steady_speed_km_h(80.0, 10.0, np.random.default_rng(1))
    assert np.abs(trace - 80.0).max() < 1.0
    assert trace.std() > 0.02


def test_that_ten_seconds_at_36_km_h_are_a_hundred_metres() -> None:
    speed = per_sample(np.full(1001, 36.0), 8000)
    assert speed.size == 80_000
    travelled = distance_m(speed, 8000)
    assert travelled[0] == 0.0
    assert travelled[-1] + 10.0 / 8000 == pytest.approx(100.0)


def test_that_a_trace_without_length_is_refused() -> None:
    with pytest.raises(SketchError, match="too short"):
        coast_down_speed_km_h(80.0, 40.0, 0.0)
