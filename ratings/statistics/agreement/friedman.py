"""Do the sets differ for these evaluators at all? Friedman's rank test."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.agreement.kendall import concordance
from ratings.statistics.distributions import f_upper_tail


@dataclass(frozen=True, slots=True)
class FriedmanTest:
    """Friedman's test, the same question as Kendall's W put to the sets.

    Attributes
    ----------
    chi_square, df, p_chi_square
        Friedman's statistic, tie-corrected; None when undefined.
    f, f_df1, f_df2, p_f
        Iman and Davenport's F with n - 1 and (k - 1)(n - 1) degrees of freedom.
    p_exact
        Permutation p; None for panels too large to enumerate.
    left_out, sets_left_out
        As in `ratings.statistics.agreement.kendall.Concordance`.
    reason
        Why it is undefined, in words.
    """

    left_out: int
    sets_left_out: int = 0
    chi_square: float | None = None
    df: int | None = None
    p_chi_square: float | None = None
    f: float | None = None
    f_df1: float | None = None
    f_df2: float | None = None
    p_f: float | None = None
    p_exact: float | None = None
    reason: str = ""


def friedman_test(scores: npt.NDArray[np.float64]) -> FriedmanTest:
    """Test whether the sets differ, by ranks within each evaluator.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN is missing, treated as in `concordance`.

    References
    ----------
    Friedman M (1937) JASA 32:675-701; R ``friedman.test``, ``scipy.stats.friedmanchisquare``.
    Iman RL, Davenport JM (1980) Communications in Statistics A9:571-595.
    """
    found = concordance(scores)
    if found.w is None or found.f is None:
        f = df1 = df2 = p_f = None
    else:
        f, df1 = found.f, float(found.sets - 1)
        df2 = (found.evaluators - 1) * df1
        p_f = f_upper_tail(f, df1, df2)
    return FriedmanTest(
        left_out=found.left_out,
        sets_left_out=found.sets_left_out,
        chi_square=found.chi_square,
        df=found.df,
        p_chi_square=found.p_chi_square,
        f=f,
        f_df1=df1,
        f_df2=df2,
        p_f=p_f,
        p_exact=found.p_exact,
        reason=found.reason,
    )
