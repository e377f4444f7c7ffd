"""The exact chance that a t which is looked at again and again passes a bound by luck alone."""

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.statistics.sequential.mixture import SPREAD, most_evidence, t_to_reach

Matrix = npt.NDArray[np.float64]

#: Longer panels are judged by the bound that holds for any number of looks.
MOST_LOOKS = 40
_POINTS, _NODES = 48, 16


class _Ahead(NamedTuple):
    """Chance to pass a bound at a later look, by the angle of t now.

    Attributes
    ----------
    angle
        Rising, from 0 to where the bound of this look lies.
    root
        Square root of the chance, which is nearer to straight lines.
    onset
        Angle from which the very next evaluator alone can carry t past the next bound: the chance
        bends there.
    """

    angle: Matrix
    root: Matrix
    onset: float

    def chance(self, angle: Matrix) -> Matrix:
        """Return the chance between the angles that it is known at."""
        return np.square(np.interp(angle, self.angle, self.root))


def crossing_chance(bounds: Mapping[int, float]) -> float:
    """Return the chance that |t| reaches its bound at any look, of normal values of mean zero.

    Parameters
    ----------
    bounds
        By number of evaluators, two or more; missing or infinite where nothing can be claimed.

    Notes
    -----
    Exact but for a numerical error of up to 2 % of the result (4 % for 40 looks).
    Of n such values the direction is uniform on the sphere and independent of the length. So T =
    sum / root of the sum of squares is a Markov chain: the next value over the present length is
    the tangent of an angle a with a density of cos(a)^(n-1), and T becomes
    ``root(1 + T^2) sin(a + arctan T)``. The chance is summed backwards from the last look, as group
    sequential trials do for known variance (Armitage P, McPherson CK, Rowe BC (1969) J. R. Statist.
    Soc. A 132:235-244; from memory). Here T = root(n) sin(angle), t = root(n - 1) tan(angle).
    """
    looks = sorted(n for n, bound in bounds.items() if math.isfinite(bound))
    if not looks:
        return 0.0
    first, last = looks[0], looks[-1]
    limits = {
        n: math.atan(bounds.get(n, math.inf) / math.sqrt(n - 1)) for n in range(first, last + 1)
    }
    end = limits[last]
    ahead = _Ahead(np.array([0.0, end]), np.zeros(2), end)
    for n in range(last - 1, first - 1, -1):
        ahead = _one_back(n, limits[n], limits[n + 1], ahead)
    steps, weights = _nodes()
    total = 0.0
    for low, high in ((0, ahead.onset), (ahead.onset, limits[first]), (limits[first], math.pi / 2)):
        angle = low + (high - low) * steps
        past = 1.0 if low == limits[first] else ahead.chance(angle)
        total += (high - low) * float(weights @ (np.cos(angle) ** (first - 2) * past))
    return 2 * _height(first - 1) * total


def _one_back(n: int, limit: float, next_limit: float, ahead: _Ahead) -> _Ahead:
    """Sum over what evaluator n + 1 may say, for angles after n."""
    bound, bend = (math.sqrt(n + 1) * math.sin(each) for each in (next_limit, ahead.onset))
    # Below, T cannot reach the bound by one value: its largest is root(1 + T^2).
    onset = min(math.asin(min(1.0, math.sqrt(max(bound**2 - 1, 0.0) / n))), limit)
    even = np.linspace(0, 1, _POINTS)
    angle = np.concatenate([onset * even, onset + (limit - onset) * even**2])
    now = np.sqrt(n) * np.sin(angle)
    reach, turn = np.hypot(1, now)[:, None], np.arctan(now)[:, None]
    crossed, bent = (np.arcsin(np.minimum(each / reach, 1)) for each in (bound, bend))
    quarter = np.pi / 2
    ends = turn - quarter, turn + quarter
    bends = -crossed, -bent, bent, crossed, np.full_like(bent, quarter)
    cuts = np.hstack([*ends, *bends, np.pi - crossed, np.pi - bent])
    cuts = np.sort(np.clip(cuts, *ends), axis=1)
    width, middle = np.diff(cuts), (cuts[:, 1:] + cuts[:, :-1]) / 2
    steps, weights = _nodes()
    whole = cuts[:, :-1, None] + width[:, :, None] * steps
    then = np.abs(reach[:, :, None] * np.sin(whole)) / math.sqrt(n + 1)
    later = ahead.chance(np.arcsin(np.minimum(then, 1)))
    is_past = np.abs(reach * np.sin(middle)) >= bound
    past = np.where(is_past[:, :, None], 1.0, later)
    summed = (np.cos(whole - turn[:, :, None]) ** (n - 1) * past) @ weights
    return _Ahead(angle, np.sqrt(_height(n) * (summed * width).sum(axis=1)), onset)


def _height(n: int) -> float:
    """Return the factor of cos(a)^(n-1) that makes it a density from -pi/2 to pi/2."""
    return math.exp(math.lgamma((n + 1) / 2) - math.lgamma(n / 2)) / math.sqrt(math.pi)


@lru_cache(maxsize=1)
def _nodes() -> tuple[Matrix, Matrix]:
    """Return nodes and weights from 0 to 1, dense at both ends, where roots begin and end."""
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    nodes = (nodes + 1) / 2
    return nodes**2 * (3 - 2 * nodes), weights * 3 * nodes * (1 - nodes)


@lru_cache(maxsize=256)
def look_bound(first: int, last: int, level: float, spread: float = SPREAD) -> float:
    """Return the logarithm of the evidence that luck alone reaches at any look with a chance.

    Parameters
    ----------
    first, last
        Evaluators at the first and at the last look, with one after each evaluator between.
    level
        The chance.
    spread
        As for `ratings.statistics.sequential.mixture.log_evidence`.

    Returns
    -------
    float
        Infinite where there is no look; that of 1/level, which holds for any number of looks,
        beyond `MOST_LOOKS`. exp of it is 7.8 for looks from 2 to 16 at 5 %.
    """
    if last < first:
        return math.inf
    if last > MOST_LOOKS:
        return -math.log(level)
    from scipy.optimize import brentq

    def excess(log_bound: float) -> float:
        bounds = {n: t_to_reach(log_bound, n, spread) for n in range(first, last + 1)}
        return math.log(max(crossing_chance(bounds), 1e-12) / level)

    high = min(-math.log(level), most_evidence(last, spread))
    # Near the most that few evaluators can show the chance falls steeply.
    return float(brentq(excess, 0.0, high, xtol=1e-5 if last < 6 else 2e-3))
