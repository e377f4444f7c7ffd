"""How many evaluators does a difference need? Power of a paired comparison of means."""

import math

from ratings.statistics.differences.equivalence import smallest_detectable
from ratings.statistics.distributions import t_quantile

#: In standard errors of the mean: above the first a find on the wrong side has a chance below
#: 1e-9, above the second scipy's noncentral t begins to fail.
NEAR_SHIFT, FAR_SHIFT = 6.0, 36.0
#: More than any panel; beyond it the answer is that the plan is not sound.
MOST_EVALUATORS = 100_000


def paired_power(difference: float, sd: float, evaluators: float, alpha: float = 0.05) -> float:
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
    from scipy.special import chdtr, nctdtr

    df = evaluators - 1
    shift = abs(difference) / sd * math.sqrt(evaluators)
    critical = t_quantile(1 - alpha / 2, df)
    if shift > FAR_SHIFT:
        # scipy's noncentral t is undefined out there; the mean hardly scatters any more against
        # its distance, only the standard deviation does.
        return float(chdtr(df, df * (shift / critical) ** 2))
    wrong_side = float(nctdtr(df, shift, -critical)) if shift < NEAR_SHIFT else 0.0
    return 1 - float(nctdtr(df, shift, critical)) + wrong_side


def evaluators_needed(
    difference: float, sd: float, power: float = 0.8, alpha: float = 0.05
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
    difference: float, sd: float, power: float = 0.8, alpha: float = 0.05
) -> float | None:
    """Return the same with its fraction, as R ``pwr::pwr.t.test`` does; never below 1.0001."""
    if not difference or sd <= 0:
        return None

    def short(evaluators: float) -> float:
        return power - paired_power(difference, sd, evaluators, alpha)

    low, high = 1.0001, 4.0
    while short(high) > 0:
        low, high = high, high * 2
        if high > MOST_EVALUATORS:
            return None
    if short(low) <= 0:
        return low
    from scipy.optimize import brentq

    return float(brentq(short, low, high, xtol=1e-10))


def detectable_difference(
    sd: float, evaluators: int, power: float = 0.8, alpha: float = 0.05
) -> float | None:
    """Return the smallest true difference that this panel finds with the wished chance.

    Returns
    -------
    float or None
        In score points; None for fewer than two evaluators or no spread.
    """
    if evaluators < 2 or sd <= 0:
        return None
    return smallest_detectable(sd / math.sqrt(evaluators), evaluators - 1, power, alpha)


def fewest_for_an_exact_test(alpha: float = 0.05) -> int:
    """Return the smallest panel whose signed ranks can be significant, all differing one way.

    Two to the power of one less than the evaluators must reach one over alpha: 6 at 5 %.
    """
    return 1 + math.ceil(-math.log2(alpha) - 1e-12)
