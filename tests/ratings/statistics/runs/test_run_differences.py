"""Scatter of runs and differences of sets, against SciPy and a published example."""

import math

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.runs.run_spread import pooled_sd, run_spread
from ratings.statistics.runs.set_difference import set_difference

# JCGM 100:2008, annex H.2, table H.2: five sets of simultaneous readings (from memory).
VOLTAGE_V = np.array([5.007, 4.994, 5.005, 4.990, 4.999])


def test_that_the_mean_of_the_guides_readings_has_the_guides_standard_error():
    spread = run_spread(VOLTAGE_V)
    assert float(spread.mean) == pytest.approx(4.9990, abs=5e-5)
    assert float(spread.standard_error) == pytest.approx(0.0032, abs=5e-5)


# JCGM 100:2008, 4.4.3, table 1: twenty readings of a temperature in degrees Celsius (from memory).
TEMPERATURES = np.array(
    [
        *(96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07),
        *(100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72),
    ]
)


def test_that_the_guides_temperatures_have_the_guides_scatter():
    spread = run_spread(TEMPERATURES)
    assert float(spread.mean) == pytest.approx(100.145, abs=5e-4)
    assert float(spread.sd) == pytest.approx(1.489, abs=5e-4)
    assert float(spread.standard_error) == pytest.approx(0.333, abs=5e-4)


def test_that_the_interval_of_a_mean_is_scipys():
    values = np.random.default_rng(1).normal(60, 1, (4, 7))
    spread = run_spread(values)
    for figure in range(7):
        interval = stats.ttest_1samp(values[:, figure], 0).confidence_interval(0.95)
        assert float(spread.lower[figure]) == pytest.approx(interval.low, rel=1e-9)
        assert float(spread.upper[figure]) == pytest.approx(interval.high, rel=1e-9)


def test_that_missing_runs_are_passed_over_and_a_single_one_has_no_interval():
    values = np.array([[60.0, 50.0, np.nan], [61.0, -np.inf, np.nan], [62.0, np.nan, np.nan]])
    spread = run_spread(values)
    assert spread.runs.tolist() == [3, 1, 0]
    np.testing.assert_allclose(spread.mean, [61, 50, np.nan])
    np.testing.assert_allclose(spread.sd, [1, np.nan, np.nan])
    assert np.isnan(spread.lower).tolist() == [False, True, True]
    assert spread.reason == "A single run has no scatter: repeat it."


@pytest.mark.parametrize("runs", [(3, 3), (2, 6), (5, 3)])
def test_that_differences_and_intervals_are_welchs_by_scipy(runs):
    rng = np.random.default_rng(4)
    candidate, control = rng.normal(62, 0.3, (runs[0], 5)), rng.normal(61, 0.8, (runs[1], 5))
    found = set_difference(candidate, control)
    test = stats.ttest_ind(candidate, control, equal_var=False)
    interval = test.confidence_interval(0.95)
    np.testing.assert_allclose(found.difference, candidate.mean(axis=0) - control.mean(axis=0))
    np.testing.assert_allclose(found.df, test.df, rtol=1e-9)
    np.testing.assert_allclose(found.lower, interval.low, rtol=1e-9)
    np.testing.assert_allclose(found.upper, interval.high, rtol=1e-9)
    assert found.is_clear.tolist() == (test.pvalue < 0.05).tolist()


def test_that_scatter_pooled_over_two_sets_gives_students_interval_by_scipy():
    rng = np.random.default_rng(4)
    candidate, control = rng.normal(62, 0.5, (3, 5)), rng.normal(61, 0.5, (4, 5))
    sd, df = pooled_sd(candidate, control)
    found = set_difference(candidate, control, pooled_sd=sd, df=df)
    interval = stats.ttest_ind(candidate, control).confidence_interval(0.95)
    np.testing.assert_allclose(found.lower, interval.low, rtol=1e-9)
    np.testing.assert_allclose(found.upper, interval.high, rtol=1e-9)


def test_that_pooling_is_the_residual_of_an_analysis_of_variance():
    rng = np.random.default_rng(6)
    sets = [rng.normal(60 + shift, 0.5, 3) for shift in range(5)]
    sd, df = pooled_sd(*sets)
    f = stats.f_oneway(*sets).statistic
    between = 3 * np.var([each.mean() for each in sets], ddof=1)
    assert float(df) == 10
    assert float(sd) ** 2 == pytest.approx(between / f, rel=1e-9)


def test_that_a_single_run_has_a_difference_but_no_interval_unless_scatter_is_given():
    candidate, control = np.array([62.0]), np.array([60.0, 60.4, 59.6])
    alone = set_difference(candidate, control)
    assert float(alone.difference) == pytest.approx(2.0)
    assert math.isnan(float(alone.lower))
    assert not bool(alone.is_clear)
    assert "A single run on one side" in alone.reason
    helped = set_difference(candidate, control, pooled_sd=0.4, df=8)
    reach = 2.306004 * 0.4 * math.sqrt(1 + 1 / 3)  # t(0.975, 8) from printed tables: 2.306
    assert float(helped.upper) == pytest.approx(2.0 + reach, rel=1e-6)
    assert helped.reason == ""


def test_that_equal_runs_are_no_proof_of_no_scatter():
    found = set_difference(np.array([62.0, 62.0]), np.array([60.0, 60.0]))
    assert math.isnan(float(found.lower))
    assert found.reason == "The runs do not differ at all, so their scatter is not known."


def test_that_the_smallest_difference_is_seen_about_as_often_as_the_power_says():
    runs, sd, power = 5, 0.5, 0.8
    rng = np.random.default_rng(9)
    seen = set_difference(
        np.zeros(runs), np.zeros(runs), pooled_sd=sd, df=2 * (runs - 1), power=power
    ).smallest_detectable
    candidate = rng.normal(float(seen), sd, (runs, 20_000))
    control = rng.normal(0.0, sd, (runs, 20_000))
    pooled, df = pooled_sd(candidate, control)
    share = set_difference(candidate, control, pooled_sd=pooled, df=df).is_clear.mean()
    assert share == pytest.approx(power, abs=0.03)


def test_that_95_percent_intervals_hold_the_truth_95_times_of_100():
    rng = np.random.default_rng(10)
    candidate, control = rng.normal(1.0, 0.5, (3, 20_000)), rng.normal(0.0, 0.5, (3, 20_000))
    found = set_difference(candidate, control)
    inside = (found.lower <= 1.0) & (found.upper >= 1.0)
    # Welch's approximation is a little wide for three runs a side.
    assert 0.945 <= inside.mean() <= 0.975
