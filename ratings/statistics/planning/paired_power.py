"""How many evaluators does a difference need? Power of a paired comparison of means."""

import math

from ratings.statistics.distributions import t_quantile
from ratings.statistics.largest_t import chi_scales
from ratings.study.constants import ALPHA

#: More than any panel; beyond it the answer is that the plan is not sound.
MOST_EVALUATORS = 100_000
#: Good to 1e-9 as long as the true difference is below 40 standard errors.
_SCALES = 1025


def paired_power(difference: float, sd: float, evaluators: float, alpha: float = ALPHA) -> float:
    """Return the chance that a true difference is found significant.

    Parameters
    ----------
    difference
        True mean difference, in score points.
    sd
        Standard deviation over evaluators of the difference, in score points; positive.
    evaluators
        Two or more; a fraction is allowed, to find where a power is reached.
    alpha
        Two-sided.

    Returns
    -------
    float
        NaN for fewer than two evaluators or no spread.

    References
    ----------
    Cohen J (1988) Statistical Power Analysis for the Behavioral Sciences, 2nd ed. The same as R
    ``power.t.test(type = "paired", strict = TRUE)``.
    """
    if evaluators <= 1 or sd <= 0:
        return math.nan
    df = evaluators - 1
    shift = abs(difference) / sd * math.sqrt(evaluators)
    return power_of_t(shift, df, t_quantile(1 - alpha / 2, df))


def power_of_t(shift: float, df: float, critical: float) -> float:
    """Return the chance that |t| exceeds its critical value.

    Parameters
    ----------
    shift
        True difference in standard errors, not negative.
    df
        Degrees of freedom of t.
    """
    from scipy.special import ndtr

    # Over the standard deviation that may be found; scipy's noncentral t fails in the far tails.
    scales, weights = chi_scales(df, _SCALES)
    reach = critical * scales
    return 1 - float(weights @ (ndtr(reach - shift) - ndtr(-reach - shift)))


def evaluators_needed(
    difference: float, sd: float, power: float = 0.8, alpha: float = ALPHA
) -> int | None:
    """Return the smallest panel that finds a true difference with the wished chance.

    Returns
    -------
    int or None
        None for no difference, no spread, or more than 100 000 evaluators. 10, 20 and 34 for half
        a point at a standard deviation of 0.5, 0.75 and 1.
    """
    exact = evaluators_needed_exactly(difference, sd, power, alpha)
    return None if exact is None else max(2, math.ceil(exact - 1e-9))


def evaluators_needed_exactly(
    difference: float, sd: float, power: float = 0.8, alpha: float = ALPHA
) -> float | None:
    """Return the same with its fraction, as R ``pwr::pwr.t.test`` does; never below 1.1."""
    if not difference or sd <= 0:
        return None

    def short(evaluators: float) -> float:
        return power - paired_power(difference, sd, evaluators, alpha)

    # The sum over standard deviations fails near no degrees of freedom at all.
    low, high = 1.1, 4.0
    while short(high) > 0:
        low, high = high, high * 2
        if high > MOST_EVALUATORS:
            return None
    if short(low) <= 0:
        return low
    from scipy.optimize import brentq

    return float(brentq(short, low, high, xtol=1e-10))


def detectable_difference(
    sd: float, evaluators: int, power: float = 0.8, alpha: float = ALPHA
) -> float | None:
    """Return the smallest true difference that this panel finds with the wished chance.

    Returns
    -------
    float or None
        In score points; None for fewer than two evaluators or no spread.
    """
    if evaluators < 2 or sd <= 0:
        return None
    df = evaluators - 1
    return sd / math.sqrt(evaluators) * detectable_shift(df, t_quantile(1 - alpha / 2, df), power)


def detectable_shift(df: float, critical: float, power: float = 0.8) -> float:
    """Return the true difference, in standard errors, that is found with the wished chance.

    The same as R ``pwr::pwr.t.test(n, power = 0.8, type = "paired")`` solved for d, times the root
    of n.
    """
    from scipy.optimize import brentq
    from scipy.special import ndtri

    def lacking(shift: float) -> float:
        return power - power_of_t(shift, df, critical)

    far = critical + float(ndtri(power)) + 1.0
    while lacking(far) > 0:
        far *= 1.5
    return float(brentq(lacking, 0.0, far, xtol=1e-10))


def fewest_for_an_exact_test(alpha: float = ALPHA) -> int:
    """Return the smallest panel whose signed ranks can be significant, all differing one way.

    Two to the power of one less than the evaluators must reach one over alpha: 6 at 5 %.
    """
    return 1 + math.ceil(-math.log2(alpha) - 1e-12)
