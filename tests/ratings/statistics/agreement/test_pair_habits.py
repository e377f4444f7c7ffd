"""Errors on hidden pairs and the side bias."""

import numpy as np
import pytest
import statsmodels.api as sm

from ratings.statistics.agreement.pair_habits import (
    null_pair_error,
    repeat_pair_error,
    side_bias,
    side_test,
)


def test_that_the_null_pair_error_is_the_mean_distance_between_identical_clips():
    found = null_pair_error(np.array([0.5, -1.0, 0.0]), np.array([0, 0, 1]), 3)
    assert found[:2] == pytest.approx([0.75, 0.0])
    assert np.isnan(found[2])


def test_that_a_change_of_level_between_pair_and_repeat_is_no_error():
    # 8 against 6, then 7 against 5: the verdict on the pair is the same.
    found = repeat_pair_error(np.array([8.0 - 6.0]), np.array([7.0 - 5.0]), np.array([0]), 1)
    assert found == pytest.approx([0.0])


def test_that_the_repeat_error_is_how_far_the_difference_moved():
    found = repeat_pair_error(np.array([2.0, 1.0]), np.array([1.0, 1.5]), np.array([0, 0]), 1)
    assert found == pytest.approx([0.75])


def test_that_side_bias_takes_off_what_the_sets_explain():
    a_minus_b = np.array([2.5, -1.5, 0.5])
    expected = np.array([2.0, -2.0, 0.0])
    assert side_bias(a_minus_b, expected, np.array([0, 0, 0]), 1) == pytest.approx([0.5])


def test_that_pairs_with_a_missing_side_are_passed_over():
    found = null_pair_error(np.array([np.nan, 1.0]), np.array([0, 0]), 1)
    assert found == pytest.approx([1.0])


def test_that_the_side_is_tested_as_in_a_linear_model():
    rng = np.random.default_rng(8)
    set_a, set_b = (
        np.array([0, 1, 0, 2, 3, 0, 0, 2, 1, 0]),
        np.array([1, 0, 2, 0, 0, 3, 0, 0, 0, 3]),
    )
    a_minus_b = rng.normal(0.7, 1.0, set_a.size)
    found = side_test(a_minus_b, set_a, set_b, np.zeros(set_a.size, dtype=int), 2, 0.0)
    sets = np.array([(set_a == each).astype(float) - (set_b == each) for each in (1, 2, 3)]).T
    fit = sm.OLS(a_minus_b, sm.add_constant(sets)).fit()
    assert found.bias[0] == pytest.approx(fit.params[0])
    assert found.p[0] == pytest.approx(fit.pvalues[0])
    assert found.pairs.tolist() == [10, 0]
    assert np.isnan(found.p[1])


def test_that_a_control_always_on_one_side_tells_nothing_of_the_side():
    set_b = np.array([1, 2, 3] * 4)
    found = side_test(np.full(12, 2.0), np.zeros(12, dtype=int), set_b, np.zeros(12, int), 1, 0.25)
    assert np.isnan(found.p).all()
    assert np.isnan(found.bias).all()


def test_that_a_side_bias_without_scatter_is_no_certainty_beyond_the_steps():
    set_a, set_b = np.array([0, 1] * 4), np.array([1, 0] * 4)
    found = side_test(np.full(8, 0.1), set_a, set_b, np.zeros(8, dtype=int), 1, 0.25)
    assert found.bias[0] == pytest.approx(0.1)
    assert found.p[0] > 0.2
