"""Variance components of scores by restricted maximum likelihood, holes in the table allowed."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import without_empty
from ratings.statistics.mixed_models.crossed_model import fit_crossed

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class VarianceComponents:
    """Where the spread of the scores comes from, in squared score points.

    Attributes
    ----------
    sets, evaluators, residual
        Variances between sets, between evaluators' levels, and of what is left.
        `evaluators` is 0 in the one-way model, which has no such term.
    intercept
        Estimated mean score.
    boundary
        Names of the components that came out as exactly zero.
    log_likelihood
        Restricted log-likelihood, as R ``logLik(lmer(..., REML = TRUE))``; None where the
        residual is zero or the components came from mean squares.
    ratio_covariance
        Asymptotic covariance of sets/residual and evaluators/residual, shape (2, 2) from the
        expected information; None at a boundary and where `log_likelihood` is None.
    """

    sets: float
    evaluators: float
    residual: float
    intercept: float
    boundary: tuple[str, ...] = ()
    log_likelihood: float | None = None
    ratio_covariance: Matrix | None = None


def two_way_components(scores: Matrix) -> VarianceComponents | None:
    """Fit ``score ~ 1 + (1 | set) + (1 | evaluator)``.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN is a missing score, and every other score is used.

    Returns
    -------
    VarianceComponents or None
        None when the scores cannot tell the components apart: fewer than two evaluators or sets,
        or so many holes that nothing is left to estimate the residual from.

    Notes
    -----
    The same as R ``lme4::lmer(score ~ 1 + (1|set) + (1|evaluator))``. A complete table takes the
    closed form: the mean squares, and where one of them falls below the residual, the two pooled,
    which is restricted maximum likelihood for balanced tables (Thompson WA Jr (1962) Ann. Math.
    Statist. 33:273-289, from memory; checked against the iterative fit).
    """
    scores = without_empty(scores)
    evaluators, sets = scores.shape
    if evaluators < 2 or sets < 2:
        return None
    if not np.isnan(scores).any():
        return _balanced(scores)
    evaluator, set_ = np.nonzero(~np.isnan(scores))
    values = scores[evaluator, set_]
    exact = _fixed_effects(values, set_, evaluator, sets, evaluators)
    if exact is None:
        return None
    residual_squares, set_effects, evaluator_effects = exact
    if residual_squares <= 1e-12 * max(1.0, float(np.square(values).sum())):
        variances = float(set_effects.var(ddof=1)), float(evaluator_effects.var(ddof=1))
        return VarianceComponents(*variances, 0.0, float(values.mean()))
    return _iterative(values, (set_, evaluator), (sets, evaluators), ("sets", "evaluators"))


def one_way_components(scores: Matrix) -> VarianceComponents | None:
    """Fit ``score ~ 1 + (1 | set)``: who gave a score is ignored.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN is a missing score.

    Returns
    -------
    VarianceComponents or None
        With `evaluators` 0; None for one set or one score per set. The same as R
        ``lme4::lmer(score ~ 1 + (1|set))``.
    """
    scores = without_empty(scores)
    sets = scores.shape[1]
    evaluator, set_ = np.nonzero(~np.isnan(scores))
    values = scores[evaluator, set_]
    if sets < 2 or values.size <= sets:
        return None
    means = np.bincount(set_, values) / np.bincount(set_)
    if float(np.square(values - means[set_]).sum()) <= 1e-12 * max(1.0, float(values @ values)):
        return VarianceComponents(float(means.var(ddof=1)), 0.0, 0.0, float(means.mean()))
    return _iterative(values, (set_,), (sets,), ("sets",))


def _balanced(scores: Matrix) -> VarianceComponents:
    k, n = scores.shape
    grand = float(scores.mean())
    set_means, evaluator_means = scores.mean(axis=0), scores.mean(axis=1)
    squares = {
        "sets": k * float(np.square(set_means - grand).sum()),
        "evaluators": n * float(np.square(evaluator_means - grand).sum()),
    }
    df = {"sets": n - 1, "evaluators": k - 1}
    left = scores - set_means - evaluator_means[:, None] + grand
    pooled, pooled_df = float(np.square(left).sum()), (n - 1) * (k - 1)
    boundary = []
    for name in sorted(squares, key=lambda name: squares[name] / df[name]):
        if squares[name] / df[name] <= pooled / pooled_df:
            pooled, pooled_df = pooled + squares[name], pooled_df + df[name]
            boundary.append(name)
    residual = pooled / pooled_df
    sets = 0.0 if "sets" in boundary else (squares["sets"] / df["sets"] - residual) / k
    evaluators = (
        0.0
        if "evaluators" in boundary
        else (squares["evaluators"] / df["evaluators"] - residual) / n
    )
    return VarianceComponents(sets, evaluators, residual, grand, tuple(boundary))


def _fixed_effects(
    values: Matrix,
    set_: npt.NDArray[np.intp],
    evaluator: npt.NDArray[np.intp],
    sets: int,
    evaluators: int,
) -> tuple[float, Matrix, Matrix] | None:
    size = sets + evaluators
    columns = set_, sets + evaluator
    products, right = np.zeros((size, size)), np.zeros(size)
    for first in columns:
        np.add.at(right, first, values)
        for second in columns:
            np.add.at(products, (first, second), 1.0)
    if values.size <= np.linalg.matrix_rank(products, hermitian=True):
        return None
    effects = np.asarray(np.linalg.lstsq(products, right, rcond=None)[0], dtype=np.float64)
    residual = values - effects[columns[0]] - effects[columns[1]]
    return float(residual @ residual), effects[:sets], effects[sets:]


def _iterative(
    values: Matrix,
    factors: tuple[npt.NDArray[np.intp], ...],
    levels: tuple[int, ...],
    names: tuple[str, ...],
) -> VarianceComponents:
    fit = fit_crossed(values, factors, levels)
    sets, *others = (float(ratio) * fit.residual for ratio in fit.ratios)
    boundary = tuple(name for name, ratio in zip(names, fit.ratios, strict=True) if ratio == 0)
    return VarianceComponents(
        sets=sets,
        evaluators=others[0] if others else 0.0,
        residual=fit.residual,
        intercept=fit.intercept,
        boundary=boundary,
        log_likelihood=fit.log_likelihood,
        ratio_covariance=None if boundary or not others else fit.ratio_covariance,
    )
