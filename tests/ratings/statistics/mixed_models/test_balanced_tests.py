"""Differences by mean squares, beside two reference libraries."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from ratings.statistics.cells import Cells, gather_cells
from ratings.statistics.differences.set_comparison import TOO_FEW_EVALUATORS, compare_sets
from ratings.statistics.mixed_models.balanced_tests import balanced_contrasts


def table(seed, evaluators=6, sets=4, conditions=1, repeats=2, taste=0.5):
    rng = np.random.default_rng(seed)
    shape = evaluators, sets, conditions, repeats
    scores = (
        rng.normal(6, 1, (evaluators, 1, 1, 1))
        + rng.normal(0, taste, (evaluators, sets, 1, 1))
        + rng.normal(0, 0.7, shape)
    )
    evaluator, set_, condition, _ = np.indices(shape).reshape(4, -1)
    return pd.DataFrame(
        {"evaluator": evaluator, "set": set_, "condition": condition, "score": scores.ravel()}
    )


def cells_of(frame) -> Cells:
    columns = [frame[name].to_numpy() for name in ("evaluator", "set", "condition")]
    shape = tuple(int(column.max()) + 1 for column in columns)
    return gather_cells(frame["score"].to_numpy(), *columns, shape)


@pytest.mark.parametrize("seed", range(4))
def test_that_scores_are_judged_by_the_mean_square_that_statsmodels_gives(seed):
    frame = table(seed)
    found = balanced_contrasts(cells_of(frame), control=0)
    squares = anova_lm(ols("score ~ C(set) * C(evaluator)", frame).fit())
    interaction = squares.loc["C(set):C(evaluator)"]
    means = frame.groupby("set")["score"].mean().to_numpy()
    assert found.estimate == pytest.approx(means[1:] - means[0])
    assert found.se == pytest.approx(np.sqrt(2 * interaction["mean_sq"] / 12))
    assert found.df == pytest.approx(interaction["df"])
    # The best of the contrasts squared is bounded by the joint F of the same mean squares.
    f = squares.loc["C(set)", "mean_sq"] / interaction["mean_sq"]
    assert (found.t**2).max() <= 3 * f + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_that_two_sets_come_out_as_students_paired_t_of_scipy(seed):
    frame = table(seed, sets=2, conditions=3, repeats=1, taste=0.0)
    found = balanced_contrasts(cells_of(frame), control=0)
    means = frame.pivot_table("score", "evaluator", "set", aggfunc="mean")
    expected = stats.ttest_rel(means[1], means[0])
    assert (found.t[0], found.p[0]) == pytest.approx((expected.statistic, expected.pvalue))
    interval = expected.confidence_interval()
    assert (found.lower[0], found.upper[0]) == pytest.approx((interval.low, interval.high))


def test_that_five_of_six_against_one_are_no_clear_difference():
    # +3 from five evaluators and -3 from one, three times: paired t by hand, 2 / (2.449 / sqrt 6).
    frame = pd.DataFrame(
        [
            (evaluator, set_, 0, 6 + set_ * (3 if evaluator else -3) + step)
            for evaluator in range(6)
            for set_ in (0, 1)
            for step in (-4.0, 0.0, 4.0)
        ],
        columns=["evaluator", "set", "condition", "score"],
    )
    found = compare_sets(cells_of(frame), 0).differences.each
    assert found.t[0] == pytest.approx(2.0)
    assert (found.df[0], found.p[0]) == pytest.approx((5.0, 0.1019), abs=1e-4)


@pytest.mark.parametrize("seed", range(3))
def test_that_one_candidate_in_pairs_comes_out_as_students_t_of_scipy(seed):
    frame = table(seed, sets=1, conditions=3, repeats=2)
    frame["score"] -= 6
    found = balanced_contrasts(cells_of(frame), control=None)
    expected = stats.ttest_1samp(frame.groupby("evaluator")["score"].mean(), 0)
    assert (found.t[0], found.p[0]) == pytest.approx((expected.statistic, expected.pvalue))


def test_that_away_from_the_boundary_it_is_the_mixed_model_of_candidates_in_pairs():
    from ratings.statistics.mixed_models.mixed_fit import fit_mixed
    from ratings.statistics.mixed_models.mixed_tests import contrasts, kenward_roger
    from ratings.statistics.mixed_models.model_cells import EVALUATOR, EVALUATOR_SET

    compared = 0
    for seed in range(12):
        frame = table(seed, sets=3, conditions=2, repeats=2, taste=1.0)
        frame["score"] -= 6
        cells = cells_of(frame)
        set_, condition = np.indices((3, 2)).reshape(2, -1)
        fixed = np.hstack([np.eye(3)[set_], np.eye(2)[condition][:, 1:]])
        fit = fit_mixed(cells, fixed, (EVALUATOR, EVALUATOR_SET))
        if fit.boundary:
            continue
        compared += 1
        rows = np.hstack([np.eye(3), np.full((3, 1), 0.5)])
        theirs, ours = contrasts(kenward_roger(fit), rows), balanced_contrasts(cells, None)
        for figure in ("estimate", "se", "df", "p", "correlation"):
            assert getattr(ours, figure) == pytest.approx(getattr(theirs, figure), rel=1e-4)
    assert compared >= 6


def test_that_a_table_with_a_hole_or_without_scatter_is_left_to_the_model():
    frame = table(1)
    assert balanced_contrasts(cells_of(frame.iloc[1:]), 0) is None
    frame["score"] = frame["set"] * 1.0
    assert balanced_contrasts(cells_of(frame), 0) is None


@pytest.mark.parametrize("own", [False, True])
def test_that_a_set_that_one_evaluator_rated_is_not_judged(own):
    # The first rates all and the others the control alone, or each a candidate of his own.
    frame = table(3, evaluators=4, sets=4, conditions=3)
    rated = frame["set"] == frame["evaluator"] if own else frame["evaluator"] == 0
    found = compare_sets(cells_of(frame[(frame["set"] == 0) | rated]), 0)
    assert found.differences is None
    assert found.reason == TOO_FEW_EVALUATORS
