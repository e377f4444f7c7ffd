"""Exchanges of whole evaluators, beside counting by hand and another library."""

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.preference.panel_flips import panel_p


def wins_of(first_over_second):
    """One evaluator each, who chose set 0 so often over set 1, or 1 over 0 where negative."""
    wins = np.zeros((len(first_over_second), 2, 2))
    for evaluator, count in enumerate(first_over_second):
        wins[evaluator, 0, 1], wins[evaluator, 1, 0] = max(count, 0), max(-count, 0)
    return wins


@pytest.mark.parametrize(("votes", "ahead"), [([1] * 6, 6), ([1] * 9 + [-1], 9), ([1, -1] * 3, 3)])
def test_that_single_choices_come_out_as_the_sign_test_of_scipy(votes, ahead):
    expected = stats.binomtest(ahead, len(votes)).pvalue
    assert panel_p(wins_of(votes)) == pytest.approx(expected)


def test_that_repeated_choices_come_out_as_scipys_permutation_of_means():
    votes = [5, 3, -1, 4, 2, 6, -2, 1]
    theirs = stats.permutation_test(
        (np.array(votes, float),), np.mean, permutation_type="samples", n_resamples=np.inf
    )
    assert panel_p(wins_of(votes)) == pytest.approx(theirs.pvalue)


def test_that_many_evaluators_are_drawn_and_come_near_the_exact_share():
    rng = np.random.default_rng(4)
    votes = np.where(rng.random(25) < 0.75, 1, -1)
    expected = stats.binomtest(int((votes > 0).sum()), 25).pvalue
    assert panel_p(wins_of(votes)) == pytest.approx(expected, abs=0.01)
    assert panel_p(wins_of(votes)) == panel_p(wins_of(votes))


def test_that_nobody_who_decided_gives_no_p():
    assert panel_p(np.zeros((4, 3, 3))) is None


@pytest.mark.slow
def test_that_panels_with_tastes_but_no_preference_are_claimed_at_5_percent():
    rng = np.random.default_rng(9)
    found = []
    for _ in range(2000):
        taste = rng.normal(0, 1.5, (8, 4))
        wins = np.zeros((8, 4, 4))
        for one, other in zip(*np.triu_indices(4, 1), strict=True):
            chance = 1 / (1 + np.exp(taste[:, other] - taste[:, one]))
            wins[:, one, other] = rng.binomial(5, chance)
            wins[:, other, one] = 5 - wins[:, one, other]
        found.append(panel_p(wins))
    # Binomial scatter of 2,000: 0.5 %.
    assert np.mean(np.array(found) <= 0.05) == pytest.approx(0.05, abs=0.015)
