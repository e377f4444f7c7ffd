"""Two one-sided tests of no audible difference, and the smallest difference to be found."""

import math

from ratings.statistics.distributions import t_quantile


def equivalence_p(difference: float, se: float, df: float, margin: float) -> float:
    """Return the p of two one-sided tests that the difference is smaller than a margin.

    Parameters
    ----------
    difference, se
        Estimate and its standard error, in score points.
    df
        Degrees of freedom of the standard error.
    margin
        In score points, positive: a smaller difference does not matter. Set before listening.

    Returns
    -------
    float
        The larger of both one-sided p; below 0.05 exactly when the 90 % interval lies inside the
        margin on both sides. A large p does not say that there is a difference.

    References
    ----------
    Schuirmann DJ (1987) Journal of Pharmacokinetics and Biopharmaceutics 15:657-680;
    R ``emmeans::test(side = "equivalence", delta = margin)``.
    """
    from scipy.special import stdtr

    if se <= 0:
        return 0.0 if abs(difference) < margin else 1.0
    return float(stdtr(df, (abs(difference) - margin) / se))


def smallest_detectable(se: float, df: float, power: float = 0.8, alpha: float = 0.05) -> float:
    """Return the true difference that a two-sided test at `alpha` would find with chance `power`.

    Parameters
    ----------
    se, df
        Standard error of the difference in score points, and its degrees of freedom.

    Returns
    -------
    float
        In score points; infinite without degrees of freedom.

    Notes
    -----
    From the noncentral t; the chance of a find on the wrong side is left out. The same as R
    ``pwr::pwr.t.test(n, power = 0.8, type = "paired")`` solved for d, times the standard deviation.
    """
    from scipy.optimize import brentq
    from scipy.special import nctdtr, ndtri

    if not math.isfinite(se) or not df > 0:
        return math.inf
    critical = t_quantile(1 - alpha / 2, df)

    def lacking(shift: float) -> float:
        return power - 1 + float(nctdtr(df, shift, critical))

    far = critical + float(ndtri(power)) + 1.0
    while lacking(far) > 0:
        far *= 1.5
    return se * float(brentq(lacking, 0.0, far, xtol=1e-10))
