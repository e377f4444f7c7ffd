"""Can they tell at all? Critical numbers, d' and its interval for difference tests."""

import math
from dataclasses import dataclass
from typing import Literal

from ratings.statistics.discrimination.discrimination_tests import (
    GUESSING,
    DiscriminationTest,
    d_prime_of_share,
    slope_at,
)
from ratings.statistics.distributions import normal_quantile
from ratings.study.constants import ALPHA

Interval = Literal["exact", "likelihood"]


@dataclass(frozen=True, slots=True)
class Discrimination:
    """What a number of right answers says.

    Attributes
    ----------
    correct, trials
        Right answers, and answers in all.
    share, share_above_guessing
        Share of right answers, never below the guess rate; and the share of trials in which the
        difference was heard rather than guessed, 0 to 1.
    d_prime, se
        Sensitivity and its standard error. None, when everything was right, for which no finite
        value is the best; the standard error also at the guess rate and below.
    lower, upper
        95 % interval of d'; `upper` is None when it is without bound.
    p
        Chance of so many right answers by guessing.
    smallest_significant
        Right answers needed at 5 %; None when even all would not do.
    """

    correct: int
    trials: int
    share: float
    share_above_guessing: float
    d_prime: float | None
    se: float | None
    lower: float
    upper: float | None
    p: float
    smallest_significant: int | None


def discrimination(
    correct: int, trials: int, test: DiscriminationTest, interval: Interval = "exact"
) -> Discrimination | None:
    """Judge right answers of one difference test, one-sided.

    Parameters
    ----------
    correct, trials
        Right answers, and answers in all. "No difference" is not an answer of these tests.
    interval
        ``exact``: Clopper and Pearson's interval and the binomial tail. ``likelihood``: the
        d' that the likelihood ratio against the plain share does not reject, and the signed root of
        the ratio for guessing; narrower, approximate.

    Returns
    -------
    Discrimination or None
        None without trials, or when more are right than there were.

    References
    ----------
    ISO 4120:2021 (triangle), ISO 5495:2005 (paired), ISO 10399:2017 (duo-trio); read in extract.
    Brockhoff PB, Christensen RHB (2010) Food Quality and Preference 21:330-338 (from memory).
    """
    if trials < 1 or not 0 <= correct <= trials:
        return None
    guess = GUESSING[test]
    share = max(correct / trials, guess)
    d_prime = d_prime_of_share(share, test)
    low, high = (_exact_ends if interval == "exact" else _likelihood_ends)(correct, trials, guess)
    se = None
    if guess < share < 1:
        se = math.sqrt(share * (1 - share) / trials) / slope_at(d_prime, test)
    return Discrimination(
        correct=correct,
        trials=trials,
        share=share,
        share_above_guessing=(share - guess) / (1 - guess),
        d_prime=_finite(d_prime),
        se=se,
        lower=d_prime_of_share(low, test),
        upper=_finite(d_prime_of_share(high, test)),
        p=(
            chance_of_at_least(correct, trials, guess)
            if interval == "exact"
            else _likelihood_p(correct, trials, guess)
        ),
        smallest_significant=smallest_significant_correct(trials, test),
    )


def chance_of_at_least(correct: int, trials: int, share: float) -> float:
    """Return the chance of at least so many right answers; R ``pbinom(correct - 1, ...)``."""
    from scipy.special import bdtrc

    return 1.0 if correct <= 0 else float(bdtrc(correct - 1, trials, share))


def smallest_significant_correct(
    trials: int, test: DiscriminationTest, alpha: float = ALPHA, *, two_sided: bool = False
) -> int | None:
    """Return how many right answers are needed.

    Parameters
    ----------
    two_sided
        For ``paired``, when it was open beforehand which of the two would be chosen: `alpha` is
        shared by both sides.

    Returns
    -------
    int or None
        None when even all would not be significant.

    References
    ----------
    ISO 4120, ISO 5495, ISO 10399: the tables of these are binomial tails; 21 of 30 paired,
    two-sided, is an example of ISO 5495:2005/Amd 1:2016 (second hand).
    """
    level = alpha / 2 if two_sided else alpha
    for correct in range(trials + 1):
        if chance_of_at_least(correct, trials, GUESSING[test]) <= level:
            return correct
    return None


def similarity_p(
    correct: int, trials: int, test: DiscriminationTest, largest_share_above_guessing: float
) -> float:
    """Return the chance of so few right answers if more than a set share heard the difference.

    A small value speaks for "too alike to matter". Exact binomial tail.
    """
    guess = GUESSING[test]
    share = guess + (1 - guess) * largest_share_above_guessing
    return 1.0 - chance_of_at_least(correct + 1, trials, share)


@dataclass(frozen=True, slots=True)
class PairedWithNoDifference:
    """Sensitivity from paired answers in which "no difference" was allowed.

    Attributes
    ----------
    threshold, threshold_se
        Half width of what counts as no difference, in the unit of d'.
    d_prime, d_prime_se
        Sensitivity, positive for the second of the two.
    """

    threshold: float
    threshold_se: float
    d_prime: float
    d_prime_se: float


def paired_with_no_difference(first: int, none: int, second: int) -> PairedWithNoDifference | None:
    """Estimate d' from the three numbers of answers.

    Returns
    -------
    PairedWithNoDifference or None
        None when one of the two sides, or "no difference", was never answered.

    References
    ----------
    Braun V, Rogeaux M, Schneid N, O'Mahony M, Rousseau B (2004) Food Quality and Preference
    15:501-507 (from memory).
    """
    trials = first + none + second
    if min(first, none, second) <= 0:
        return None
    low, high = first / trials, (first + none) / trials
    z_low, z_high = normal_quantile(low), normal_quantile(high)
    # Each quantile moves by the share's error over the normal density there.
    var_low = low * (1 - low) / trials / _density(z_low) ** 2
    var_high = high * (1 - high) / trials / _density(z_high) ** 2
    joint = low * (1 - high) / trials / (_density(z_low) * _density(z_high))
    return PairedWithNoDifference(
        threshold=(z_high - z_low) / math.sqrt(2),
        threshold_se=math.sqrt((var_low + var_high - 2 * joint) / 2),
        d_prime=-(z_low + z_high) / math.sqrt(2),
        d_prime_se=math.sqrt((var_low + var_high + 2 * joint) / 2),
    )


def _density(z: float) -> float:
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def _finite(d_prime: float) -> float | None:
    return None if math.isinf(d_prime) else d_prime


def _exact_ends(correct: int, trials: int, guess: float) -> tuple[float, float]:
    from scipy.special import betaincinv

    del guess
    low = 0.0 if correct == 0 else float(betaincinv(correct, trials - correct + 1, 0.025))
    high = 1.0 if correct == trials else float(betaincinv(correct + 1, trials - correct, 0.975))
    return low, high


def _likelihood_ends(correct: int, trials: int, guess: float) -> tuple[float, float]:
    from scipy.optimize import brentq

    best = correct / trials
    lowest = _log_likelihood(correct, trials, best) - normal_quantile(0.975) ** 2 / 2

    def excess(share: float) -> float:
        return lowest - _log_likelihood(correct, trials, share)

    low = guess
    if best > guess and excess(guess) > 0:
        low = float(brentq(excess, guess, best, xtol=1e-14))
    high = 1.0 if best >= 1 else float(brentq(excess, best, 1 - 1e-15, xtol=1e-14))
    return low, high


def _likelihood_p(correct: int, trials: int, guess: float) -> float:
    from scipy.special import ndtr

    best = max(correct / trials, guess)
    gain = _log_likelihood(correct, trials, best) - _log_likelihood(correct, trials, guess)
    return float(ndtr(-math.sqrt(max(0.0, 2 * gain))))


def _log_likelihood(correct: int, trials: int, share: float) -> float:
    from scipy.special import xlog1py, xlogy

    return float(xlogy(correct, share) + xlog1py(trials - correct, -share))
