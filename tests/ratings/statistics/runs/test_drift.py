"""Control drift: days whose drift is known, and what a correction may and may not do."""

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.runs.drift import control_drift, correct_for_drift

HOURS = np.array([0.0, 1.0, 2.5, 4.0])


def test_that_one_judge_gives_the_slope_of_a_plain_regression():
    scores = np.array([7.0, 6.75, 6.5, 5.75])
    found = control_drift(HOURS, scores)
    fitted = stats.linregress(HOURS, scores)
    reach = stats.t.ppf(0.975, 2) * fitted.stderr
    assert found.slope == pytest.approx(fitted.slope)
    assert [found.slope_lower, found.slope_upper] == pytest.approx(
        [fitted.slope - reach, fitted.slope + reach]
    )
    assert found.jumps.tolist() == [-0.25, -0.25, -0.75]
    assert (found.largest_jump, found.jump_after, found.range) == (-0.75, 2, 1.25)
    assert found.is_suspect


def test_that_the_levels_of_evaluators_and_a_missing_run_make_no_jump():
    own = np.array([[-1.0], [0.0], [2.0]])
    scores = own + np.full((3, 4), 6.0)
    scores[2, 1] = np.nan
    found = control_drift(HOURS, scores)
    assert np.ptp(found.levels) == pytest.approx(0)
    assert not found.is_suspect
    assert found.slope == 0
    assert found.slope_lower is None


def test_that_runs_are_taken_in_the_order_of_time():
    turned = control_drift(HOURS[::-1], np.array([5.0, 6.0, 6.0, 7.0]))
    assert turned.jumps.tolist() == [-1, 0, -1]
    assert turned.jump_after == 3


def test_that_half_a_point_is_still_within_the_limit():
    assert not control_drift(HOURS, np.array([7.0, 7.0, 6.5, 6.5])).is_suspect
    assert control_drift(HOURS, np.array([7.0, 7.0, 6.25, 6.5])).is_suspect


def test_that_one_run_or_none_is_told_in_words():
    one = control_drift(HOURS[:1], np.array([7.0]))
    assert (one.runs, one.slope, one.largest_jump) == (1, None, None)
    assert one.reason
    none = control_drift(HOURS, np.full(4, np.nan))
    assert (none.runs, none.range, none.is_suspect) == (0, None, False)
    assert correct_for_drift(HOURS, HOURS, HOURS, none.levels) is None


@pytest.mark.parametrize("refer_to", ["first run", "grand mean"])
def test_that_a_straight_drift_is_taken_off_whole(refer_to):
    time = np.linspace(0, 4, 9)
    true = np.array([6.0, 7, 5, 8, 6, 7, 5, 8, 6])
    levels = 7 - 0.3 * HOURS
    found = correct_for_drift(time, true - 0.3 * time, HOURS, levels, refer_to)
    expected = true if refer_to == "first run" else true - 0.3 * HOURS.mean()
    np.testing.assert_allclose(found.corrected, expected, atol=1e-12)
    np.testing.assert_allclose(found.raw, true - 0.3 * time)
    np.testing.assert_allclose(found.corrected - found.raw, found.correction)
    assert not found.outside.any()


def test_that_the_control_itself_comes_out_level():
    levels = np.array([7.0, 6.5, 6.75, 6.0])
    found = correct_for_drift(HOURS, levels, HOURS, levels)
    np.testing.assert_allclose(found.corrected, levels.mean())


def test_that_nothing_is_extrapolated_and_what_lies_outside_is_marked():
    found = correct_for_drift(
        np.array([-1.0, 2.0, 9.0]), np.array([5.0, np.nan, 5.0]), HOURS, 7 - HOURS / 2, "first run"
    )
    assert found.outside.tolist() == [True, False, True]
    assert found.corrected[[0, 2]].tolist() == [5, 7]
    assert np.isnan(found.corrected[1])


def test_that_two_runs_at_one_time_count_as_their_mean():
    found = correct_for_drift(
        np.array([0.0]), np.array([5.0]), np.array([0.0, 0, 2]), np.array([6.0, 7, 8]), "first run"
    )
    assert found.correction.tolist() == [0]
