"""Do scores follow a figure within each evaluator? Repeated-measures correlation and slope."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail, normal_quantile, t_quantile
from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class WithinCorrelation:
    """Common slope and correlation inside evaluators; None when undefined.

    Attributes
    ----------
    correlation, lower, upper
        Repeated-measures correlation with its 95 % interval; the interval is None under 2 degrees
        of freedom, and for a perfect correlation.
    p
        Test that it is zero.
    df
        Scores less evaluators less one.
    slope, slope_se, slope_lower, slope_upper
        Score points per unit of the figure, with 95 % interval; a slope of 0 without an interval
        when no score varies.
    evaluators, scores
        What it stands on.
    """

    evaluators: int
    scores: int
    df: int
    correlation: float | None = None
    lower: float | None = None
    upper: float | None = None
    p: float | None = None
    slope: float | None = None
    slope_se: float | None = None
    slope_lower: float | None = None
    slope_upper: float | None = None
    reason: str = ""


def within_correlation(figure: Matrix, score: Matrix, evaluator: Codes) -> WithinCorrelation:
    """Fit parallel lines, one per evaluator.

    Parameters
    ----------
    figure, score
        Shape (scores,); rows with NaN in either are passed over.
    evaluator
        Whose score it is, numbered from 0, shape (scores,).

    Notes
    -----
    Each evaluator's own level is taken out, so that people who rate high everywhere do not feign a
    relation. Scores of one evaluator count as independent. Where the figure is one number per set
    for everybody, what it does not explain of a set is shared by all evaluators, and these
    intervals are too narrow: see `ratings.statistics.ear_and_meter`.

    References
    ----------
    Bland JM, Altman DG (1995) BMJ 310:446. Bakdash JZ, Marusich LR (2017) Frontiers in Psychology
    8:456. The same as pingouin ``rm_corr``.
    """
    known = ~np.isnan(figure) & ~np.isnan(score)
    x, y, who = figure[known], score[known], evaluator[known]
    counts = np.bincount(who) if len(who) else np.zeros(0, dtype=np.intp)
    evaluators = int((counts > 0).sum())
    df = len(x) - evaluators - 1
    if df < 1:
        return WithinCorrelation(evaluators, len(x), df, reason="Too few scores for a slope.")
    x = x - ratio(np.bincount(who, x), counts)[who]
    y = y - ratio(np.bincount(who, y), counts)[who]
    xx, yy, xy = float(x @ x), float(y @ y), float(x @ y)
    if xx < 1e-12:
        return WithinCorrelation(evaluators, len(x), df, reason="The figure does not vary.")
    if yy < 1e-12:
        reason = "No evaluator's score varies."
        return WithinCorrelation(evaluators, len(x), df, slope=0.0, reason=reason)
    r = max(-1.0, min(1.0, xy / math.sqrt(xx * yy)))
    slope = xy / xx
    slope_se = math.sqrt(max(0.0, yy - slope * xy) / df / xx)
    reach = t_quantile(0.975, df) * slope_se
    lower, upper = _interval(r, df)
    return WithinCorrelation(
        evaluators=evaluators,
        scores=len(x),
        df=df,
        correlation=r,
        lower=lower,
        upper=upper,
        p=f_upper_tail(df * r * r / (1 - r * r), 1, df) if abs(r) < 1 - 1e-12 else 0.0,
        slope=slope,
        slope_se=slope_se,
        slope_lower=slope - reach,
        slope_upper=slope + reach,
    )


def _interval(r: float, df: int) -> tuple[float | None, float | None]:
    if df < 2 or abs(r) > 1 - 1e-12:
        return None, None
    reach = normal_quantile(0.975) / math.sqrt(df - 1)
    return math.tanh(math.atanh(r) - reach), math.tanh(math.atanh(r) + reach)
