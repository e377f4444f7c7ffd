"""How much the scores speak for a difference, by a measure that may be looked at at any time."""

import math

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]

#: Variance of the true difference that is weighed against none, in squared standard deviations over
#: evaluators. Of 0.25, 1 and 4 it stops soonest, or nearly, at differences of 1 to 2 standard
#: deviations with 6 to 16 evaluators (own simulation, `tests/benchmarks/looks.py` prints its own).
SPREAD = 1.0


def log_evidence(t: npt.ArrayLike, evaluators: npt.ArrayLike, spread: float = SPREAD) -> Matrix:
    """Return the logarithm of the scale-invariant mixture likelihood ratio of Student's t.

    Parameters
    ----------
    t
        Mean over its standard error; NaN is passed on. Broadcast with `evaluators`.
    evaluators
        How many values the mean is of; two or more.
    spread
        Variance g of the true mean in squared standard deviations, normal around zero.

    Notes
    -----
    ``(1 + n g)^-1/2 ((1 + t^2/v) / (1 + t^2/((1 + n g) v)))^((v + 1)/2)`` with v = n - 1. Of normal
    values without a difference it is a martingale that starts at 1 in the data reduced by scale, so
    that it ever exceeds 1/alpha with a chance of alpha at most.

    References
    ----------
    Lai TL (1976) Ann. Statist. 4:265-280 (optional looks); Rouder JN et al. (2009) Psychon. Bull.
    Rev. 16:225-237 (closed form); Perez-Ortiz MF et al. (2024) Ann. Statist. (validity; from
    memory).
    """
    n = np.asarray(evaluators, dtype=np.float64)
    wide = 1 + n * spread
    share = np.square(np.asarray(t, dtype=np.float64)) / (n - 1)
    ratio = np.log1p(share) - np.log1p(share / wide)
    return np.asarray(n / 2 * ratio - np.log(wide) / 2)


def most_evidence(evaluators: int, spread: float = SPREAD) -> float:
    """Return the logarithm that `log_evidence` stays below, however large t is."""
    return (evaluators - 1) / 2 * math.log1p(evaluators * spread)


def t_to_reach(log_bound: float, evaluators: int, spread: float = SPREAD) -> float:
    """Return the |t| at which `log_evidence` reaches a bound; infinite where none does."""
    wide = 1 + evaluators * spread
    power = (2 * log_bound + math.log(wide)) / evaluators
    if power >= math.log(wide):
        return math.inf
    if power <= 0:
        return 0.0
    grown = math.exp(power)
    return math.sqrt((evaluators - 1) * (grown - 1) / (1 - grown / wide))
