"""Penalised worths and the likelihood's limit, each by another route."""

import numpy as np
import pytest
import statsmodels.api as sm
from gathered_tables import counts_of_wins
from scipy.optimize import minimize

from ratings.statistics.preference.one_sided_choices import (
    likelihood_supremum,
    penalised_maximum,
)
from ratings.statistics.preference.pair_counts import PairCounts
from ratings.statistics.preference.pair_likelihood import likelihood_maximum
from ratings.statistics.preference.worth import fit_worths


def pairs_of(*rows):
    """Rows of first, second, first chosen, second chosen, no difference."""
    table = np.array(rows, dtype=float)
    first, second = table[:, 0].astype(int), table[:, 1].astype(int)
    return PairCounts(int(table[:, :2].max()) + 1, first, second, table[:, 2:])


def logit_design(wins):
    """Design and counts of a table of wins, without ties: a row per pair."""
    low, high = np.triu_indices(len(wins), 1)
    design = np.zeros((len(low), 2, len(wins) - 1))
    for row, (one, other) in enumerate(zip(low, high, strict=True)):
        if one:
            design[row, 0, one - 1] = 1
        design[row, 1, other - 1] = 1
    return design, np.stack([wins[low, high], wins[high, low]], axis=1).astype(float)


#: Set 0 was never passed over; sets 1 to 3 beat one another.
AHEAD = np.array([[0, 9, 9, 9], [0, 0, 6, 5], [0, 3, 0, 7], [0, 4, 2, 0]])


@pytest.mark.parametrize(("won", "of"), [(18, 18), (6, 6), (1, 1), (0, 7)])
def test_that_two_sets_have_half_a_choice_added_to_each(won, of):
    found = fit_worths(counts_of_wins(np.array([[0, won], [of - won, 0]])))
    assert found.log_worth is None
    assert -found.penalised[1] == pytest.approx(np.log((won + 0.5) / (of - won + 0.5)), abs=1e-7)
    share = (won + 0.5) / (of + 1)
    assert found.penalised_se[1] == pytest.approx((of * share * (1 - share)) ** -0.5)


def test_that_firths_weights_by_statsmodels_come_to_the_same():
    # Firth's score is that of choices with half a hat value added to both outcomes.
    design, counts = logit_design(AHEAD)
    x = design[:, 0] - design[:, 1]
    added = np.zeros(len(x))
    for _ in range(500):
        ends = counts + added[:, None] / 2
        fit = sm.GLM(ends, x, family=sm.families.Binomial()).fit(tol=1e-12)
        weight = counts.sum(axis=1) * fit.fittedvalues * (1 - fit.fittedvalues)
        covariance = np.linalg.inv((x * weight[:, None]).T @ x)
        hat = weight * np.einsum("ip,pq,iq->i", x, covariance, x)
        if np.abs(hat - added).max() < 1e-12:
            break
        added = hat
    found = penalised_maximum(design, counts)
    assert found.parameters == pytest.approx(fit.params, abs=1e-7)
    assert found.covariance == pytest.approx(covariance, rel=1e-5)
    worths = fit_worths(counts_of_wins(AHEAD))
    assert worths.penalised[1:] == pytest.approx(found.parameters)


def test_that_ties_and_order_are_where_the_penalised_likelihood_is_highest():
    pairs = pairs_of((0, 1, 7, 0, 0), (1, 0, 0, 6, 0), (1, 2, 4, 3, 1), (2, 1, 2, 5, 0))
    # By hand: worths of 1 and 2, log nu, order.
    design = np.zeros((4, 3, 4))
    for cell, (one, other) in enumerate(zip(pairs.first, pairs.second, strict=True)):
        for outcome, share in ((0, (1, 0)), (1, (0, 1)), (2, (0.5, 0.5))):
            for set_, part in zip((one, other), share, strict=True):
                if set_:
                    design[cell, outcome, set_ - 1] += part
        design[cell, 2, 2] = design[cell, 0, 3] = 1

    def height(parameters):
        scores = np.einsum("cop,p->co", design, parameters)
        chances = np.exp(scores) / np.exp(scores).sum(axis=1, keepdims=True)
        information = np.zeros((4, 4))
        for cell in range(4):
            spread = np.diag(chances[cell]) - np.outer(chances[cell], chances[cell])
            information += pairs.counts[cell].sum() * design[cell].T @ spread @ design[cell]
        likelihood = (pairs.counts * np.log(chances)).sum()
        return -likelihood - np.linalg.slogdet(information)[1] / 2

    best = minimize(
        height,
        np.zeros(4),
        method="Nelder-Mead",
        options={"fatol": 1e-13, "xatol": 1e-9, "maxiter": 20_000, "maxfev": 20_000},
    )
    found = fit_worths(pairs, order=True)
    assert found.above == (0,)
    assert found.penalised[1:] == pytest.approx(best.x[:2], abs=1e-5)


def test_that_the_penalty_vanishes_with_many_choices():
    design, counts = logit_design(AHEAD + 1)
    free = likelihood_maximum(design, counts * 10_000)
    found = penalised_maximum(design, counts * 10_000)
    assert found.parameters == pytest.approx(free.parameters, abs=1e-3)
    assert fit_worths(counts_of_wins(AHEAD + 1)).penalised is None


@pytest.mark.parametrize(
    "wins",
    [
        AHEAD,
        np.array([[0, 5, 5], [0, 0, 4], [0, 0, 0]]),
        np.array([[0, 3, 4, 6], [2, 0, 5, 6], [0, 0, 0, 2], [0, 0, 3, 0]]),
        np.array([[0, 4, 4, 0], [0, 0, 0, 3], [0, 0, 0, 0], [0, 2, 1, 0]]),
    ],
    ids=["one ahead", "all in a row", "two ahead of two", "with holes"],
)
def test_that_the_supremum_is_what_a_general_climb_comes_near(wins):
    design, counts = logit_design(wins)

    def height(parameters):
        scores = design @ parameters
        peak = scores.max(axis=1, keepdims=True)
        log_sum = peak[:, 0] + np.log(np.exp(scores - peak).sum(axis=1))
        return -float((counts * (scores - log_sum[:, None])).sum())

    climbed = min(
        minimize(height, start, method="BFGS", options={"gtol": 1e-9, "maxiter": 2000}).fun
        for start in (np.zeros(len(wins) - 1), -10.0 * np.arange(1, len(wins)))
    )
    assert -likelihood_supremum(design, counts) == pytest.approx(climbed, abs=1e-4)
    assert -likelihood_supremum(design, counts) <= climbed + 1e-9


def test_that_eighteen_of_eighteen_have_a_likelihood_ratio():
    found = fit_worths(counts_of_wins(np.array([[0, 18], [0, 0]])))
    assert found.equal_worth.chi_square == pytest.approx(36 * np.log(2))
    assert found.equal_worth.df == 1
    assert found.equal_worth.p < 1e-6
    assert found.fit is None


def test_that_a_finite_maximum_is_its_own_supremum():
    design, counts = logit_design(AHEAD + 1)
    maximum = likelihood_maximum(design, counts).log_likelihood
    assert likelihood_supremum(design, counts) == pytest.approx(maximum)
