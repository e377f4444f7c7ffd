"""Spread of runs and the difference of sets, against SciPy and textbook figures."""

import math

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.runs.run_spread import pooled_spread, run_spread
from ratings.statistics.runs.set_difference import set_difference

CANDIDATE, CONTROL = [62.1, 61.7, 62.4], [65.0, 65.9, 65.4, 64.8]


def test_that_the_interval_of_a_mean_is_student_s() -> None:
    spread = run_spread(CONTROL)
    expected = stats.t.interval(
        0.95, 3, loc=np.mean(CONTROL), scale=np.std(CONTROL, ddof=1) / math.sqrt(4)
    )
    assert (spread.low, spread.high) == pytest.approx(expected)
    assert (spread.n, spread.sd) == (4, pytest.approx(np.std(CONTROL, ddof=1)))


def test_that_the_mean_of_a_table_of_the_gum_has_its_uncertainty() -> None:
    # JCGM 100:2008, 4.4.3 and table 1: 20 readings of a temperature, mean 100.145 C, standard
    # deviation 1.489 C, of the mean 0.333 C (from memory; checked by adding them up here).
    readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]  # fmt: skip
    spread = run_spread(readings)
    assert spread.mean == pytest.approx(100.145, abs=0.0005)
    assert spread.sd == pytest.approx(1.489, abs=0.0005)
    assert spread.sd / math.sqrt(20) == pytest.approx(0.333, abs=0.0005)


def test_that_two_sets_compare_as_welch_s_test_of_scipy_does() -> None:
    found = set_difference(CANDIDATE, CONTROL)
    expected = stats.ttest_ind(CANDIDATE, CONTROL, equal_var=False)
    interval = expected.confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high))
    assert found.p == pytest.approx(expected.pvalue)
    assert found.df == pytest.approx(expected.df)


def test_that_a_spread_pooled_over_the_two_sets_gives_the_pooled_test_of_scipy() -> None:
    pooled = pooled_spread([CANDIDATE, CONTROL])
    found = set_difference(CANDIDATE, CONTROL, pooled.sd, pooled.df)
    expected = stats.ttest_ind(CANDIDATE, CONTROL)
    assert found.p == pytest.approx(expected.pvalue)
    assert found.df == 5


def test_that_a_pooled_spread_gives_a_single_run_an_interval() -> None:
    pooled = pooled_spread([CONTROL, [60.0, 60.4, 60.1], [61.0]])
    assert pooled.df == 5
    found = set_difference([61.0], CONTROL, pooled.sd, pooled.df)
    assert found.half_width == pytest.approx(stats.t.ppf(0.975, 5) * pooled.sd * math.sqrt(1.25))


def test_that_one_run_has_no_interval_and_says_why() -> None:
    found = set_difference([61.0], CONTROL)
    assert found.difference == pytest.approx(61.0 - np.mean(CONTROL))
    assert found.low is None
    assert "one run" in found.reason


@pytest.mark.parametrize(("ours", "theirs"), [([], CONTROL), (CANDIDATE, [-math.inf])])
def test_that_a_set_without_a_run_has_no_difference(ours, theirs) -> None:
    found = set_difference(ours, theirs)
    assert found.difference is None
    assert "no run" in found.reason


def test_that_runs_exactly_alike_claim_nothing() -> None:
    found = set_difference([60.0, 60.0], [61.0, 61.0])
    assert (found.difference, found.p) == (-1.0, None)
    assert "alike" in found.reason


def test_that_nothing_repeated_has_no_pooled_spread() -> None:
    assert pooled_spread([[61.0], [62.0]]).sd is None


def test_that_intervals_hold_the_truth_as_often_as_they_say() -> None:
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(2000):
        groups = rng.normal(0, 0.4, size=(5, 3))
        pooled = pooled_spread(list(groups))
        found = set_difference(groups[0], groups[1], pooled.sd, pooled.df)
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 0 <= found.high
    # Binomial standard error 0.5 %.
    assert held / 2000 == pytest.approx(0.95, abs=0.015)
