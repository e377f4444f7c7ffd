"""A mean plus crossed random intercepts, fitted by restricted maximum likelihood."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CrossedFit:
    """What the fit found.

    Attributes
    ----------
    ratios
        Variance of each factor over the residual variance, shape (factors,); 0 at the boundary.
    residual
        Residual variance.
    intercept
        Generalised least squares mean.
    log_likelihood
        Restricted log-likelihood with its constants.
    ratio_covariance
        Inverse of the expected information of `ratios`, the residual profiled out.
    """

    ratios: Matrix
    residual: float
    intercept: float
    log_likelihood: float
    ratio_covariance: Matrix


@dataclass(frozen=True, slots=True)
class _Products:
    """Everything that the likelihood needs from the scores; its size is the number of levels."""

    number: int
    sum_of_values: float
    sum_of_squares: float
    level_counts: Matrix
    level_sums: Matrix
    together: Matrix
    factor_of_level: npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Point:
    ratios: Matrix
    log_likelihood: float
    residual: float
    intercept: float
    gradient: Matrix
    information: Matrix


def fit_crossed(
    values: Matrix, factors: tuple[npt.NDArray[np.intp], ...], levels: tuple[int, ...]
) -> CrossedFit:
    """Fit ``value ~ 1 + (1 | factor 1) + (1 | factor 2) ...``.

    Parameters
    ----------
    values
        Shape (scores,).
    factors
        For each factor the level of every score, each of shape (scores,).
    levels
        Number of levels of each factor.

    Notes
    -----
    Fisher scoring on the variance ratios with the mean and the residual variance profiled out,
    steps halved until the likelihood rises, ratios held at zero where the likelihood falls from
    there (Searle SR, Casella G, McCulloch CE (1992) Variance Components, chapter 6, from memory).
    The scores enter through sums per level only, so the time does not grow with their number; it
    grows with the cube of the number of levels.
    The same numbers as R ``lme4::lmer(..., REML = TRUE)``.
    """
    products = _products(values, factors, levels)
    here = _evaluate(products, np.full(len(factors), 0.5))
    for _ in range(200):
        free = (here.ratios > 0) | (here.gradient > 0)
        if not free.any():
            break
        direction = np.zeros(len(factors))
        direction[free] = np.linalg.lstsq(
            here.information[np.ix_(free, free)], here.gradient[free], rcond=None
        )[0]
        if float(direction @ here.gradient) < 1e-15:
            break
        step = _rise(products, here, direction)
        if step is None:
            break
        here = step
    covariance = np.asarray(np.linalg.pinv(here.information, hermitian=True), dtype=np.float64)
    return CrossedFit(here.ratios, here.residual, here.intercept, here.log_likelihood, covariance)


def _rise(products: _Products, here: _Point, direction: Matrix) -> _Point | None:
    length = 1.0
    while length > 1e-8:
        there = _evaluate(products, np.maximum(here.ratios + length * direction, 0.0))
        if there.log_likelihood > here.log_likelihood:
            return there
        length /= 2
    return None


def _products(
    values: Matrix, factors: tuple[npt.NDArray[np.intp], ...], levels: tuple[int, ...]
) -> _Products:
    offsets = np.concatenate([[0], np.cumsum(levels)])
    size = int(offsets[-1])
    columns = [factor + offset for factor, offset in zip(factors, offsets, strict=False)]
    together = np.zeros((size, size))
    for first in columns:
        for second in columns:
            pairs = np.bincount(first * size + second, minlength=size * size)
            together += pairs.reshape(size, size)
    return _Products(
        number=values.size,
        sum_of_values=float(values.sum()),
        sum_of_squares=float(values @ values),
        level_counts=np.diag(together).copy(),
        level_sums=np.sum([np.bincount(c, values, size) for c in columns], axis=0),
        together=together,
        factor_of_level=np.repeat(np.arange(len(levels)), levels),
    )


def _evaluate(products: _Products, ratios: Matrix) -> _Point:
    per_level = ratios[products.factor_of_level]
    # Z'H^-1 = (I + Z'Z G)^-1 Z' with H = I + Z G Z': everything stays at the size of the levels.
    system = np.eye(per_level.size) + products.together * per_level
    _, log_determinant = np.linalg.slogdet(system)
    right = np.column_stack([products.together, products.level_counts, products.level_sums])
    solved = np.linalg.solve(system, right)
    inner, ones, sums = solved[:, :-2], solved[:, -2], solved[:, -1]
    weight = products.number - float(products.level_counts * per_level @ ones)
    total = products.sum_of_values - float(products.level_counts * per_level @ sums)
    squares = products.sum_of_squares - float(products.level_sums * per_level @ sums)
    intercept = total / weight
    df = products.number - 1
    residual = max(squares - total * intercept, 0.0) / df
    projected = inner - np.outer(ones, ones) / weight
    from_mean = sums - ones * intercept
    factors = np.arange(ratios.size)
    member = (products.factor_of_level == factors[:, None]).astype(np.float64)
    traces = member @ np.diag(projected)
    gradient = (member @ np.square(from_mean) / residual - traces) / 2
    crossed = member @ np.square(projected) @ member.T
    information = (crossed - np.outer(traces, traces) / df) / 2
    log_likelihood = -0.5 * (
        df * (1 + math.log(2 * math.pi * residual)) + float(log_determinant) + math.log(weight)
    )
    return _Point(ratios, log_likelihood, residual, intercept, gradient, information)
