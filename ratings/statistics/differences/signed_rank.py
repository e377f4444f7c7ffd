"""Exact tests of paired differences: Wilcoxon's signed ranks with ties and zeros, sign flips."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from ratings.statistics.ranks import AVERAGE_DECIMALS, doubled_ranks

Matrix = npt.NDArray[np.float64]

#: With more differences the normal approximation is as good, and quicker.
MOST_EXACT = 400
#: With more differences half of the signs are too many to list.
MOST_DIFFERENCES = 30


@dataclass(frozen=True, slots=True)
class SignedRankTest:
    """What the signs of the ranked differences say.

    Attributes
    ----------
    differences
        Number of differences, zeros included.
    zeros
        How many of them are zero.
    rank_sum
        Sum of the ranks of the positive differences, R's V.
    p_exact, p_greater, p_less
        Exact conditional p: two-sided, for positive and for negative differences. None with more
        than `MOST_EXACT` differences.
    z, p_normal
        Normal approximation without continuity correction, two-sided; None when every difference
        is zero.
    """

    differences: int
    zeros: int
    rank_sum: float
    p_exact: float | None
    p_greater: float | None
    p_less: float | None
    z: float | None
    p_normal: float | None

    @property
    def p(self) -> float | None:
        """Two-sided p, exact where it can be had."""
        return self.p_normal if self.p_exact is None else self.p_exact


def signed_rank(
    differences: Matrix, step: float | None = None, zeros: Literal["ranked", "dropped"] = "ranked"
) -> SignedRankTest:
    """Test whether differences are symmetric about zero.

    Parameters
    ----------
    differences
        In score points, shape (differences,); NaN is left out.
    step
        Step of the scale that the differences are rounded to, so that equal ones are equal. None
        rounds to 1e-9: for averages, which lie on no step.
    zeros
        Whether zeros take part in the ranking and then fall out (Pratt's way, ours) or are
        dropped before (Wilcoxon's).

    Notes
    -----
    Every sign is equally likely under the null hypothesis, given the ranks as they are. The
    distribution of the sum is built one difference at a time over doubled ranks, which ties leave
    whole. The same as R ``coin::wilcoxsign_test(distribution = "exact")``; tables for untied
    ranks, which other libraries use here, are wrong with ties or zeros.

    References
    ----------
    Pratt JW (1959) JASA 54:655-667.
    """
    values = _rounded(differences, step)
    number, without = values.size, int((values == 0).sum())
    if zeros == "dropped":
        values = values[values != 0]
    ranks = doubled_ranks(np.abs(values)[None])[0] if values.size else np.zeros(0, dtype=np.int64)
    counted = values != 0
    ranks, positive = ranks[counted], values[counted] > 0
    doubled = int(ranks[positive].sum())
    p_exact = p_greater = p_less = None
    if number <= MOST_EXACT:
        p_exact, p_greater, p_less = _exact(ranks, doubled)
    spread = math.sqrt(float(np.square(ranks.astype(np.float64)).sum()) / 4)
    z = (doubled - float(ranks.sum()) / 2) / spread if spread > 0 else None
    return SignedRankTest(
        differences=number,
        zeros=without,
        rank_sum=doubled / 2,
        p_exact=p_exact,
        p_greater=p_greater,
        p_less=p_less,
        z=z,
        p_normal=None if z is None else math.erfc(abs(z) / math.sqrt(2)),
    )


def _rounded(differences: Matrix, step: float | None) -> Matrix:
    values = np.asarray(differences, dtype=np.float64)
    values = values[~np.isnan(values)]
    if step is None:
        return np.round(values, AVERAGE_DECIMALS)
    steps: Matrix = np.round(values / step) * step
    return steps


def _exact(ranks: npt.NDArray[np.int64], doubled: int) -> tuple[float, float, float]:
    # Odd multiples of a half only occur with ties; without them the table is half as long.
    unit = 1 if (ranks % 2).any() else 2
    total = int(ranks.sum()) // unit
    chance = np.zeros(total + 1)
    chance[0] = 1.0
    filled = 0
    for rank in ranks // unit:
        filled += int(rank)
        chance[rank : filled + 1] = chance[rank : filled + 1] + chance[: filled + 1 - rank]
        chance[: filled + 1] /= 2
    found = doubled // unit
    greater, less = float(chance[found:].sum()), float(chance[: found + 1].sum())
    return min(1.0, 2 * min(greater, less)), min(1.0, greater), min(1.0, less)


def sign_flip_p(differences: npt.NDArray[np.float64]) -> float | None:
    """Test whether the mean difference is zero, without assuming a distribution.

    Parameters
    ----------
    differences
        One mean difference per evaluator, in score points, shape (evaluators,); NaN is left out.

    Returns
    -------
    float or None
        Two-sided: the share of all sign changes whose mean is at least as far from zero. None for
        no differences, or more than `MOST_DIFFERENCES`, where Student's t says the same.

    Notes
    -----
    The evaluators are split in halves; all sums of one half are looked up among the sorted sums of
    the other, so that 2^n sign changes cost 2^(n/2).

    References
    ----------
    Fisher RA (1935) The Design of Experiments, section 21 (from memory).
    """
    values = np.asarray(differences, dtype=np.float64)
    values = np.abs(np.round(values[~np.isnan(values)], AVERAGE_DECIMALS))
    # Only the sum matters, and a zero has no sign.
    total = abs(float(np.nansum(np.round(differences, AVERAGE_DECIMALS))))
    counted = values[values > 0]
    if not values.size or counted.size > MOST_DIFFERENCES:
        return None
    half = counted.size // 2
    first, second = _sums(counted[:half]), np.sort(_sums(counted[half:]))
    # A sum as large as the one found must count in spite of rounding.
    least = total - 10.0**-AVERAGE_DECIMALS * (1 + counted.size)
    if least <= 0:
        return 1.0
    above = second.size - np.searchsorted(second, least - first, side="left")
    return min(1.0, 2 * float(above.sum()) / (first.size * second.size))


def _sums(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    sums = np.zeros(1)
    for value in values:
        sums = np.concatenate([sums - value, sums + value])
    return sums
