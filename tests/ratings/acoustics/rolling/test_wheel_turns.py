import numpy as np
import pytest
from scipy.integrate import quad

from ratings.acoustics.rolling.wheel_turns import WheelTurns
from ratings.errors import MeasurementError
from ratings.study.speed_trace import SpeedTrace

C_M = 1.927


def test_that_a_steady_wheel_turns_evenly() -> None:
    turns = WheelTurns(SpeedTrace.constant(80.0, 10.0), C_M, 15.0)
    assert turns.total == pytest.approx(80 / 3.6 * 10 / C_M)
    np.testing.assert_allclose(turns.at(np.array([0.0, turns.total / 4])), [0.0, 2.5])


def test_that_the_time_of_a_turn_is_where_the_integral_of_the_speed_reaches_it() -> None:
    # Independent route: numerical integration of the trace.
    times_s = np.array([0.0, 2.0, 5.0, 11.0])
    trace = SpeedTrace(times_s, np.array([100.0, 92.0, 92.0, 41.0]))
    turns = WheelTurns(trace, C_M, 15.0)
    for turn in (3.0, 40.0, 88.8, turns.total):
        end_s = float(turns.at(np.array([turn]))[0])
        gone, _ = quad(lambda t: float(trace.at(np.array([t]))[0]), 0, end_s, points=times_s[1:3])
        assert gone / 3.6 / C_M == pytest.approx(turn, rel=1e-8)


def test_that_the_longest_fast_stretch_is_taken() -> None:
    times_s = np.arange(8.0)
    speeds = np.array([50.0, 50.0, 5.0, 60.0, 58.0, 56.0, 54.0, 3.0])
    turns = WheelTurns(SpeedTrace(times_s, speeds), C_M, 15.0)
    assert turns.at(np.array([0.0, turns.total])).tolist() == pytest.approx([3.0, 6.0])
    assert turns.slowest_per_s == pytest.approx(54 / 3.6 / C_M)


def test_that_a_car_that_stands_has_no_orders() -> None:
    with pytest.raises(MeasurementError, match="never stays at"):
        WheelTurns(SpeedTrace.constant(3.0, 10.0), C_M, 15.0)
