"""The interval of a share of decisions, beside scipy's exact limits."""

import math

import pytest
from scipy import stats

from ratings.statistics.preference.decision_share import share_interval, unanimous_share


def test_that_independent_choices_have_the_exact_binomial_interval():
    error = (10 * 0.9 * 0.1) ** -0.5
    expected = stats.binomtest(9, 10).proportion_ci(0.95, "exact")
    assert share_interval(math.log(9), error, 10, 10) == pytest.approx(tuple(expected))


def test_that_choices_of_few_evaluators_are_worth_fewer():
    error = (100 * 0.9 * 0.1) ** -0.5
    narrow, wide = (share_interval(math.log(9), error, each, 100) for each in (100, 4))
    assert wide[0] < narrow[0] < 0.9 < narrow[1] < wide[1]


def test_that_evaluators_without_exception_have_the_exact_one_sided_limit():
    expected = stats.binomtest(8, 8, alternative="greater").proportion_ci(0.95, "exact").low
    assert unanimous_share(8) == pytest.approx(expected)
