"""The largest of several t at once: many sets against one control."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail, t_quantile
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]

#: Points of the lattice that corrects for correlations without a common factor: few where a factor
#: explains them to 1e-3, because the error shrinks with what is left to correct.
_LATTICE = (127, 1021)
#: Different degrees of freedom at which the critical value is solved for; between them it is a
#: polynomial, off by less than 1e-3 of it from one degree of freedom up.
_NODES = 5
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71)


@dataclass(frozen=True, slots=True)
class _Factor:
    """Correlations b_i b_j: what the comparisons share is the control."""

    loadings: Matrix
    left: float

    @property
    def is_exact(self) -> bool:
        return self.left < 1e-8

    @property
    def lattice(self) -> int:
        return _LATTICE[0] if self.left < 1e-3 else _LATTICE[1]


def dunnett_p(t: Matrix, correlation: Matrix, df: Matrix) -> Matrix:
    """Adjust two-sided p for comparing several sets with one control.

    Parameters
    ----------
    t
        Student's t of each comparison, shape (comparisons,).
    correlation
        Of the differences, shape (comparisons, comparisons); one half throughout in a balanced
        table.
    df
        Degrees of freedom of each, shape (comparisons,); may be infinite.

    Returns
    -------
    numpy.ndarray
        P(max |T| >= |t_i|), shape (comparisons,), each with its own degrees of freedom.

    Notes
    -----
    Where one common factor explains the correlations (always for one or two comparisons, and in
    balanced tables) the probability is a double integral by the trapezoidal rule, good to 1e-8.
    Otherwise the nearest such case is corrected by the difference of two lattice rules on the same
    points. No random numbers: the same p every time. The same as R
    ``mvtnorm::pmvt``, ``scipy.stats.multivariate_t.cdf``.

    References
    ----------
    Dunnett CW (1955) JASA 50:1096-1121; (1964) Biometrics 20:482-491.
    Genz A, Bretz F (2002) Journal of Computational and Graphical Statistics 11:950-971.
    """
    size = np.abs(np.asarray(t, dtype=np.float64))
    freedom = np.broadcast_to(np.asarray(df, dtype=np.float64), size.shape)
    if _is_one(correlation):
        # Student's own: nothing to integrate.
        each = zip(size.tolist(), freedom.tolist(), strict=True)
        return np.array([f_upper_tail(value**2, 1.0, own) for value, own in each])
    factor = _factor(correlation)
    inside = _all_inside(size, freedom, factor.loadings)
    if not factor.is_exact:
        inside = inside + _beyond_factor(size, freedom, correlation, factor)
    return np.clip(1 - inside, 0.0, 1.0)


def dunnett_critical(correlation: Matrix, df: Matrix, alpha: float = ALPHA) -> Matrix:
    """Return the |t| that the largest of all comparisons exceeds with probability `alpha`.

    Parameters
    ----------
    correlation, df
        As for `dunnett_p`.

    Returns
    -------
    numpy.ndarray
        Shape (comparisons,), for the degrees of freedom of each.
    """
    freedom = np.asarray(df, dtype=np.float64)
    if _is_one(correlation):
        return np.array([t_quantile(1 - alpha / 2, own) for own in freedom.tolist()])
    factor = _factor(correlation)
    # Its logarithm is smooth in 1/df: a few values serve any number of comparisons.
    inverse = np.round(1 / freedom, 9)
    nodes = np.unique(inverse)
    if nodes.size > _NODES:
        nodes = np.linspace(nodes[0], nodes[-1], _NODES)
    with np.errstate(divide="ignore"):
        node_df = 1 / nodes
    critical = _critical_of_factor(
        tuple(np.sort(np.round(factor.loadings, 8)).tolist()),
        tuple(np.round(node_df, 6).tolist()),
        alpha,
    )
    if not factor.is_exact:
        step = 1e-4
        shift = _beyond_factor(critical, node_df, correlation, factor)
        rising = _all_inside(critical + step, node_df, factor.loadings) - (1 - alpha)
        critical = critical - shift * step / rising
    if np.isin(inverse, nodes).all():
        return np.asarray(critical[np.searchsorted(nodes, inverse)])
    log_critical = np.polyfit(nodes - nodes[0], np.log(critical), _NODES - 1)
    return np.exp(np.polyval(log_critical, inverse - nodes[0]))


def _is_one(correlation: Matrix) -> bool:
    """Tell whether all comparisons are the same one, as for evaluators who rate all sets alike."""
    return bool(np.abs(correlation).min() >= 1 - 1e-7)


def _factor(correlation: Matrix) -> _Factor:
    number = len(correlation)
    apart = ~np.eye(number, dtype=bool)
    if number == 1:
        return _Factor(np.zeros(1), 0.0)
    if number == 2:
        shared = float(correlation[0, 1])
        root = math.sqrt(min(abs(shared), 1 - 1e-12))
        return _Factor(np.array([root, math.copysign(root, shared)]), 0.0)
    loadings = np.sqrt(np.clip((correlation.sum(axis=1) - 1) / (number - 1), 0.0, 1 - 1e-9))
    for _ in range(200):
        others = float(loadings @ loadings) - np.square(loadings)
        if (others < 1e-12).any():
            break
        better = np.clip((correlation @ loadings - loadings) / others, -1 + 1e-6, 1 - 1e-6)
        moved = float(np.abs(better - loadings).max())
        loadings = (better + loadings) / 2
        if moved < 1e-13:
            break
    left = np.abs(np.outer(loadings, loadings) - correlation)[apart].max()
    return _Factor(loadings, float(left))


def chi_scales(df: float, fewest: int = 41) -> tuple[Matrix, Matrix]:
    """Return nodes and weights for the square root of chi-square over df."""
    if df > 1e7:
        return np.ones(1), np.ones(1)
    # In the logarithm the density falls off fast on both sides: the trapezoidal rule converges.
    from scipy.special import gammaln

    width = 1 / math.sqrt(2 * df)
    low, high = -max(9 * width, 36 / df), min(8 * width, 1.2 + 4 * width)
    nodes = max(fewest, 41 if df >= 20 else 96 if df >= 5 else 256)
    log_scale = np.linspace(low, high, nodes)
    log_density = (
        df * log_scale
        - df * np.exp(2 * log_scale) / 2
        + (df / 2) * math.log(df / 2)
        - float(gammaln(df / 2))
        + math.log(2)
    )
    return np.exp(log_scale), np.exp(log_density) * (log_scale[1] - log_scale[0])


def _normal_nodes(steepest: float) -> tuple[Matrix, Matrix]:
    nodes = np.linspace(-8.5, 8.5, 49 if steepest < 0.9 else 1025)
    density = np.exp(-np.square(nodes) / 2) / math.sqrt(2 * math.pi)
    return nodes, density * (nodes[1] - nodes[0])


def _all_inside(size: Matrix, df: Matrix, loadings: Matrix) -> Matrix:
    """Return P(every |T_i| < size) for each size, given one common factor."""
    from scipy.special import ndtr

    kinds, times = np.unique(np.round(loadings, 8), return_counts=True)
    nodes, weights = _normal_nodes(float(np.abs(kinds).max()))
    result = np.empty(size.size)
    for place in range(size.size):
        scales, scale_weights = chi_scales(float(df[place]))
        bound = size[place] * scales[:, None]
        product = np.ones((scales.size, nodes.size))
        for loading, number in zip(kinds, times, strict=True):
            own = math.sqrt(1 - loading * loading)
            shifted = loading * nodes
            inside = ndtr((bound - shifted) / own) - ndtr((-bound - shifted) / own)
            product *= inside**number
        result[place] = scale_weights @ product @ weights
    return result


@lru_cache(maxsize=256)
def _critical_of_factor(
    sorted_loadings: tuple[float, ...], freedom: tuple[float, ...], alpha: float
) -> Matrix:
    """Solve between the t of one comparison and that of Bonferroni.

    Remembered, because the attributes of a balanced study ask for the same value.
    """
    loadings, df = np.array(sorted_loadings), np.array(freedom)
    number = loadings.size

    def excess(log_size: Matrix) -> Matrix:
        outside = 1 - _all_inside(np.exp(log_size), df, loadings)
        return np.log(np.maximum(outside, 1e-300) / alpha)

    # The tail falls like a power of t: between logarithms it is close to a straight line.
    low = np.log([t_quantile(1 - alpha / 2, d) * (1 - 1e-9) for d in df])
    high = np.log([t_quantile(1 - alpha / (2 * number), d) * (1 + 1e-9) for d in df])
    earlier, guess = low, high
    before, found = excess(low), excess(high)
    for _ in range(60):
        if float(np.abs(found).max()) < 1e-9:
            break
        # The secant, and the middle where it leaves the bracket.
        low, high = np.where(found > 0, guess, low), np.where(found > 0, high, guess)
        run = np.where(found == before, 1.0, found - before)
        step = guess - found * (guess - earlier) / run
        step = np.where((step >= low) & (step <= high), step, (low + high) / 2)
        earlier, before, guess = guess, found, step
        found = excess(guess)
    return np.exp(guess)


def _beyond_factor(size: Matrix, df: Matrix, correlation: Matrix, factor: _Factor) -> Matrix:
    """Return what the true correlations add to the probability with one common factor."""
    of_factor = np.outer(factor.loadings, factor.loadings)
    np.fill_diagonal(of_factor, 1.0)
    difference = np.empty(size.size)
    points = _lattice(len(correlation), factor.lattice)
    roots = [
        np.asarray(np.linalg.cholesky(_apart(matrix)), dtype=np.float64)
        for matrix in (correlation, of_factor)
    ]
    for place in range(size.size):
        true, near = (
            _lattice_inside(float(size[place]), float(df[place]), root, points) for root in roots
        )
        difference[place] = true - near
    return difference


def _apart(correlation: Matrix) -> Matrix:
    """Keep perfectly correlated comparisons slightly apart: their matrix has no Cholesky root."""
    return np.asarray((1 - 1e-8) * correlation + 1e-8 * np.eye(len(correlation)))


@lru_cache(maxsize=32)
def _lattice(number: int, size: int) -> Matrix:
    steps = np.sqrt(np.resize(np.array(_PRIMES, dtype=np.float64), number))
    points = np.outer(np.arange(1, size + 1), steps + np.arange(number) // len(_PRIMES)) % 1
    folded: Matrix = np.abs(2 * points - 1)
    return np.clip(folded, 1e-12, 1 - 1e-12)


def _lattice_inside(size: float, df: float, root: Matrix, points: Matrix) -> float:
    from scipy.special import gammaincinv, ndtr, ndtri

    if df > 1e7:
        bound = np.full(len(points), size)
    else:
        bound = size * np.sqrt(2 * gammaincinv(df / 2, points[:, 0]) / df)
    drawn = np.empty((len(root), len(points)))
    product = np.ones(len(points))
    for row in range(len(root)):
        centre = root[row, :row] @ drawn[:row]
        low = ndtr((-bound - centre) / root[row, row])
        wide = ndtr((bound - centre) / root[row, row]) - low
        product *= wide
        if row + 1 < len(root):
            inner = np.clip(low + points[:, row + 1] * wide, 1e-300, 1 - 1e-16)
            drawn[row] = ndtri(inner)
    return float(product.mean())
