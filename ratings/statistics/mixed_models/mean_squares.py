"""Analysis of variance of a complete, equally filled table: the exact answer where there is one."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.statistics.cells import Cells
from ratings.statistics.distributions import chi_square_upper_tail, f_upper_tail, t_quantile
from ratings.statistics.largest_t import tukey_critical
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

    @property
    def honest_difference(self) -> float:
        """The least significant difference over all pairs of sets (Tukey), in score points."""
        return tukey_critical(self.sets_df + 1, self.interaction_df) * self.standard_error


@dataclass(frozen=True, slots=True)
class Sphericity:
    """Whether all differences between sets scatter alike, and p where they do not.

    Attributes
    ----------
    mauchly_w, mauchly_p
        Mauchly's test.
    greenhouse_geisser, huynh_feldt
        Factors on both degrees of freedom of the ratio; the latter at most 1 in use.
    p_greenhouse_geisser, p_huynh_feldt
        p of the ratio with them.
    """

    mauchly_w: float
    mauchly_p: float
    greenhouse_geisser: float
    huynh_feldt: float
    p_greenhouse_geisser: float
    p_huynh_feldt: float


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


def sphericity(scores: Matrix) -> Sphericity | None:
    """Judge whether the differences between sets scatter alike.

    Parameters
    ----------
    scores
        Shape (evaluators, sets), no NaN.

    Returns
    -------
    Sphericity or None
        None unless there are three sets and more evaluators than sets.

    References
    ----------
    Mauchly JW (1940) Ann. Math. Statist. 11:204-209; Greenhouse SW, Geisser S (1959)
    Psychometrika 24:95-112; Huynh H, Feldt LS (1976) J. Educ. Statist. 1:69-82;
    R ``car::Anova``, ``mauchly.test``.
    """
    evaluators, sets = scores.shape
    if sets < 3 or evaluators <= sets:
        return None
    size = sets - 1
    basis = np.linalg.qr(np.column_stack([np.ones(sets), np.eye(sets)[:, :size]]))[0][:, 1:]
    covariance = np.cov(scores @ basis, rowvar=False)
    values = np.linalg.eigvalsh(covariance)
    if values[0] <= 1e-15 * max(float(values[-1]), 1e-300):
        return None
    epsilon = float(values.sum() ** 2 / (size * np.square(values).sum()))
    corrected = (evaluators * size * epsilon - 2) / (size * (evaluators - 1 - size * epsilon))
    w = float(np.exp(np.log(values).sum() - size * math.log(values.mean())))
    means = scores.mean(axis=0) @ basis
    f = evaluators * float(means @ means) / float(values.sum())
    df1, df2 = size, size * (evaluators - 1)
    used = min(corrected, 1.0)
    return Sphericity(
        mauchly_w=w,
        mauchly_p=_mauchly_p(w, size, evaluators - 1),
        greenhouse_geisser=epsilon,
        huynh_feldt=corrected,
        p_greenhouse_geisser=f_upper_tail(f, epsilon * df1, epsilon * df2),
        p_huynh_feldt=f_upper_tail(f, used * df1, used * df2),
    )


def _mauchly_p(w: float, size: int, df: int) -> float:
    """Expand to the second order (Anderson TW (2003) Multivariate Analysis, 10.7; from memory)."""
    shrink = 1 - (2 * size**2 + size + 2) / (6 * size * df)
    second: float = (size + 2) * (size - 1) * (size - 2)
    second *= 2 * size**3 + 6 * size**2 + 3 * size + 2
    second /= 288 * (df * size * shrink) ** 2
    z, f = -df * shrink * math.log(w), size * (size + 1) / 2 - 1
    first = chi_square_upper_tail(z, f)
    return min(1.0, first + second * (chi_square_upper_tail(z, f + 4) - first))


def _ratio(above: float, below: float, df1: int, df2: int) -> FTest:
    f = above / below
    return FTest(f, float(df1), float(df2), f_upper_tail(f, df1, df2))
