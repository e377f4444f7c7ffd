"""The chance of the verdict's claim, beside R's power, the multivariate t and drawn panels."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from ratings.statistics.cells import Cells
from ratings.statistics.distributions import t_quantile
from ratings.statistics.largest_t import dunnett_critical
from ratings.statistics.mixed_models.balanced_tests import balanced_contrasts
from ratings.statistics.planning.claim_power import (
    claim_critical,
    claim_df,
    claim_power,
    claimable_difference,
    evaluators_to_claim,
    reliable_difference,
)
from ratings.statistics.planning.paired_power import evaluators_needed, paired_power, power_of_t


def drawn_cells(rng, evaluators, candidates, sd=1.0, difference=0.0):
    """Differences within pairs that share one half, as of one control; the first set differs."""
    own = rng.normal(0, sd * math.sqrt(0.5), (evaluators, candidates, 1))
    control = rng.normal(0, sd * math.sqrt(0.5), (evaluators, 1, 1))
    means = own - control
    means[:, 0] += difference
    return Cells(np.ones_like(means), means, np.zeros_like(means))


@given(st.integers(3, 40), st.floats(0.1, 2.0))
@settings(max_examples=20, deadline=None)
def test_that_one_set_on_one_attribute_is_the_paired_power_of_r(evaluators, difference):
    assert claim_power(difference, 1.0, evaluators) == pytest.approx(
        paired_power(difference, 1.0, evaluators), abs=1e-9
    )
    assert evaluators_to_claim(0.5, 0.75) == evaluators_needed(0.5, 0.75) == 20


def test_that_many_candidates_and_attributes_cost_what_the_multivariate_t_says():
    # By another route: a multivariate t of all candidates, the first of them shifted, is clear
    # where it passes the size that all stay inside of with 1 - 0.05 / 4.
    evaluators, candidates, attributes = 8, 3, 4
    df = claim_df(evaluators, candidates)
    correlation = np.full((3, 3), 0.5) + 0.5 * np.eye(3)
    size = claim_critical(evaluators, candidates, attributes)
    inside = stats.multivariate_t(np.zeros(3), correlation, df=df).cdf(
        np.full(3, size), lower_limit=np.full(3, -size), maxpts=100_000, random_state=1
    )
    assert inside == pytest.approx(1 - 0.05 / attributes, abs=1e-4)
    shift = 0.9 * math.sqrt(evaluators)
    expected = stats.nct.sf(size, df, shift) + stats.nct.cdf(-size, df, shift)
    assert claim_power(0.9, 1.0, evaluators, candidates, attributes) == pytest.approx(
        expected, abs=1e-9
    )


def test_that_critical_values_lie_between_one_comparison_and_bonferroni():
    for candidates, attributes in ((2, 1), (5, 7), (12, 3)):
        df, share = claim_df(10, candidates), 0.05 / attributes
        found = claim_critical(10, candidates, attributes)
        assert t_quantile(1 - share / 2, df) < found < t_quantile(1 - share / 2 / candidates, df)


def test_that_the_degrees_of_freedom_are_those_of_drawn_panels():
    # Seeded, 400 panels of 8 evaluators and 5 candidates; the degrees of freedom are estimated.
    rng = np.random.default_rng(3)
    found = [balanced_contrasts(drawn_cells(rng, 8, 5), None).df[0] for _ in range(400)]
    assert np.median(found) == pytest.approx(claim_df(8, 5), rel=0.05)
    assert claim_df(8, 1) == 7


@pytest.mark.parametrize(("evaluators", "candidates"), [(6, 3), (10, 7)])
def test_that_drawn_panels_are_called_clear_as_often_as_promised(evaluators, candidates):
    # Seeded, 1,000 panels: standard error 1.3 %. The p is Dunnett's with estimated correlation.
    rng = np.random.default_rng(evaluators)
    attributes = 4
    difference = claimable_difference(1.0, evaluators, candidates, attributes)
    assert claim_power(difference, 1.0, evaluators, candidates, attributes) == pytest.approx(0.8)
    alike = np.full((candidates, candidates), 0.5) + 0.5 * np.eye(candidates)
    critical = dunnett_critical(alike, np.linspace(4, 80, 300), 0.05 / attributes)
    clear = 0
    for _ in range(1000):
        each = balanced_contrasts(drawn_cells(rng, evaluators, candidates, 1.0, difference), None)
        clear += each.t[0] > np.interp(each.df[0], np.linspace(4, 80, 300), critical)
    assert clear / 1000 == pytest.approx(0.8, abs=0.04)


@given(st.integers(1, 12), st.integers(1, 12), st.floats(0.3, 2.0))
@settings(max_examples=20, deadline=None)
def test_that_the_panel_needed_is_the_smallest_that_is_enough(candidates, attributes, sd):
    needed = evaluators_to_claim(1.0, sd, candidates, attributes)
    assert needed >= 3
    assert claim_power(1.0, sd, needed, candidates, attributes) >= 0.8
    assert needed == 3 or claim_power(1.0, sd, needed - 1, candidates, attributes) < 0.8


def test_that_twenty_evaluators_promise_half_of_what_one_comparison_would():
    assert paired_power(0.5, 0.75, 20) > 0.8
    assert claim_power(0.5, 0.75, 20, candidates=5, attributes=7) == pytest.approx(0.37, abs=0.01)


def test_that_the_plan_supposes_what_is_shared_to_be_the_most():
    chances = [claim_power(1.5, 1.0, 6, 7, 8, shared) for shared in (0.1, 0.2, 0.3, 0.4, 0.5)]
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] == claim_power(1.5, 1.0, 6, 7, 8)


def test_that_two_evaluators_claim_nothing():
    assert claim_power(50.0, 0.5, 2) == 0.0
    assert claimable_difference(0.5, 2) is None
    assert evaluators_to_claim(50.0, 0.5) == 3
    assert evaluators_to_claim(0.0001, 0.5) is None


@pytest.mark.parametrize(("df", "critical"), [(3, 3.2), (10, 2.8), (60, 2.4)])
def test_that_a_reliable_difference_is_found_by_other_panels_four_times_in_five(df, critical):
    # What a panel says it would find, at each standard error that it may happen to see.
    scale = np.sqrt(stats.chi2.ppf((np.arange(2000) + 0.5) / 2000, df) / df)
    said = [reliable_difference(float(se), df, critical) for se in scale[::10]]
    chance = np.mean([power_of_t(each, df, critical) for each in said])
    assert chance == pytest.approx(0.8, abs=0.005)


def test_that_nothing_is_reliable_without_degrees_of_freedom():
    assert reliable_difference(0.3, 0.0, 2.0) == math.inf
