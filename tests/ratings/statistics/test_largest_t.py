"""Dunnett's adjustment against tables, R and SciPy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from ratings.statistics.largest_t import dunnett_critical, dunnett_p


def halves(number):
    return np.full((number, number), 0.5) + 0.5 * np.eye(number)


def test_that_critical_values_and_p_equal_the_table_and_r(reference):
    case = reference("dunnett")
    for row in case["critical"]:
        number = row["comparisons"]
        found = dunnett_critical(halves(number), np.full(number, row["df"]))
        np.testing.assert_allclose(found, row["critical"], atol=1e-3)
    for row in case["printed_2_decimals"]:
        number = row["comparisons"]
        found = dunnett_critical(halves(number), np.full(number, row["df"]))[0]
        assert round(float(found), 2) == row["critical"]
    for row in case["adjusted_p_2_comparisons_14_df"]:
        found = dunnett_p(np.array([row["t"], 0.0]), halves(2), np.array([14.0, 14.0]))
        assert found[0] == pytest.approx(row["p"], abs=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("number", [3, 5, 8])
def test_that_any_correlation_agrees_with_the_multivariate_t(number):
    generator = np.random.default_rng(number)
    loadings = generator.normal(0.7, 0.5, (number, 3))
    covariance = loadings @ loadings.T + np.diag(generator.uniform(0.5, 2, number))
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread)
    t = np.linspace(0.7, 3.0, number)
    ours = dunnett_p(t, correlation, np.full(number, 9.0))
    for value, p in list(zip(t, ours, strict=True))[::2]:
        bounds = np.full(number, value)
        theirs = stats.multivariate_t(np.zeros(number), correlation, df=9).cdf(
            bounds, lower_limit=-bounds, maxpts=40_000, random_state=1
        )
        assert p == pytest.approx(1 - theirs, abs=1e-3)
    critical = dunnett_critical(correlation, np.full(number, 9.0))
    assert dunnett_p(critical, correlation, np.full(number, 9.0))[0] == pytest.approx(
        0.05, abs=2e-4
    )


def test_that_every_comparison_keeps_its_own_degrees_of_freedom():
    df = np.array([6.0, 7.5, 30.0])
    together = dunnett_p(np.full(3, 2.4), halves(3), df)
    alone = [dunnett_p(np.full(3, 2.4), halves(3), np.full(3, d))[0] for d in df]
    np.testing.assert_allclose(together, alone, atol=1e-12)
    critical = dunnett_critical(halves(3), df)
    np.testing.assert_allclose(dunnett_p(critical, halves(3), df), 0.05, atol=2e-4)


@given(t=st.floats(0, 8), df=st.floats(1, 500))
def test_that_one_comparison_is_student_s_t(t, df):
    found = dunnett_p(np.array([t]), np.eye(1), np.array([df]))[0]
    assert found == pytest.approx(2 * stats.t.sf(t, df), abs=1e-7)


@given(t=st.floats(0, 6), number=st.integers(2, 9), df=st.floats(2, 200))
def test_that_adjusting_lies_between_one_comparison_and_bonferroni(t, number, df):
    found = dunnett_p(np.full(number, t), halves(number), np.full(number, df))[0]
    one = 2 * stats.t.sf(t, df)
    assert one - 1e-7 <= found <= min(1.0, number * one) + 1e-7


@pytest.mark.parametrize("df", [(1.0, 4.0, 30.0), (1, 1.3, 2, 4, 7, 30, math.inf), (2, 2.0001)])
def test_that_each_critical_value_belongs_to_its_own_degrees_of_freedom(df):
    correlation = np.full((len(df), len(df)), 0.5) + 0.5 * np.eye(len(df))
    critical = dunnett_critical(correlation, np.array(df))
    assert dunnett_p(critical, correlation, np.array(df)) == pytest.approx(0.05, abs=2e-3)


def test_that_comparisons_that_go_together_entirely_are_adjusted_as_one():
    correlation = np.array([[1.0, 1.0, 0.3], [1.0, 1.0, 0.3], [0.3, 0.3, 1.0]])
    together = dunnett_p(np.full(3, 2.5), correlation, np.full(3, 8.0))
    two = dunnett_p(np.full(2, 2.5), correlation[1:, 1:], np.full(2, 8.0))
    assert together[0] == pytest.approx(two[0], abs=2e-3)


def test_that_one_comparison_is_student_s_own():
    assert dunnett_p(np.array([2.0]), np.eye(1), np.array([3.0]))[0] == pytest.approx(
        0.13932596855884, abs=1e-12
    )
    assert dunnett_critical(np.eye(1), np.array([3.0]))[0] == pytest.approx(3.182446305, abs=1e-8)


@pytest.mark.parametrize("count", [2, 3])
def test_that_comparisons_that_are_one_and_the_same_need_no_adjusting(count):
    alike, df = np.ones((count, count)), np.full(count, 7.0)
    t = np.linspace(0.5, 3.0, count)
    assert dunnett_p(t, alike, df) == pytest.approx(2 * stats.t.sf(t, 7))
    assert dunnett_critical(alike, df) == pytest.approx(stats.t.ppf(0.975, 7))
