"""Is each evaluator fit? Discrimination, agreement with the others, repeatability, scale use."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.agreement.mandel import mandel_h, mandel_k
from ratings.statistics.cells import Cells
from ratings.statistics.distributions import f_upper_tail
from ratings.statistics.missing import mean_of_known, ratio

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PanelFitness:
    """One figure per evaluator, each of shape (evaluators,); NaN where it is undefined.

    Attributes
    ----------
    repeat_sd
        Standard deviation of an evaluator's own repeats of the same thing, in score points.
    discrimination_f, discrimination_df1, discrimination_df2, discrimination_p
        Whether the evaluator separates the sets beyond that scatter.
    bias
        Mean over sets of the evaluator's score minus the panel's, in score points.
    set_sd
        Standard deviation of the evaluator's set means: how much of the scale is used.
    slope_on_panel
        Slope of the evaluator's set means on the panel's; above 1 spreads the sets further.
    correlation_with_others
        Pearson correlation of the evaluator's set means with the mean of the others.
    h, k
        Mandel's h and k, shape (evaluators, sets).
    """

    repeat_sd: Matrix
    discrimination_f: Matrix
    discrimination_df1: Matrix
    discrimination_df2: Matrix
    discrimination_p: Matrix
    bias: Matrix
    set_sd: Matrix
    slope_on_panel: Matrix
    correlation_with_others: Matrix
    h: Matrix
    k: Matrix


def panel_fitness(cells: Cells) -> PanelFitness:
    """Judge each evaluator by the same scores that the panel is judged by.

    Parameters
    ----------
    cells
        Scores by evaluator, set and condition. Every score is used; what is missing is passed over.

    Notes
    -----
    Repeatability is pooled over cells of one set in one condition, so that a difference between
    conditions is not taken for scatter. Discrimination is the one-way analysis of variance of the
    evaluator's scores by set, R ``anova(lm(score ~ set))``; with several conditions the condition
    is taken out first, and without repeats the interaction of set and condition is the error.
    With holes and several conditions at once that is approximate. Identical repeats throughout
    make F infinite.

    References
    ----------
    ISO 11132:2021, discrimination, agreement, repeatability (quantities, from memory).
    ISO 5725-2:1994, 7.3.1, h and k.
    """
    means = cells.set_means()
    deviations = means - mean_of_known(means, axis=0)
    sd_by_set = _pooled_sd(cells.scatter.sum(axis=2), _repeat_df(cells).sum(axis=2))
    f, df1, df2, p = _discrimination(cells)
    with_others, slope, set_sd = _likeness(means)
    return PanelFitness(
        repeat_sd=_pooled_sd(cells.scatter.sum(axis=(1, 2)), _repeat_df(cells).sum(axis=(1, 2))),
        discrimination_f=f,
        discrimination_df1=df1,
        discrimination_df2=df2,
        discrimination_p=p,
        bias=mean_of_known(deviations, axis=1),
        set_sd=set_sd,
        slope_on_panel=slope,
        correlation_with_others=with_others,
        h=mandel_h(means),
        k=mandel_k(sd_by_set),
    )


def _repeat_df(cells: Cells) -> Matrix:
    return np.maximum(cells.counts - 1, 0)


def _pooled_sd(scatter: Matrix, df: Matrix) -> Matrix:
    return np.sqrt(ratio(scatter, df))


def _discrimination(cells: Cells) -> tuple[Matrix, Matrix, Matrix, Matrix]:
    counts = cells.counts
    level = ratio((counts * cells.means).sum(axis=1), counts.sum(axis=1))
    own = np.where(counts > 0, cells.means - np.nan_to_num(level)[:, None, :], 0.0)
    per_set = counts.sum(axis=2)
    effects = np.nan_to_num(ratio((counts * own).sum(axis=2), per_set))
    between = (per_set * np.square(effects)).sum(axis=1)
    df1 = np.maximum((per_set > 0).sum(axis=1) - 1.0, 0.0)
    interaction = (counts * np.square(own - effects[:, :, None])).sum(axis=(1, 2))
    cells_rated = (counts > 0).sum(axis=(1, 2))
    conditions_rated = (counts.sum(axis=1) > 0).sum(axis=1)
    repeats_df = _repeat_df(cells).sum(axis=(1, 2))
    has_repeats = repeats_df > 0
    error = np.where(has_repeats, cells.scatter.sum(axis=(1, 2)), interaction)
    df2 = np.where(has_repeats, repeats_df, cells_rated - df1 - conditions_rated)
    defined = (df1 > 0) & (df2 > 0)
    rows = [
        _f_test(b / d1, e / d2, d1, d2) if known else (math.nan,) * 4
        for b, e, d1, d2, known in zip(between, error, df1, df2, defined, strict=True)
    ]
    f, first, second, p = np.array(rows, dtype=np.float64).reshape(-1, 4).T
    return f, first, second, p


def _f_test(
    above: float, below: float, df1: float, df2: float
) -> tuple[float, float, float, float]:
    if below < 1e-18:
        if above < 1e-18:
            return math.nan, df1, df2, math.nan
        return math.inf, df1, df2, 0.0
    f = above / below
    return f, df1, df2, f_upper_tail(f, df1, df2)


def _likeness(means: Matrix) -> tuple[Matrix, Matrix, Matrix]:
    known = ~np.isnan(means)
    filled = np.where(known, means, 0.0)
    number = known.sum(axis=0)
    others = ratio(filled.sum(axis=0) - filled, number - known.astype(np.float64))
    panel = np.broadcast_to(mean_of_known(means, axis=0), means.shape)
    own_squares, other_squares, products = _moments(means, others)
    spread = np.sqrt(own_squares * other_squares)
    correlation = np.clip(ratio(products, np.where(spread > 1e-12, spread, 0.0)), -1.0, 1.0)
    own, panel_squares, with_panel = _moments(means, panel)
    slope = ratio(with_panel, np.where(panel_squares > 1e-12, panel_squares, 0.0))
    return correlation, slope, _pooled_sd(own, known.sum(axis=1) - 1.0)


def _moments(first: Matrix, second: Matrix) -> tuple[Matrix, Matrix, Matrix]:
    known = ~np.isnan(first) & ~np.isnan(second)
    number = np.maximum(known.sum(axis=1, keepdims=True), 1)

    def centred(values: Matrix) -> Matrix:
        mean = np.where(known, values, 0.0).sum(axis=1, keepdims=True) / number
        return np.where(known, values - mean, 0.0)

    one, two = centred(first), centred(second)
    return np.square(one).sum(axis=1), np.square(two).sum(axis=1), (one * two).sum(axis=1)
