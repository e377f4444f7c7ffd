"""Each evaluator beside the median of the others."""

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.agreement.kendall import friedman_test
from ratings.statistics.agreement.profile_agreement import (
    median_of_others,
    profile_agreement,
    separation_p,
    without_levels,
)
from ratings.statistics.missing import median_of_known


@pytest.mark.parametrize("gone", [0.0, 0.4])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_that_the_median_is_that_of_numpy(gone, axis):
    rng = np.random.default_rng(1)
    values = rng.normal(size=(4, 5, 7))
    values[rng.random(values.shape) < gone] = np.nan
    known = (~np.isnan(values)).any(axis=axis)
    expected = np.nanmedian(np.where(known[..., None], np.moveaxis(values, axis, -1), 0.0), axis=-1)
    found = median_of_known(values, axis)
    np.testing.assert_array_equal(found[known], expected[known])
    assert np.isnan(found[~known]).all()


def test_that_a_median_of_nothing_is_unknown():
    values = np.array([[np.nan, np.nan], [1.0, np.nan]])
    np.testing.assert_array_equal(median_of_known(values, 1), [np.nan, 1.0])
    assert np.isnan(median_of_known(np.zeros((2, 0)), 1)).all()


def test_that_the_others_are_everybody_else():
    values = np.random.default_rng(2).normal(size=(1, 5, 3))
    found, number = median_of_others(values)
    np.testing.assert_allclose(found[0, 2], np.median(values[0, [0, 1, 3, 4]], axis=0))
    assert (number == 4).all()


def test_that_levels_are_swept_out_of_tables_with_holes_too():
    sets, levels = np.array([5.0, 6.5, 7.0, 8.0]), np.array([-1.0, 0.0, 2.0, 0.5, 0.0])
    scores = (levels[:, None] + sets)[None]
    scores[0, 0, :2] = scores[0, 3, 2] = np.nan
    swept = without_levels(scores)
    for row in swept[0]:
        known = ~np.isnan(row)
        np.testing.assert_allclose(row[known] - row[known][0], sets[known] - sets[known][0])
        np.testing.assert_allclose(row[known], swept[0, 1][known], atol=1e-9)


def test_that_the_residual_is_that_of_a_straight_line_on_the_others():
    scores = np.random.default_rng(3).normal(6, 1, (1, 6, 5))
    found = profile_agreement(scores)
    left, df = found.residual_square()
    line = stats.linregress(found.profile[0, 2], found.own[0, 2])
    own = found.own[0, 2] - line.intercept - line.slope * found.profile[0, 2]
    assert left[0, 2] == pytest.approx(np.square(own).sum())
    assert df[0, 2] == 3


def test_that_the_others_separate_the_sets_by_friedman_s_test():
    scores = np.round(np.random.default_rng(5).normal(6, 1, (2, 6, 5)) * 2) / 2
    found = separation_p(scores)
    for attribute, evaluator in np.ndindex(2, 6):
        others = np.delete(scores[attribute], evaluator, axis=0)
        assert found[attribute, evaluator] == pytest.approx(friedman_test(others).p_f)
    scores[0, 1] = np.nan
    assert separation_p(scores)[0, 0] == pytest.approx(friedman_test(scores[0, 2:]).p_f)
    assert np.isnan(separation_p(np.full((1, 4, 3), 7.0))).all()


def test_that_one_missing_score_hides_no_separation():
    scores = np.tile([5.0, 6.0, 7.0, 8.0], (1, 6, 1))
    scores[0, 0, 0] = scores[0, 3, 2] = np.nan
    assert (separation_p(scores) < 1e-4).all()
