"""Do the evaluators rank the sets alike, do the sets differ? Kendall's W and Friedman's test."""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ratings.statistics.agreement.rank_sums import (
    MOST_SETS,
    THRESHOLD_BUDGET,
    null_distribution,
)
from ratings.statistics.distributions import (
    chi_square_upper_tail,
    f_quantile,
    f_upper_tail,
    normal_quantile,
    t_quantile,
)
from ratings.statistics.missing import complete_part, without_empty
from ratings.statistics.ranks import doubled_ranks
from ratings.study.constants import ALPHA

#: Why W is undefined where every evaluator gave all sets the same score.
NOBODY_DISCRIMINATES = "Nobody told the sets apart."


@dataclass(frozen=True, slots=True)
class Concordance:
    """Kendall's W and what it is worth for a panel of this size.

    Attributes
    ----------
    w
        Tie-corrected coefficient, 0 to 1; None when it is undefined, and `reason` says why.
    w_uncorrected
        The same without the correction for ties.
    lower, upper
        95 % interval of W over evaluators; see `concordance`. None for fewer than 3 evaluators
        and for complete agreement, whose spread nobody can tell.
    s
        Sum of squared deviations of the rank sums from their mean.
    tie_correction
        T, the sum over evaluators and ties of t cubed minus t.
    mean_rank_correlation
        Mean Spearman correlation over pairs of evaluators that W stands for, (kW - 1)/(k - 1).
    chi_square, df, p_chi_square
        Friedman's statistic; known to be wrong for small panels.
    f, f_df1, f_df2, p_f
        F approximation; None where its degrees of freedom are not positive. `f` is infinite for
        W = 1.
    p_exact
        Permutation p, ties included; None for panels that are too large to enumerate.
    p
        The one to quote: exact where there is one, else from F.
    smallest_w
        The smallest W significant at 5 % for this panel size without ties; None if even W = 1
        would not be.
    evaluators, sets
        What the figures stand on.
    left_out, sets_left_out
        Evaluators who did not rate every set, or sets that not everyone rated, left out to have a
        complete table; see `ratings.statistics.missing.complete_part`.
    reason
        Why the coefficient is undefined, in words; empty when it is defined.
    """

    evaluators: int
    sets: int
    left_out: int
    sets_left_out: int = 0
    w: float | None = None
    w_uncorrected: float | None = None
    lower: float | None = None
    upper: float | None = None
    s: float | None = None
    tie_correction: float | None = None
    mean_rank_correlation: float | None = None
    chi_square: float | None = None
    df: int | None = None
    p_chi_square: float | None = None
    f: float | None = None
    f_df1: float | None = None
    f_df2: float | None = None
    p_f: float | None = None
    p_exact: float | None = None
    p: float | None = None
    smallest_w: float | None = None
    reason: str = ""

    @property
    def is_common_order_certain(self) -> bool:
        """Whether the interval lies above 1/k, what chance alone gives on average.

        Complete agreement of three or more has no interval, and counts; two evaluators never do.
        """
        if self.w is None or self.evaluators < 3:
            return False
        return self.w > 1 - 1e-12 if self.lower is None else self.lower > 1 / self.evaluators


def concordance(scores: npt.NDArray[np.float64]) -> Concordance:
    """Compute Kendall's W with its significance and interval.

    Parameters
    ----------
    scores
        Shape (evaluators, sets), in any unit; NaN is a missing score. Averages are rounded to
        1e-9 before they are ranked. Of a table with holes the larger complete part is taken:
        evaluators or sets are left out, and counted.

    Returns
    -------
    Concordance
        Undefined, with its reason, for one evaluator, one set, or when nobody told the sets apart.

    Notes
    -----
    W and chi-square are R irr ``kendall(t(x), correct = TRUE)`` and, the latter,
    ``scipy.stats.friedmanchisquare``. F has n - 1 - 2/k and (k - 1)(n - 1 - 2/k) degrees of
    freedom. The exact p permutes every evaluator's own ranks, ties included.

    The interval is a jackknife over evaluators: the mean rank correlation is a mean over pairs,
    so leaving one evaluator out is the textbook way to its standard error. It is taken on
    Fisher's z of a correlation within classes of k, half the logarithm of (k - 1)W / (1 - W), with
    Student's t (k - 1 degrees of freedom), and is no narrower than panels of evaluators alike in
    kind would scatter: a few may happen to differ all by as much. It needs no random numbers, so
    that the page does not flicker. Of simulated panels of 3 to 12 evaluators and 3 to 6 sets it
    held W in 94 to 99 %, in 88 to 100 % for 3 sets, and in about 80 % where each evaluator had a
    chance of one in six to hear a strong order the other way round (how many such there are, a
    panel without one cannot tell): ``tests/benchmarks/agreement_claims.py``. Limits: it answers for
    other evaluators of the same kind hearing the same sets. A bootstrap would draw the same
    evaluator twice, who then agrees with himself, and so reads too high.

    References
    ----------
    Kendall MG, Babington Smith B (1939) Ann. Math. Statist. 10:275-287.
    Kendall M, Gibbons JD (1990) Rank Correlation Methods, 5th ed., chapters 6 and 7 (from memory).
    Arvesen JN (1969) Jackknifing U-statistics, Ann. Math. Statist. 40:2076-2100 (from memory).
    Fisher RA (1925) Statistical Methods for Research Workers, section 39: z of an intraclass
    correlation in k (from memory).
    """
    scores = without_empty(scores)
    kept_evaluators, kept_sets = complete_part(scores)
    left_out, sets_left_out = int((~kept_evaluators).sum()), int((~kept_sets).sum())
    scores = scores[kept_evaluators][:, kept_sets]
    evaluators, sets = scores.shape
    reason = _reason_against(evaluators, sets, left_out)
    if not reason and bool((np.ptp(scores, axis=1) <= 1e-9).all()):
        reason = NOBODY_DISCRIMINATES
    if reason:
        return Concordance(evaluators, sets, left_out, sets_left_out, reason=reason)
    return _concordance_of_ranks(doubled_ranks(scores), left_out, sets_left_out)


def _reason_against(evaluators: int, sets: int, left_out: int) -> str:
    if evaluators == 0 and left_out:
        return "No evaluator rated every set."
    if evaluators == 0:
        return "There are no scores."
    if sets < 2:
        return "One set cannot be ranked."
    if evaluators < 2 and left_out:
        return "Only one evaluator rated every set."
    if evaluators < 2:
        return "One evaluator cannot agree with anybody."
    return ""


def _concordance_of_ranks(
    doubled: npt.NDArray[np.int64], left_out: int, sets_left_out: int
) -> Concordance:
    k, n = doubled.shape
    centred = doubled / 2 - (n + 1) / 2
    square_sums = np.square(centred).sum(axis=1)
    s = float(np.square(centred.sum(axis=0)).sum())
    largest = float(k * square_sums.sum())
    w = min(1.0, s / largest)
    lower, upper = _jackknife_interval(centred, square_sums, w)
    f, df1, df2, p_f = _f_approximation(w, k, n)
    chi_square = k * (n - 1) * w
    null = null_distribution(tuple(sorted(tuple(map(int, np.sort(row))) for row in doubled)))
    p_exact = None if null is None else null.p_value(int(np.square(doubled.sum(axis=0)).sum()))
    p_chi_square = chi_square_upper_tail(chi_square, n - 1)
    return Concordance(
        evaluators=k,
        sets=n,
        left_out=left_out,
        sets_left_out=sets_left_out,
        w=w,
        w_uncorrected=12 * s / (k**2 * (n**3 - n)),
        lower=lower,
        upper=upper,
        s=s,
        tie_correction=float(k * (n**3 - n) - 12 * square_sums.sum()),
        mean_rank_correlation=(k * w - 1) / (k - 1),
        chi_square=chi_square,
        df=n - 1,
        p_chi_square=p_chi_square,
        f=f,
        f_df1=df1,
        f_df2=df2,
        p_f=p_f,
        p_exact=p_exact,
        p=next(p for p in (p_exact, p_f, p_chi_square) if p is not None),
        smallest_w=smallest_significant_w(k, n),
    )


def _f_approximation(
    w: float, k: int, n: int
) -> tuple[float | None, float | None, float | None, float | None]:
    df1 = n - 1 - 2 / k
    if df1 <= 0:
        return None, None, None, None
    df2 = (k - 1) * df1
    f = variance_ratio(w, k)
    return f, df1, df2, f_upper_tail(f, df1, df2)


def variance_ratio(w: float, evaluators: int) -> float:
    """Return the F that W stands for, (k - 1)W / (1 - W); infinite for complete agreement."""
    return math.inf if w > 1 - 1e-12 else (evaluators - 1) * w / (1 - w)


def _jackknife_interval(
    centred: npt.NDArray[np.float64], square_sums: npt.NDArray[np.float64], w: float
) -> tuple[float | None, float | None]:
    k, n = centred.shape
    without = square_sums.sum() - square_sums
    if k < 3 or (without <= 0).any():
        return None, None
    s_without = np.square(centred.sum(axis=0) - centred).sum(axis=1)
    correlation_without = (s_without / without - 1) / (k - 2)
    correlation = (k * w - 1) / (k - 1)
    if correlation > 1 - 1e-12:
        return None, None
    spread = correlation_without - correlation_without.mean()
    own_error = (k - 1) / k * math.sqrt((k - 1) / k * float(np.square(spread).sum()))
    reach = t_quantile(0.975, k - 1) * own_error
    # The upper end starts at what chance alone gives on average: closer to 0, z runs away.
    lower, upper = (
        _moved(start, side * max(reach / (start * (1 - start)), _alike_reach(start, k, n)))
        if start > 0
        else 0.0
        for start, side in ((w, -1), (max(w, 1 / k), 1))
    )
    return lower, upper


def _moved(w: float, way: float) -> float:
    """Return the W whose logit, twice Fisher's z but for a constant, lies farther by `way`."""
    return 1 / (1 + math.exp(min(-math.log(w / (1 - w)) - way, 700.0)))


def _alike_reach(w: float, k: int, n: int) -> float:
    """Return half of the 95 % interval of log F for evaluators alike, who differ by chance alone.

    By the delta method from the non-central F distribution whose mean ratio is the F of `w`.
    """
    df1 = n - 1 - 2 / k
    beyond = df1 * max(variance_ratio(w, k) - 1, 0.0)
    between = 2 * (df1 + 2 * beyond) / (df1 + beyond) ** 2
    return normal_quantile(0.975) * math.sqrt(between + 2 / ((k - 1) * df1))


@lru_cache(maxsize=1024)
def smallest_significant_w(evaluators: int, sets: int, alpha: float = ALPHA) -> float | None:
    """Return the smallest W that is significant at `alpha` for this panel size, without ties.

    Returns
    -------
    float or None
        Exact where the null distribution can be enumerated, else from the F approximation; None
        when even complete agreement would not be significant, or for fewer than 2 of either.

    References
    ----------
    Enumeration, as the tables of Friedman (1937) JASA 32:675-701; 4 evaluators, 4 sets: 0.65.
    """
    if evaluators < 2 or sets < 2:
        return None
    largest = evaluators**2 * (sets**3 - sets) / 12
    pattern = tuple(range(2, 2 * sets + 2, 2))
    null = (
        null_distribution((pattern,) * evaluators, THRESHOLD_BUDGET) if sets <= MOST_SETS else None
    )
    if null is not None:
        significant = null.square_sums[null.upper_tail <= alpha]
        if not significant.size:
            return None
        doubled_total = evaluators * sets * (sets + 1)
        return float((significant[0] - doubled_total**2 / sets) / 4 / largest)
    df1 = sets - 1 - 2 / evaluators
    if df1 <= 0:
        return None
    f = f_quantile(1 - alpha, df1, (evaluators - 1) * df1)
    return f / (evaluators - 1 + f)


def friedman_test(scores: npt.NDArray[np.float64]) -> Concordance:
    """Test whether the sets differ, by ranks within each evaluator.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN is missing, treated as in `concordance`.

    Returns
    -------
    Concordance
        Kendall's W puts the same question to the evaluators, so the figures are the same, but for
        ``f_df1, f_df2, p_f``: F has Iman and Davenport's n - 1 and (k - 1)(n - 1) degrees of
        freedom here. `p` is exact where there is an exact one, else from this F.

    References
    ----------
    Friedman M (1937) JASA 32:675-701; R ``friedman.test``, ``scipy.stats.friedmanchisquare``.
    Iman RL, Davenport JM (1980) Communications in Statistics A9:571-595.
    """
    found = concordance(scores)
    if found.w is None:
        return found
    f, df1 = variance_ratio(found.w, found.evaluators), float(found.sets - 1)
    df2 = (found.evaluators - 1) * df1
    p_f = f_upper_tail(f, df1, df2)
    p = p_f if found.p_exact is None else found.p_exact
    return replace(found, f=f, f_df1=df1, f_df2=df2, p_f=p_f, p=p)
