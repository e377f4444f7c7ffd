"""How far is one judge from another, or a trainee from the reference? Bland and Altman's limits."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import t_quantile
from ratings.statistics.ranks import AVERAGE_DECIMALS, doubled_ranks

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LimitsOfAgreement:
    """Two judges of the same things; everything but `pairs` is None when undefined.

    Attributes
    ----------
    pairs
        Things that both judged.
    bias, bias_lower, bias_upper
        Mean of the first minus the second, with 95 % interval.
    sd
        Standard deviation of the differences.
    lower, upper
        Where 95 % of differences lie, bias minus and plus 1.96 `sd`.
    limit_se
        Standard error of either limit, sqrt(3 / pairs) times `sd`.
    concordance
        Lin's coefficient: 1 only when both give the same numbers.
    pearson, spearman, tau_b
        Correlations; None without spread.
    """

    pairs: int
    bias: float | None = None
    bias_lower: float | None = None
    bias_upper: float | None = None
    sd: float | None = None
    lower: float | None = None
    upper: float | None = None
    limit_se: float | None = None
    concordance: float | None = None
    pearson: float | None = None
    spearman: float | None = None
    tau_b: float | None = None
    reason: str = ""


def limits_of_agreement(first: Matrix, second: Matrix) -> LimitsOfAgreement:
    """Compare two judges.

    Parameters
    ----------
    first, second
        Scores of the same things, shape (things,); what either did not score is passed over.

    Notes
    -----
    Each thing counts once: average repeats first, else the limits come out too narrow.

    References
    ----------
    Bland JM, Altman DG (1986) Lancet 327:307-310. Lin LI (1989) Biometrics 45:255-268.
    """
    known = ~np.isnan(first) & ~np.isnan(second)
    one, two = first[known], second[known]
    pairs = len(one)
    if pairs < 2:
        return LimitsOfAgreement(pairs, reason="Fewer than two things were judged by both.")
    difference = np.round(one - two, AVERAGE_DECIMALS)
    bias, sd = float(difference.mean()), float(difference.std(ddof=1))
    reach = t_quantile(0.975, pairs - 1) * sd / math.sqrt(pairs)
    covariance = float(((one - one.mean()) * (two - two.mean())).mean())
    apart = one.var() + two.var() + (one.mean() - two.mean()) ** 2
    ranks = doubled_ranks(np.stack([one, two])).astype(np.float64)
    return LimitsOfAgreement(
        pairs=pairs,
        bias=bias,
        bias_lower=bias - reach,
        bias_upper=bias + reach,
        sd=sd,
        lower=bias - 1.96 * sd,
        upper=bias + 1.96 * sd,
        limit_se=math.sqrt(3 / pairs) * sd,
        concordance=2 * covariance / float(apart) if apart > 1e-18 else None,
        pearson=correlation(one, two),
        spearman=correlation(ranks[0], ranks[1]),
        tau_b=_tau_b(ranks[0], ranks[1]),
    )


def correlation(one: Matrix, two: Matrix) -> float | None:
    """Return Pearson's correlation, -1 to 1; None without spread or for fewer than two."""
    if len(one) < 2:
        return None
    first, second = one - one.mean(), two - two.mean()
    spread = math.sqrt(float(first @ first) * float(second @ second))
    return None if spread < 1e-12 else max(-1.0, min(1.0, float(first @ second) / spread))


def _tau_b(one: Matrix, two: Matrix) -> float | None:
    first = np.sign(one[:, None] - one[None, :]).ravel()
    second = np.sign(two[:, None] - two[None, :]).ravel()
    spread = math.sqrt(float(first @ first) * float(second @ second))
    return None if spread == 0 else float(first @ second) / spread
