"""Does the ear agree with the meter? Points per unit of a figure, and how well it predicts."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.agreement.limits_of_agreement import correlation
from ratings.statistics.distributions import t_quantile
from ratings.statistics.missing import mean_of_known
from ratings.statistics.within_evaluators import WithinCorrelation, within_correlation

Matrix = npt.NDArray[np.float64]

#: With fewer sets a fit looks better than it is: published fits near 1 had six vehicles.
FEWEST_SETS = 8


@dataclass(frozen=True, slots=True)
class EarAndMeter:
    """How scores follow one measured figure; everything is None when undefined.

    Attributes
    ----------
    sets
        Sets that were both measured and scored.
    within
        The relation inside evaluators; its intervals take scores for independent.
    slope, slope_lower, slope_upper
        Points per unit of the figure (per dB for a level), with 95 % interval from the scatter of
        the sets' means about the line: the sets are what was drawn, however many people rated
        them. The interval is None under 3 sets.
    correlation, r_squared
        Between the figure and the sets' means.
    left_out_error, left_out_error_without_meter
        Root mean square error, in points, for a set that the line was not fitted to; and the same
        when the mean of the other sets is the prediction. The meter helps when the first is the
        smaller. None under 4 sets.
    residuals
        Mean score of a set less what the line says, shape (all sets,); NaN for sets not counted.
    warning
        A caution for the reader; empty when there is none.
    reason
        Why the line is undefined, in words; empty when it is defined.
    """

    sets: int
    within: WithinCorrelation
    slope: float | None = None
    slope_lower: float | None = None
    slope_upper: float | None = None
    correlation: float | None = None
    r_squared: float | None = None
    left_out_error: float | None = None
    left_out_error_without_meter: float | None = None
    residuals: Matrix | None = None
    warning: str = ""
    reason: str = ""


def ear_and_meter(scores: Matrix, figure: Matrix) -> EarAndMeter:
    """Compare scores with a figure measured once per set.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN is missing. Each evaluator's own level is taken out first, so
        that holes do not tilt the line.
    figure
        Shape (sets,), such as a level in decibels; NaN is missing.

    References
    ----------
    Least squares of the sets' means; leaving one out: Allen DM (1974) Technometrics 16:125-127
    (from memory).
    """
    measured = ~np.isnan(figure)
    scores = np.where(measured, scores, np.nan)
    within = within_correlation(
        np.broadcast_to(figure, scores.shape).ravel(),
        scores.ravel(),
        np.repeat(np.arange(scores.shape[0]), scores.shape[1]),
    )
    means = _set_means(scores)
    used = ~np.isnan(means)
    x, y = figure[used], means[used]
    warning = _warning(len(x))
    if len(x) < 2 or np.ptp(x) < 1e-12:
        reason = "Fewer than two sets." if len(x) < 2 else "The figure is the same for every set."
        return EarAndMeter(len(x), within, warning=warning, reason=reason)
    r = correlation(x, y)
    spread = x - x.mean()
    slope = float(spread @ y) / float(spread @ spread)
    off = y - y.mean() - slope * spread
    residuals = np.full(len(figure), np.nan)
    residuals[used] = off
    lower, upper = _slope_interval(slope, spread, off)
    with_meter, without = _left_out_errors(spread, y, off)
    return EarAndMeter(
        sets=len(x),
        within=within,
        slope=slope,
        slope_lower=lower,
        slope_upper=upper,
        correlation=r,
        r_squared=None if r is None else r * r,
        left_out_error=with_meter,
        left_out_error_without_meter=without,
        residuals=residuals,
        warning=warning,
    )


def _set_means(scores: Matrix) -> Matrix:
    """Mean of each set from evaluator plus set, so that a missing score moves nothing else."""
    known = ~np.isnan(scores)
    kept = known.any(axis=1)
    means = mean_of_known(scores, axis=0)
    if known[kept][:, known.any(axis=0)].all():
        return means
    sets = np.flatnonzero(known.any(axis=0))
    rows, columns = np.nonzero(known)
    design = np.zeros((len(rows), scores.shape[0] + scores.shape[1]))
    design[np.arange(len(rows)), rows] = 1.0
    design[np.arange(len(rows)), scores.shape[0] + columns] = 1.0
    fitted = np.linalg.lstsq(design, scores[known], rcond=None)[0]
    adjusted = np.full(scores.shape[1], np.nan)
    adjusted[sets] = fitted[: scores.shape[0]][kept].mean() + fitted[scores.shape[0] :][sets]
    return adjusted


def _warning(sets: int) -> str:
    if sets >= FEWEST_SETS:
        return ""
    return f"{sets} sets are few: under {FEWEST_SETS} a line fits well by chance."


def _slope_interval(slope: float, spread: Matrix, off: Matrix) -> tuple[float | None, float | None]:
    df = len(spread) - 2
    if df < 1:
        return None, None
    error = math.sqrt(float(off @ off) / df / float(spread @ spread))
    reach = t_quantile(0.975, df) * error
    return slope - reach, slope + reach


def _left_out_errors(
    spread: Matrix, means: Matrix, off: Matrix
) -> tuple[float | None, float | None]:
    sets = len(spread)
    if sets < 4:
        return None, None
    leverage = 1 / sets + np.square(spread) / float(spread @ spread)
    if (leverage > 1 - 1e-9).any():
        return None, None
    with_meter = off / (1 - leverage)
    without = (means - means.mean()) * sets / (sets - 1)
    return math.sqrt(np.square(with_meter).mean()), math.sqrt(np.square(without).mean())
