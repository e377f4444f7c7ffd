"""Do the sets differ for these evaluators at all? Friedman's rank test."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ratings.statistics.agreement.kendall import Concordance, concordance, variance_ratio
from ratings.statistics.distributions import f_upper_tail


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
