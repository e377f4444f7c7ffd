"""Errors on hidden pairs and the side bias."""

import numpy as np
import pytest

from ratings.statistics.agreement.pair_habits import null_pair_error, repeat_pair_error, side_bias


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
