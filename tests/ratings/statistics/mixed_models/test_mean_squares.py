"""The balanced analysis of variance against R and pingouin."""

import numpy as np
import pandas as pd
import pingouin
import pytest
import statsmodels.formula.api as smf
from gathered_tables import cells_of_repeats
from scipy import stats
from statsmodels.stats.anova import AnovaRM, anova_lm

from ratings.statistics.cells import gather_cells
from ratings.statistics.mixed_models.mean_squares import mean_squares, set_by_condition


def test_that_repeated_measures_equal_r(reference):
    case = reference("repeated_measures")
    scores = np.array(case["scores"], dtype=float)
    found = mean_squares(cells_of_repeats(scores[:, :, None]))
    for name, value in case["ratio"].items():
        assert getattr(found.ratio, name) == pytest.approx(value, rel=1e-9)
    assert found.residual is found.interaction_test is None
    assert found.generalised_eta_squared == pytest.approx(case["generalised_eta_squared"])


# pingouin calls pandas in a way that pandas is about to drop.
@pytest.mark.filterwarnings("ignore:The inplace keyword")
def test_that_pingouin_says_the_same():
    scores = np.random.default_rng(5).normal(6, 1, (9, 4)) + np.arange(4) * 0.4
    who, set_ = np.indices(scores.shape).reshape(2, -1)
    table = pd.DataFrame({"who": who, "set": set_, "score": scores.ravel()})
    theirs = pingouin.rm_anova(table, "score", "set", "who", correction=True, effsize="ng2")
    found = mean_squares(cells_of_repeats(scores[:, :, None]))
    assert found.ratio.f == pytest.approx(float(theirs["F"].iloc[0]))
    assert found.generalised_eta_squared == pytest.approx(float(theirs["ng2"].iloc[0]))


def test_that_repeats_are_analysed_as_statsmodels_does():
    scores = np.random.default_rng(6).normal(6, 1, (5, 4, 3)) + np.arange(4.0)[:, None]
    who, set_, _ = np.indices(scores.shape).reshape(3, -1)
    table = pd.DataFrame({"who": who, "set": set_, "score": scores.ravel()})
    theirs = anova_lm(smf.ols("score ~ C(set) * C(who)", table).fit())
    found = mean_squares(cells_of_repeats(scores))
    squares = found.sets, found.evaluators, found.interaction, found.residual
    assert squares == pytest.approx(tuple(theirs["mean_sq"]))
    assert (found.sets_df, found.interaction_df, found.residual_df) == (3, 12, 40)
    own = theirs.loc["C(set):C(who)"]
    ours = found.interaction_test
    assert (ours.f, ours.p) == pytest.approx((own["F"], own["PR(>F)"]))
    # Two means of 15 scores, judged by the interaction.
    least = stats.t.ppf(0.975, 12) * np.sqrt(2 * found.interaction / 15)
    assert found.least_significant_difference == pytest.approx(least)


def test_that_holes_and_perfect_agreement_have_no_exact_answer():
    scores = np.random.default_rng(5).normal(6, 1, (4, 3, 2))
    assert mean_squares(cells_of_repeats(scores)) is not None
    scores[0, 0, 0] = np.nan
    assert mean_squares(cells_of_repeats(scores)) is None
    agreed = np.repeat([[1.0, 2.0, 4.0]], 3, axis=0)
    assert mean_squares(cells_of_repeats(agreed[:, :, None])) is None


def test_that_the_order_by_condition_is_tested_as_statsmodels_does():
    shape = 6, 4, 3
    rng = np.random.default_rng(8)
    own = rng.normal(0, 0.4, (6, 4, 1)) + rng.normal(0, 0.5, (4, 3))
    scores = rng.normal(6, 1, (6, 1, 1)) + own + rng.normal(0, 0.7, shape)
    who, set_, condition = np.indices(shape).reshape(3, -1)
    table = pd.DataFrame({"who": who, "set": set_, "condition": condition, "score": scores.ravel()})
    theirs = AnovaRM(table, "score", "who", within=["set", "condition"]).fit().anova_table
    f, df1, df2, p = theirs.loc["set:condition", ["F Value", "Num DF", "Den DF", "Pr > F"]]
    cells = gather_cells(scores.ravel(), who, set_, condition, shape)
    found = set_by_condition(cells).test
    assert (found.f, found.df1, found.df2, found.p) == pytest.approx((f, df1, df2, p))
    cells.counts[0, 0, 0] = 0
    assert set_by_condition(cells) is None
