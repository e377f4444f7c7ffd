"""Mandel's h and k: whose level and whose scatter stand out from the panel."""

import math

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_quantile, t_quantile
from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]


def mandel_h(means: Matrix) -> Matrix:
    """Standardise each evaluator's mean of each set by the panel's spread.

    Parameters
    ----------
    means
        Shape (evaluators, sets); NaN is missing.

    Returns
    -------
    numpy.ndarray
        Shape (evaluators, sets); NaN for fewer than 3 evaluators of a set, or no spread.

    References
    ----------
    ISO 5725-2:1994, 7.3.1 (clause from memory); ASTM E691. The same as R ``scale(x)`` per set.
    """
    rated = ~np.isnan(means)
    number = rated.sum(axis=0)
    filled = np.where(rated, means, 0.0)
    centre = filled.sum(axis=0) / np.maximum(number, 1)
    deviations = np.where(rated, means - centre, 0.0)
    spread = np.sqrt(np.square(deviations).sum(axis=0) / np.maximum(number - 1, 1))
    usable = rated & (number >= 3) & (spread > 1e-9)
    return ratio(deviations, np.where(usable, spread, 0.0))


def mandel_k(standard_deviations: Matrix) -> Matrix:
    """Divide each evaluator's scatter over repeats by the panel's pooled scatter.

    Parameters
    ----------
    standard_deviations
        Over repeats, shape (evaluators, sets); NaN without repeats.

    Returns
    -------
    numpy.ndarray
        Shape (evaluators, sets); NaN without repeats, for fewer than 2 evaluators, or when
        nobody scattered.

    References
    ----------
    ISO 5725-2:1994, 7.3.1 (clause from memory); ASTM E691.
    """
    known = ~np.isnan(standard_deviations)
    number = known.sum(axis=0)
    squares = np.square(np.where(known, standard_deviations, 0.0)).sum(axis=0)
    pooled = np.sqrt(squares / np.maximum(number, 1))
    usable = known & (number >= 2) & (pooled > 1e-12)
    return ratio(standard_deviations, np.where(usable, pooled, 0.0))


def mandel_h_critical(evaluators: int, alpha: float) -> float:
    """Return the two-sided critical value of h; NaN for fewer than 3 evaluators.

    References
    ----------
    ISO 5725-2:1994, tables 6 and 7 (10 evaluators: 1.80 at 5 %, 2.18 at 1 %).
    """
    if evaluators < 3:
        return math.nan
    t = t_quantile(1 - alpha / 2, evaluators - 2)
    return (evaluators - 1) * t / math.sqrt(evaluators * (t**2 + evaluators - 2))


def mandel_k_critical(evaluators: int, repeats: int, alpha: float) -> float:
    """Return the critical value of k; NaN for fewer than 2 evaluators or repeats.

    References
    ----------
    ISO 5725-2:1994, tables 6 and 7; ASTM E691 (8 laboratories, 3 repeats: 2.06 at 0.5 %).
    """
    if evaluators < 2 or repeats < 2:
        return math.nan
    f = f_quantile(1 - alpha, repeats - 1, (evaluators - 1) * (repeats - 1))
    return math.sqrt(evaluators / (1 + (evaluators - 1) / f))
