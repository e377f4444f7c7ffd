"""Panel sizes and power against R, statsmodels and simulated panels."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats
from statsmodels.stats.power import TTestPower

from ratings.statistics.agreement.icc import icc_precision, intraclass_correlations
from ratings.statistics.planning.paired_power import (
    detectable_difference,
    evaluators_needed,
    evaluators_needed_exactly,
    fewest_for_an_exact_test,
    paired_power,
    power_of_t,
)


def test_that_panels_and_power_equal_r(reference):
    case = reference("paired_power")
    for difference, power, alpha, evaluators, exact in case["panels"]:
        assert evaluators_needed(difference, 1.0, power, alpha) == evaluators
        # R's root finder stops at 1e-4.
        assert evaluators_needed_exactly(difference, 1.0, power, alpha) == pytest.approx(
            exact, abs=1e-4
        )
    for evaluators, difference, power in case["power"]:
        assert paired_power(difference, 1.0, evaluators) == pytest.approx(power, abs=1e-8)
    for difference, evaluators in case["printed"]:
        assert evaluators_needed(difference, 1.0) == evaluators


def test_that_half_a_point_takes_10_20_or_34_evaluators():
    assert [evaluators_needed(0.5, sd) for sd in (0.5, 0.75, 1.0)] == [10, 20, 34]


# Beyond, statsmodels' chance of a find on the wrong side is not a number.
@given(st.integers(2, 60), st.floats(0.05, 0.75), st.sampled_from([0.01, 0.05, 0.1]))
@settings(max_examples=50, deadline=None)
def test_that_power_equals_statsmodels(evaluators, difference, alpha):
    theirs = TTestPower().power(difference, evaluators, alpha)
    assert paired_power(difference, 1.0, evaluators, alpha) == pytest.approx(theirs, abs=1e-8)


@pytest.mark.parametrize(
    ("evaluators", "difference"), [(2, 8.0), (2, 30.0), (3, 4.0), (5, 2.0), (4, 25.0)]
)
def test_that_power_of_large_differences_equals_an_integral(evaluators, difference):
    # Over the standard deviation found, of the chance that the mean lies outside it.
    df, shift = evaluators - 1, difference * math.sqrt(evaluators)
    critical = stats.t.ppf(0.975, df)

    def outside(chi_square):
        reach = critical * math.sqrt(chi_square / df)
        beyond = stats.norm.sf(reach - shift) + stats.norm.cdf(-reach - shift)
        return beyond * stats.chi2.pdf(chi_square, df)

    expected = integrate.quad(outside, 0, 200, points=[df * (shift / critical) ** 2], limit=500)[0]
    assert paired_power(difference, 1.0, evaluators) == pytest.approx(expected, abs=1e-6)


@given(st.integers(3, 60), st.floats(0.3, 2.0))
@settings(max_examples=30, deadline=None)
def test_that_the_detectable_difference_is_found_with_its_chance(evaluators, sd):
    found = detectable_difference(sd, evaluators)
    assert paired_power(found, sd, evaluators) == pytest.approx(0.8, abs=1e-6)


@pytest.mark.parametrize("number", [4, 10, 34])
def test_that_the_detectable_difference_has_the_power_of_statsmodels(number):
    found = detectable_difference(1.0, number)
    power = TTestPower().power(found, number, 0.05, alternative="two-sided")
    assert power == pytest.approx(0.8, abs=1e-4)


@pytest.mark.parametrize(("df", "shift", "critical"), [(63, 5.33, 5.2), (5, 2.0, 9.0), (2, 6, 60)])
def test_that_critical_values_of_many_comparisons_have_a_power(df, shift, critical):
    # scipy's noncentral t is not a number on the far side of some of these.
    expected = stats.nct.sf(critical, df, shift)
    assert power_of_t(shift, df, critical) == pytest.approx(expected, abs=1e-6)


def test_that_a_simulated_panel_finds_the_difference_as_often_as_said():
    # Seeded; 8 evaluators, half a point, SD 0.75, 10 000 panels: error 0.5 %.
    rng = np.random.default_rng(11)
    differences = rng.normal(0.5, 0.75, (10_000, 8))
    found = stats.ttest_1samp(differences, 0, axis=1).pvalue < 0.05
    assert found.mean() == pytest.approx(paired_power(0.5, 0.75, 8), abs=0.015)


def test_that_what_has_no_answer_is_not_a_number_or_none():
    assert math.isnan(paired_power(0.5, 0.0, 8))
    assert math.isnan(paired_power(0.5, 1.0, 1))
    assert evaluators_needed(0.0, 1.0) is None
    assert evaluators_needed(0.0001, 1.0) is None
    assert detectable_difference(1.0, 1) is None
    assert paired_power(100.0, 0.1, 5) == 1.0


def test_that_six_evaluators_are_the_fewest_for_an_exact_test():
    assert fewest_for_an_exact_test() == 6
    same_way = np.arange(1.0, 7.0)
    assert stats.wilcoxon(same_way).pvalue < 0.05 < stats.wilcoxon(same_way[:5]).pvalue


def test_that_the_interval_to_expect_is_the_one_a_table_gives():
    rng = np.random.default_rng(5)
    scores = rng.normal(6, 1, 7) + rng.normal(0, 0.6, (5, 7))
    one, mean = (intraclass_correlations(scores).form(f"ICC(C,{form})") for form in "1k")
    found = icc_precision(one.value, 7, 5)
    assert [found.lower, found.upper] == pytest.approx([one.lower, one.upper])
    assert [found.mean_value, found.mean_lower, found.mean_upper] == pytest.approx(
        [mean.value, mean.lower, mean.upper]
    )


def test_that_no_interval_is_given_where_there_is_none():
    assert icc_precision(1.0, 6, 8) is None
    assert icc_precision(0.5, 1, 8) is None


def test_that_a_large_difference_needs_no_fewer_than_its_power_says():
    # Noncentral t of scipy: 3 evaluators have 0.66 here, 4 have 0.93.
    assert evaluators_needed(1.0, 0.375) == 4
    for sd in (0.2, 0.3, 0.375, 0.5, 0.9):
        needed = evaluators_needed(1.0, sd)
        assert paired_power(1.0, sd, needed) >= 0.8
        assert needed == 2 or paired_power(1.0, sd, needed - 1) < 0.8
