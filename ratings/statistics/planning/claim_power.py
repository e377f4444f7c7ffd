"""How often will one set be called clear? Power of the claim that the verdict makes."""

import math
from functools import lru_cache

import numpy as np

from ratings.statistics.distributions import t_quantile
from ratings.statistics.largest_t import chi_scales, dunnett_critical
from ratings.statistics.planning.paired_power import (
    detectable_shift,
    evaluators_needed,
    power_of_t,
)
from ratings.study.constants import ALPHA

#: Fewer evaluators cannot stand for a panel, whatever their p (our judgement).
FEWEST_TO_CLAIM = 3
#: Correlation over evaluators of two candidates' differences within pairs. Half is what the control
#: is to them where evaluators repeat themselves exactly (Dunnett CW (1955) JASA 50:1096-1121). Each
#: pair has scores of its own, so that it is less where they scatter, and the chances are larger:
#: of the plan's 80 % about 90 in a panel of six with seven candidates.
SHARED = 0.5


def claim_df(evaluators: float, candidates: int, shared: float = SHARED) -> float:
    """Return the degrees of freedom of a candidate's difference within pairs.

    Parameters
    ----------
    shared
        Correlation over evaluators of two candidates' differences, from 0 to 1.

    Notes
    -----
    Those of `ratings.statistics.mixed_models.balanced_tests.balanced_contrasts` at the mean squares
    to expect: one less than the evaluators for one candidate, up to four times that for many,
    because what the evaluators disagree about is learned from all candidates. Tables of scores
    without pairs have more where there are several candidates.
    """
    between, within = 1 + (candidates - 1) * shared, 1 - shared
    return (evaluators - 1) * candidates**2 / (between**2 + (candidates - 1) * within**2)


def claim_critical(
    evaluators: float, candidates: int, attributes: int, shared: float = SHARED
) -> float:
    """Return the |t| above which a difference is called clear, whatever else is found."""
    df, alpha = claim_df(evaluators, candidates, shared), ALPHA / attributes
    if candidates == 1:
        return t_quantile(1 - alpha / 2, df)
    alike = np.full((candidates, candidates), shared) + (1 - shared) * np.eye(candidates)
    return float(dunnett_critical(alike, np.full(candidates, df), alpha)[0])


def claim_power(
    difference: float,
    sd: float,
    evaluators: int,
    candidates: int = 1,
    attributes: int = 1,
    shared: float = SHARED,
) -> float:
    """Return the chance that one named set is called clear on one named attribute.

    Parameters
    ----------
    difference
        True difference of that set to the control, in score points.
    sd
        Standard deviation over evaluators of that difference, in score points; positive. Of each
        evaluator's own mean over conditions and repeats, so that it holds how far the evaluators
        disagree about the set, how well each repeats himself, and the steps of the scale.
    evaluators
        Each rates every set.
    candidates, attributes
        How many are claimed about: p is adjusted for both, by Dunnett's and by Holm's method.
    shared
        As for `claim_df`.

    Returns
    -------
    float
        0 for fewer evaluators than can claim anything.

    Notes
    -----
    The noncentral t beyond Dunnett's critical value at 5 % over the attributes, which is where
    Holm's method begins. Where the panel also finds something on other attributes Holm asks less,
    and the chance is larger. For one candidate and one attribute the same as R
    ``power.t.test(type = "paired", strict = TRUE)``; ``tests/benchmarks/claim_power.py`` compares
    it with the verdicts on invented panels.
    """
    if evaluators < FEWEST_TO_CLAIM:
        return 0.0
    shift = abs(difference) / sd * math.sqrt(evaluators)
    critical = claim_critical(evaluators, candidates, attributes, shared)
    return power_of_t(shift, claim_df(evaluators, candidates, shared), critical)


def claimable_difference(
    sd: float,
    evaluators: int,
    candidates: int = 1,
    attributes: int = 1,
    shared: float = SHARED,
    power: float = 0.8,
) -> float | None:
    """Return the true difference that is called clear with the wished chance; None if none is."""
    if evaluators < FEWEST_TO_CLAIM:
        return None
    critical = claim_critical(evaluators, candidates, attributes, shared)
    shift = detectable_shift(claim_df(evaluators, candidates, shared), critical, power)
    return sd / math.sqrt(evaluators) * shift


def evaluators_to_claim(
    difference: float, sd: float, candidates: int = 1, attributes: int = 1, power: float = 0.8
) -> int | None:
    """Return the smallest panel that calls a true difference clear with the wished chance.

    Returns
    -------
    int or None
        None for no difference, no spread, or more than 100 000 evaluators.
    """
    # Every comparison at its Bonferroni share, with the fewest degrees of freedom, needs more.
    most = evaluators_needed(difference, sd, power, ALPHA / (attributes * candidates))
    if most is None:
        return None
    # The critical value falls slowly with the evaluators: that of a panel which is enough finds one
    # which is not too large, and that of this one another which is enough.
    low, high = FEWEST_TO_CLAIM, max(most, FEWEST_TO_CLAIM)
    while low < high:
        low = _smallest(difference / sd, candidates, attributes, low, high, power, at=high)
        high = _smallest(difference / sd, candidates, attributes, low, high, power, at=low)
        low = min(low + 1, high)
    return high


def _smallest(
    effect: float, candidates: int, attributes: int, low: int, high: int, power: float, at: int
) -> int:
    """Return the smallest panel from `low` to `high`, with the critical value of the panel `at`."""
    critical = claim_critical(at, candidates, attributes)
    while low < high:
        middle = (low + high) // 2
        shift = abs(effect) * math.sqrt(middle)
        if power_of_t(shift, claim_df(middle, candidates), critical) >= power:
            high = middle
        else:
            low = middle + 1
    return high


def reliable_difference(se: float, df: float, critical: float, power: float = 0.8) -> float:
    """Return the true difference that another panel like this would call clear with a chance.

    Parameters
    ----------
    se, df
        Standard error as this panel showed it, in score points, and its degrees of freedom.
    critical
        Student's t that a claim must pass.

    Notes
    -----
    The standard error is an estimate, here and in the other panel, and a chance of 80 % at the one
    that happened to be found is less on average. Both are integrated over.
    """
    if not math.isfinite(se) or not df > 0:
        return math.inf
    return se * _reliable_shift(round(df, 2), round(critical, 4), power)


@lru_cache(maxsize=1024)
def _reliable_shift(df: float, critical: float, power: float) -> float:
    from scipy.optimize import brentq
    from scipy.special import ndtr

    scales, weights = chi_scales(df)

    def lacking(shift: float) -> float:
        found = ndtr(shift * scales[:, None] - critical * scales[None, :])
        return power - float(weights @ found @ weights)

    far = critical + 2.0
    while lacking(far) > 0:
        far *= 1.5
    return float(brentq(lacking, 0.0, far, xtol=1e-4))
