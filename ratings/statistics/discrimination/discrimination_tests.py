"""The share of right answers that a d' gives in each kind of difference test, and back."""

import math
from functools import lru_cache
from typing import Literal

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import normal_quantile

Matrix = npt.NDArray[np.float64]

#: ``paired``: which of two is stronger; ``three``: which of three is stronger; ``triangle``: which
#: of three is the odd one; ``duo-trio``: which of two equals the reference; ``tetrad``: which two
#: of four belong together.
DiscriminationTest = Literal["paired", "three", "triangle", "duo-trio", "tetrad"]

GUESSING: dict[DiscriminationTest, float] = {
    "paired": 1 / 2,
    "three": 1 / 3,
    "triangle": 1 / 3,
    "duo-trio": 1 / 2,
    "tetrad": 1 / 3,
}
#: How far out a standard normal variable is followed.
PLACES_TO = 9.0
#: Beyond it the share of right answers is 1 to the last digit that a double holds, or nearly.
LARGEST_D_PRIME = 40.0


def share_right(d_prime: float, test: DiscriminationTest) -> float:
    """Return the share of right answers.

    Parameters
    ----------
    d_prime
        Distance of the two stimuli in standard deviations of one, 0 or more.

    Notes
    -----
    Equal normal distributions and an unbiased listener. The integrals are Gauss-Legendre sums,
    good to 1e-12.

    References
    ----------
    Ennis DM (1993) Journal of Sensory Studies 8:353-370; for the tetrad Ennis JM, Ennis DM,
    Yip D, O'Mahony M (1998) Br. J. Math. Stat. Psychol. 51:205-215 (both from memory).
    """
    if test == "paired":
        return float(_below(d_prime / math.sqrt(2)))
    if test == "duo-trio":
        two, six = _below(d_prime / math.sqrt(2)), _below(d_prime / math.sqrt(6))
        return float(1 - two - six + 2 * two * six)
    place, weight = _places()
    if test == "triangle":
        # Over positive places only: the integrand has a corner at 0.
        shift, distance = d_prime * math.sqrt(2 / 3), (place + PLACES_TO) / 2
        density = np.exp((np.square(place) - np.square(distance)) / 2)
        heard = _below(shift - distance * math.sqrt(3)) + _below(-shift - distance * math.sqrt(3))
        return float((weight * density) @ heard)
    if test == "three":
        return float(weight @ np.square(_below(place + d_prime)))
    other = _below(place - d_prime)
    return float(1 - 2 * (weight @ (2 * _below(place) * other - np.square(other))))


def d_prime_of_share(share: float, test: DiscriminationTest) -> float:
    """Return d'; 0 at the guess rate and below, infinite for a share of 1."""
    if share >= 1:
        return math.inf
    if share <= GUESSING[test]:
        return 0.0
    if test == "paired":
        return math.sqrt(2) * normal_quantile(share)
    from scipy.optimize import brentq

    if share_right(LARGEST_D_PRIME, test) <= share:
        return LARGEST_D_PRIME
    found = brentq(lambda d: share_right(d, test) - share, 0.0, LARGEST_D_PRIME, xtol=1e-12)
    return float(found)


def slope_at(d_prime: float, test: DiscriminationTest) -> float:
    """Return how much the share of right answers grows per unit of d'."""
    step = 1e-4
    low = max(0.0, d_prime - step)
    return (share_right(d_prime + step, test) - share_right(low, test)) / (d_prime + step - low)


def _below(place: Matrix | float) -> Matrix:
    from scipy.special import ndtr

    return np.asarray(ndtr(place), dtype=np.float64)


@lru_cache(maxsize=1)
def _places() -> tuple[Matrix, Matrix]:
    """Places of a standard normal variable and their weights."""
    from numpy.polynomial.legendre import leggauss

    place, weight = leggauss(300)
    place, weight = place * PLACES_TO, weight * PLACES_TO
    return place, weight * np.exp(-np.square(place) / 2) / math.sqrt(2 * math.pi)
