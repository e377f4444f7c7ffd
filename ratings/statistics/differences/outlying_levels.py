"""Precision of a panel per set, and whose scatter or level is too far out: Cochran and Grubbs."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_quantile, t_quantile
from ratings.statistics.missing import mean_of_known, ratio

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Precision:
    """Spread within and between evaluators, each of shape (sets,), in score points.

    Attributes
    ----------
    mean
        Mean over evaluators of their means.
    sd_of_means
        Standard deviation of the evaluators' means.
    repeatability_sd
        Pooled within evaluators.
    between_sd
        Between evaluators beyond what repeats explain; 0 where it would be negative.
    reproducibility_sd
        Of one score of one evaluator; 2.8 times it covers 95 % of differences.
    cochran_c
        Largest variance of repeats over the sum of all.
    grubbs_g
        Largest distance of an evaluator's mean from the panel's, in `sd_of_means`.
    """

    mean: Matrix
    sd_of_means: Matrix
    repeatability_sd: Matrix
    between_sd: Matrix
    reproducibility_sd: Matrix
    cochran_c: Matrix
    grubbs_g: Matrix


def precision(means: Matrix, standard_deviations: Matrix, repeats: int) -> Precision:
    """Judge each set by all evaluators together.

    Parameters
    ----------
    means, standard_deviations
        Of each evaluator's repeats of each set, shape (evaluators, sets); NaN is missing.
    repeats
        How many repeats each stands on, two or more.

    References
    ----------
    ISO 5725-2:1994, 7.4; ASTM E691 (formulas from memory).
    """
    centre = mean_of_known(means, axis=0)
    number = (~np.isnan(means)).sum(axis=0)
    deviations = means - centre
    squares = np.where(np.isnan(deviations), 0.0, np.square(deviations)).sum(axis=0)
    sd_of_means = np.sqrt(ratio(squares, number - 1.0))
    variances = np.square(standard_deviations)
    within = mean_of_known(variances, axis=0)
    between = np.maximum(np.square(sd_of_means) - within / repeats, 0.0)
    largest = np.where(np.isnan(variances), 0.0, variances)
    furthest = np.where(np.isnan(deviations), 0.0, np.abs(deviations)).max(axis=0)
    return Precision(
        mean=centre,
        sd_of_means=sd_of_means,
        repeatability_sd=np.sqrt(within),
        between_sd=np.sqrt(between),
        reproducibility_sd=np.sqrt(between + within),
        cochran_c=ratio(largest.max(axis=0), largest.sum(axis=0)),
        grubbs_g=ratio(furthest, sd_of_means),
    )


def cochran_critical(evaluators: int, repeats: int, alpha: float) -> float:
    """Return the critical value of Cochran's C; NaN for fewer than two evaluators or repeats.

    References
    ----------
    ISO 5725-2:1994, table 4 (8 evaluators, 3 repeats: 0.516 at 5 %, from memory).
    """
    if evaluators < 2 or repeats < 2:
        return math.nan
    f = f_quantile(1 - alpha / evaluators, repeats - 1, (evaluators - 1) * (repeats - 1))
    return 1 / (1 + (evaluators - 1) / f)


def grubbs_critical(evaluators: int, alpha: float) -> float:
    """Return the two-sided critical value of Grubbs' G; NaN for fewer than three evaluators.

    References
    ----------
    ISO 5725-2:1994, table 5 (10 evaluators: 2.290 at 5 %, from memory).
    """
    if evaluators < 3:
        return math.nan
    t = t_quantile(1 - alpha / (2 * evaluators), evaluators - 2)
    return (evaluators - 1) * t / math.sqrt(evaluators * (evaluators - 2 + t**2))
