"""The balanced analysis of variance against R and pingouin."""

import numpy as np
import pandas as pd
import pingouin
import pytest

from ratings.statistics.cells import cells_of_repeats
from ratings.statistics.differences.mean_squares import mean_squares, sphericity


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
