"""Residuals of each evaluator's own fit, beside statsmodels."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from ratings.statistics.agreement.residual_scatter import residual_scatter


def long_table(rng, gone=0.0, repeats=2):
    shape = 2, 3, 4, 3, repeats
    codes = np.indices(shape).reshape(5, -1)
    table = pd.DataFrame(codes.T, columns=["attribute", "evaluator", "set", "condition", "repeat"])
    table["score"] = np.round(rng.normal(6, 1.5, len(table)) * 2) / 2
    return table[rng.random(len(table)) >= gone].sample(frac=1, random_state=3)


def scatter_of(table):
    belongs = tuple(table[c].to_numpy() for c in ("attribute", "evaluator", "set", "condition"))
    return residual_scatter(table["score"].to_numpy(), belongs, (2, 3, 3))


@pytest.mark.parametrize("gone", [0.0, 0.3])
def test_that_squares_and_df_are_those_of_a_linear_model(gone):
    table = long_table(np.random.default_rng(5), gone)
    found = scatter_of(table)
    for (attribute, evaluator), own in table.groupby(["attribute", "evaluator"]):
        fit = smf.ols("score ~ C(set) + C(condition)", own).fit()
        assert found.squares[attribute, evaluator] == pytest.approx(fit.ssr)
        assert found.df[attribute, evaluator] == fit.df_resid
        # Leaving out one score: the smallest sum of squares of all refits.
        refits = [
            smf.ols("score ~ C(set) + C(condition)", own.drop(row)).fit().ssr for row in own.index
        ]
        falls = found.squares[attribute, evaluator] - min(refits)
        assert found.worst[attribute, evaluator] == pytest.approx(falls)


def test_that_an_own_opinion_of_a_set_or_a_condition_is_no_scatter():
    table = long_table(np.random.default_rng(6), repeats=1)
    table["score"] = 5 + 0.5 * table["set"] * (1 + table["evaluator"]) - table["condition"]
    found = scatter_of(table)
    assert (found.squares == 0).all()
    assert (found.df == 6).all()


def test_that_one_condition_without_repeats_leaves_nothing_to_judge():
    table = long_table(np.random.default_rng(7), repeats=1).query("condition == 0")
    found = scatter_of(table)
    assert (found.df == 0).all()
    assert np.isnan(found.mean_square).all()
