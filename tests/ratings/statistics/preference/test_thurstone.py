"""Thurstone's Case V against R and in closed form."""

import numpy as np
import pytest
import statsmodels.api as sm
from gathered_tables import counts_of_wins
from scipy import stats

from ratings.statistics.preference.pair_counts import PairCounts
from ratings.statistics.preference.thurstone import thurstone_case_five


def test_that_places_equal_r_where_cells_are_empty(shared_case):
    # R 4.2.2 glm(binomial(probit)).
    case = shared_case("thurstone_probit_drugrisk")
    found = thurstone_case_five(counts_of_wins(np.array(case["data"]["values"], dtype=float)))
    *scale, deviance = case["expected"]
    for entry in scale:
        index = case["data"]["labels"].index(entry["name"].split()[1])
        assert found.place[index] == pytest.approx(entry["value"], abs=1e-6)
        assert found.se[index] == pytest.approx(entry["SE"], abs=1e-6)
    assert found.fit.chi_square == pytest.approx(deviance["value"], abs=1e-6)
    assert found.fit.df == deviance["df"]


def test_that_places_equal_a_probit_regression_where_cells_are_empty():
    wins = np.array([[0, 9, 7, 12], [3, 0, 5, 12], [5, 7, 0, 8], [0, 0, 4, 0.0]])
    found = thurstone_case_five(counts_of_wins(wins))
    low, high = np.triu_indices(4, 1)
    design = np.eye(4)[low] - np.eye(4)[high]
    outcomes = np.stack([wins[low, high], wins[high, low]], axis=1)
    probit = sm.families.Binomial(sm.families.links.Probit())
    fitted = sm.GLM(outcomes, design[:, 1:], family=probit).fit(tol=1e-13, maxiter=200)
    assert found.place[1:] == pytest.approx(fitted.params, abs=1e-6)
    assert found.se[1:] == pytest.approx(fitted.bse, abs=1e-6)
    assert found.fit.chi_square == pytest.approx(fitted.deviance, abs=1e-6)
    assert found.fit.df == fitted.df_resid


def test_that_one_pair_is_a_normal_quantile_and_ties_are_left_out():
    pairs = PairCounts(2, np.array([1]), np.array([0]), np.array([[7.0, 3.0, 4.0]]))
    found = thurstone_case_five(pairs)
    assert found.place[1] == pytest.approx(stats.norm.ppf(0.7))
    assert found.left_out == 4


@pytest.mark.parametrize(
    ("wins", "reason"),
    [([[0, 4], [0, 0]], "never passed over"), ([[0, 0], [0, 0]], "no choices")],
)
def test_that_what_cannot_be_placed_is_told_in_words(wins, reason):
    found = thurstone_case_five(counts_of_wins(np.array(wins, dtype=float)))
    assert found.place is None
    assert reason in found.reason
