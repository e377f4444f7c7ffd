"""Limits of agreement against the published meters, R and SciPy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from ratings.statistics.agreement.limits_of_agreement import limits_of_agreement

quarter_points = st.integers(4, 40).map(lambda quarters: quarters / 4)


def test_that_the_published_meters_come_out_as_in_r_and_in_print(reference):
    case = reference("limits_of_agreement")
    found = limits_of_agreement(*np.array(case["rows"], dtype=float).T)
    for name, value in case["expected"].items():
        assert getattr(found, name) == pytest.approx(value, rel=1e-9), name
    for name, (value, decimals) in case["printed"].items():
        assert round(getattr(found, name), decimals) == value, name


@given(arrays(np.float64, (2, 9), elements=quarter_points))
@settings(max_examples=50, deadline=None)
def test_that_correlations_equal_scipy_with_ties(scores):
    found = limits_of_agreement(*scores)
    if np.ptp(scores, axis=1).min() == 0:
        assert found.pearson is None
        assert found.tau_b is None
        return
    assert found.pearson == pytest.approx(stats.pearsonr(*scores).statistic, abs=1e-9)
    assert found.spearman == pytest.approx(stats.spearmanr(*scores).statistic, abs=1e-9)
    assert found.tau_b == pytest.approx(stats.kendalltau(*scores).statistic, abs=1e-9)
    ends = stats.ttest_rel(*scores).confidence_interval() if np.ptp(scores[0] - scores[1]) else None
    if ends:
        assert [found.bias_lower, found.bias_upper] == pytest.approx([ends.low, ends.high])


def test_that_holes_are_passed_over_and_too_little_is_told():
    found = limits_of_agreement(np.array([5, 6, np.nan, 7]), np.array([5.5, np.nan, 6, 7.5]))
    assert (found.pairs, found.bias, found.sd) == (2, -0.5, 0.0)
    assert limits_of_agreement(np.array([5.0]), np.array([6.0])).bias is None


def test_that_equal_numbers_concord_and_a_shift_lowers_it():
    scores = np.array([4.0, 5.5, 7.0, 8.0])
    assert limits_of_agreement(scores, scores).concordance == pytest.approx(1)
    shifted = limits_of_agreement(scores, scores + 1)
    assert shifted.pearson == pytest.approx(1)
    assert shifted.concordance < 0.9
