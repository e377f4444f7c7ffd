"""Analysis of variance of a complete, equally filled table: the exact answer where there is one."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.statistics.cells import Cells
from ratings.statistics.distributions import f_upper_tail, t_quantile
from ratings.statistics.mixed_models.mixed_tests import FTest

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Mean squares of evaluators x sets, in squared score points.

    Attributes
    ----------
    sets, evaluators, interaction
        On the scale of single scores.
    residual
        Of repeats; None without repeats, or with several conditions.
    sets_df, interaction_df, residual_df
        Degrees of freedom.
    ratio
        F of the sets against the interaction: the sets must differ by more than evaluators
        disagree about them.
    interaction_test
        F of the interaction against the residual; None where that is.
    least_significant_difference
        Between two sets' means, in score points, at 5 %, one comparison.
    generalised_eta_squared
        Share of the sets in all the spread of the evaluators' set means (Olejnik and Algina 2003).
    standard_error
        Of the difference between two sets' means, in score points.
    """

    sets: float
    evaluators: float
    interaction: float
    residual: float | None
    sets_df: int
    interaction_df: int
    residual_df: int
    ratio: FTest
    interaction_test: FTest | None
    least_significant_difference: float
    generalised_eta_squared: float
    standard_error: float


class CompleteStrata(NamedTuple):
    """A table that every evaluator filled alike, taken apart.

    Attributes
    ----------
    means
        Over repeats and conditions, shape (evaluators, sets).
    left
        What is left of them after evaluators and sets, same shape.
    repeats, number
        Scores of a cell, and of an evaluator for a set.
    """

    means: Matrix
    left: Matrix
    repeats: float
    number: float


def complete_strata(cells: Cells) -> CompleteStrata | None:
    """Take a complete, equally filled table apart; None for another, or one evaluator."""
    repeats = float(cells.counts.flat[0]) if cells.counts.size else 0.0
    if len(cells.counts) < 2 or repeats < 1 or (cells.counts != repeats).any():
        return None
    means = cells.means.mean(axis=2)
    left = means - means.mean(axis=0) - means.mean(axis=1, keepdims=True) + means.mean()
    return CompleteStrata(means, left, repeats, repeats * cells.counts.shape[2])


def mean_squares(cells: Cells) -> MeanSquares | None:
    """Analyse a table that every evaluator filled alike.

    Parameters
    ----------
    cells
        Scores by evaluator, set and condition.

    Returns
    -------
    MeanSquares or None
        None with holes or unequal repeats, fewer than two evaluators or sets, or evaluators who
        do not disagree at all.

    Notes
    -----
    The ratio is exact for normal scores whatever the variances are, also where restricted maximum
    likelihood finds no interaction and pools it with the residual; away from that boundary it is
    the mixed model's F. R ``anova(lm(score ~ set * evaluator))``.
    """
    evaluators, sets, conditions = cells.counts.shape
    strata = complete_strata(cells)
    if strata is None or sets < 2:
        return None
    means, left, repeats = strata.means, strata.left, strata.repeats
    number = strata.number
    sets_df, interaction_df = sets - 1, (sets - 1) * (evaluators - 1)
    set_squares = number * evaluators * float(np.square(means.mean(axis=0) - means.mean()).sum())
    evaluator_squares = number * sets * float(np.square(means.mean(axis=1) - means.mean()).sum())
    interaction_squares = number * float(np.square(left).sum())
    if interaction_squares <= 1e-18 * number * means.size:
        return None
    interaction = interaction_squares / interaction_df
    residual_df = round((repeats - 1) * evaluators * sets) if conditions == 1 else 0
    residual = float(cells.scatter.sum()) / residual_df if residual_df else None
    se = math.sqrt(2 * interaction / (evaluators * number))
    return MeanSquares(
        sets=set_squares / sets_df,
        evaluators=evaluator_squares / (evaluators - 1),
        interaction=interaction,
        residual=residual,
        sets_df=sets_df,
        interaction_df=interaction_df,
        residual_df=residual_df,
        ratio=_ratio(set_squares / sets_df, interaction, sets_df, interaction_df),
        interaction_test=(
            _ratio(interaction, residual, interaction_df, residual_df) if residual else None
        ),
        least_significant_difference=t_quantile(0.975, interaction_df) * se,
        generalised_eta_squared=set_squares
        / (set_squares + evaluator_squares + interaction_squares),
        standard_error=se,
    )


class ByCondition(NamedTuple):
    """Whether the order of the sets depends on the condition.

    Attributes
    ----------
    test
        F of set x condition beside the evaluators' disagreement about it.
    p_uneven
        Its p where some sets scatter more than others in some condition (Greenhouse and Geisser).
    """

    test: FTest
    p_uneven: float


def set_by_condition(cells: Cells, rounding: float = 0.0) -> ByCondition | None:
    """Test whether the order of the sets depends on the condition, in a table without holes.

    Parameters
    ----------
    rounding
        Stands for the scatter where all evaluators change alike, as in
        `ratings.statistics.mixed_models.balanced_tests.balanced_contrasts`; without it F is
        infinite there.

    Returns
    -------
    ByCondition or None
        None with holes, for a single evaluator, set or condition, or where every evaluator scored
        the sets alike in all conditions.

    Notes
    -----
    Repeats are averaged. R ``aov(score ~ set * condition + Error(evaluator / (set * condition)))``,
    stratum evaluator:set:condition; `pingouin.rm_anova` with ``correction=True``.

    References
    ----------
    Greenhouse SW, Geisser S (1959) Psychometrika 24:95-112.
    """
    evaluators, sets, conditions = cells.counts.shape
    if min(evaluators, sets, conditions) < 2 or not (cells.counts > 0).all():
        return None
    own = cells.means - cells.means.mean(axis=1, keepdims=True)
    own -= own.mean(axis=2, keepdims=True)
    shared = own.mean(axis=0)
    size = (sets - 1) * (conditions - 1)
    df2 = size * (evaluators - 1)
    above = evaluators * float(np.square(shared).sum()) / size
    left = (own - shared).reshape(evaluators, -1)
    below = float(np.square(left).sum()) / df2
    least = 1e-18 * max(1.0, float(np.square(cells.means).max()))
    if below <= least:
        if above <= least:
            return None
        test = (
            _ratio(above, rounding, size, df2)
            if rounding
            else FTest(math.inf, float(size), float(df2), 0.0)
        )
        return ByCondition(test, test.p)
    test = _ratio(above, below, size, df2)
    # The squares of the covariance's eigenvalues are those of the evaluators' products.
    epsilon = float(np.square(left).sum()) ** 2 / (size * float(np.square(left @ left.T).sum()))
    return ByCondition(test, f_upper_tail(test.f, epsilon * size, epsilon * df2))


def _ratio(above: float, below: float, df1: int, df2: int) -> FTest:
    f = above / below
    return FTest(f, float(df1), float(df2), f_upper_tail(f, df1, df2))
