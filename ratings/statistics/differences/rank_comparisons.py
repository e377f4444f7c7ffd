"""Which pairs of sets differ, by the ranks that evaluators gave them; and Quade's test."""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail
from ratings.statistics.largest_t import tukey_p
from ratings.statistics.mixed_models.mixed_tests import FTest
from ratings.statistics.ranks import doubled_ranks

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RankComparisons:
    """Two-sided p for every pair of sets, each array of shape (pairs,).

    Attributes
    ----------
    first, second
        Columns of the sets compared.
    rank_sum_difference
        Rank sum of the first minus that of the second.
    conover, siegel, exact
        Unadjusted; `ratings.statistics.adjusted_p.holm` adjusts them.
    nemenyi
        Adjusted for all pairs.
    """

    first: npt.NDArray[np.intp]
    second: npt.NDArray[np.intp]
    rank_sum_difference: Matrix
    conover: Matrix
    siegel: Matrix
    exact: Matrix
    nemenyi: Matrix


def rank_comparisons(scores: Matrix) -> RankComparisons | None:
    """Compare all pairs of sets after Friedman's test.

    Parameters
    ----------
    scores
        Shape (evaluators, sets), no NaN.

    Returns
    -------
    RankComparisons or None
        None for fewer than two evaluators or sets, or where nobody tells the sets apart.

    Notes
    -----
    Conover's is the powerful one and takes ties into account; Nemenyi's and Siegel's take the
    spread of untied ranks, and the exact one their distribution, so that ties make them cautious.
    R ``PMCMRplus::frdAllPairs{Conover,Nemenyi,Siegel,Exact}Test``.

    References
    ----------
    Conover WJ (1999) Practical Nonparametric Statistics, 3rd ed., p. 371; Nemenyi PB (1963);
    Siegel S, Castellan NJ (1988); Eisinga R et al. (2017) BMC Bioinformatics 18:68.
    """
    evaluators, sets = scores.shape
    if evaluators < 2 or sets < 2:
        return None
    ranks = doubled_ranks(scores) / 2
    sums = ranks.sum(axis=0)
    first, second = np.triu_indices(sets, 1)
    apart = sums[first] - sums[second]
    if not np.ptp(ranks, axis=1).any():
        return None
    unexplained = evaluators * float(np.square(ranks).sum()) - float(np.square(sums).sum())
    df = (evaluators - 1) * (sets - 1)
    # All evaluators in one order leave nothing unexplained: any difference is then certain.
    with np.errstate(divide="ignore"):
        t = np.abs(apart) / math.sqrt(max(2 * unexplained / df, 0.0))
    conover = [
        1.0 if d == 0 else f_upper_tail(float(x * x), 1, df) for x, d in zip(t, apart, strict=True)
    ]
    z = np.abs(apart) / math.sqrt(evaluators * sets * (sets + 1) / 6)
    return RankComparisons(
        first=first,
        second=second,
        rank_sum_difference=apart,
        conover=np.array(conover),
        siegel=np.array([math.erfc(value / math.sqrt(2)) for value in z]),
        exact=_exact(np.abs(apart), evaluators, sets),
        nemenyi=tukey_p(z, sets, np.array(math.inf)),
    )


def _exact(apart: Matrix, evaluators: int, sets: int) -> Matrix:
    """Return P(|difference of two rank sums| >= apart) for untied ranks."""
    one = np.zeros(2 * sets - 1)
    for low, high in itertools.permutations(range(sets), 2):
        one[high - low + sets - 1] += 1 / (sets * (sets - 1))
    chance = np.ones(1)
    for _ in range(evaluators):
        chance = np.convolve(chance, one)
    distance = np.abs(np.arange(chance.size) - chance.size // 2)
    return np.array([min(1.0, float(chance[distance >= value - 1e-9].sum())) for value in apart])


def quade_test(scores: Matrix) -> FTest | None:
    """Test whether sets differ, evaluators who spread them wider counting more.

    Parameters
    ----------
    scores
        Shape (evaluators, sets), no NaN.

    Returns
    -------
    FTest or None
        None where evaluators agree to the last rank, or nobody tells the sets apart.

    References
    ----------
    Quade D (1979) JASA 74:680-683; R ``quade.test``.
    """
    evaluators, sets = scores.shape
    if evaluators < 2 or sets < 2:
        return None
    ranges = np.ptp(scores, axis=1)
    weights = doubled_ranks(ranges[None])[0] / 2
    centred = weights[:, None] * (doubled_ranks(scores) / 2 - (sets + 1) / 2)
    total = float(np.square(centred).sum())
    between = float(np.square(centred.sum(axis=0)).sum()) / evaluators
    if total - between <= 1e-9 * max(total, 1.0):
        return None
    f = (evaluators - 1) * between / (total - between)
    df1, df2 = sets - 1, (evaluators - 1) * (sets - 1)
    return FTest(f, float(df1), float(df2), f_upper_tail(f, df1, df2))
