"""The balanced analysis of variance against R and pingouin."""

import numpy as np
import pandas as pd
import pingouin
import pytest
from statsmodels.stats.anova import AnovaRM

from ratings.statistics.cells import cells_of_repeats, gather_cells
from ratings.statistics.mixed_models.mean_squares import (
    mean_squares,
    set_by_condition,
    sphericity,
)


def test_that_repeated_measures_equal_r(reference):
    case = reference("repeated_measures")
    scores = np.array(reference("rank_comparisons")["scores"], dtype=float)
    found = mean_squares(cells_of_repeats(scores[:, :, None]))
    for name, value in case["ratio"].items():
        assert getattr(found.ratio, name) == pytest.approx(value, rel=1e-9)
    assert found.residual is found.interaction_test is None
    assert found.generalised_eta_squared == pytest.approx(case["generalised_eta_squared"])
    spheric = sphericity(scores)
    for name in (
        "greenhouse_geisser", "p_greenhouse_geisser", "huynh_feldt", "p_huynh_feldt", "mauchly_w"
    ):  # fmt: skip
        assert getattr(spheric, name) == pytest.approx(case[name], abs=1e-6), name
    # R's second-order term takes the number of sets where the expansion has one less.
    assert spheric.mauchly_p == pytest.approx(case["mauchly_p"], abs=2e-4)


# pingouin calls pandas in a way that pandas is about to drop.
@pytest.mark.filterwarnings("ignore:The inplace keyword")
def test_that_pingouin_says_the_same():
    scores = np.random.default_rng(5).normal(6, 1, (9, 4)) + np.arange(4) * 0.4
    who, set_ = np.indices(scores.shape).reshape(2, -1)
    table = pd.DataFrame({"who": who, "set": set_, "score": scores.ravel()})
    theirs = pingouin.rm_anova(table, "score", "set", "who", correction=True, effsize="ng2")
    found, spheric = mean_squares(cells_of_repeats(scores[:, :, None])), sphericity(scores)
    assert found.ratio.f == pytest.approx(float(theirs["F"].iloc[0]))
    assert found.generalised_eta_squared == pytest.approx(float(theirs["ng2"].iloc[0]))
    assert spheric.greenhouse_geisser == pytest.approx(float(theirs["eps"].iloc[0]))
    assert spheric.mauchly_w == pytest.approx(float(theirs["W_spher"].iloc[0]))


def test_that_holes_and_perfect_agreement_have_no_exact_answer():
    scores = np.random.default_rng(5).normal(6, 1, (4, 3, 2))
    assert mean_squares(cells_of_repeats(scores)) is not None
    scores[0, 0, 0] = np.nan
    assert mean_squares(cells_of_repeats(scores)) is None
    agreed = np.repeat([[1.0, 2.0, 4.0]], 3, axis=0)
    assert mean_squares(cells_of_repeats(agreed[:, :, None])) is None
    assert sphericity(agreed) is None
    assert sphericity(np.ones((5, 2))) is None


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
