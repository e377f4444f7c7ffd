"""Fixed effects with random intercepts inside evaluators, by restricted maximum likelihood."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.cells import Cells
from ratings.statistics.mixed_models.model_cells import Patterns, independent_columns, patterns_of

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MixedFit:
    """A fitted mixed model, with what tests of its coefficients need.

    Attributes
    ----------
    components
        Names of the random intercepts.
    variances
        Their variances in squared score points, shape (components,); 0 at the boundary.
    residual
        Residual variance.
    boundary
        Names of the components that came out as exactly zero.
    kept
        Columns of the given design matrix that could be told apart; the others are fixed at zero.
    coefficients, covariance
        Of the kept columns, shapes (kept,) and (kept, kept).
    log_likelihood
        Restricted log-likelihood, as R ``logLik(lmer(..., REML = TRUE))``.
    slopes
        How the inverse of `covariance` falls with each variance, the residual first,
        shape (1 + components, kept, kept).
    curvatures
        X'V^-1 G_i V^-1 G_j V^-1 X, shape (1 + components, 1 + components, kept, kept).
    expected_information, observed_information
        Of the variances, the residual first, shape (1 + components, 1 + components).
    """

    components: tuple[str, ...]
    variances: Matrix
    residual: float
    boundary: tuple[str, ...]
    kept: npt.NDArray[np.intp]
    coefficients: Matrix
    covariance: Matrix
    log_likelihood: float
    slopes: Matrix
    curvatures: Matrix
    expected_information: Matrix
    observed_information: Matrix


@dataclass(frozen=True, slots=True)
class _Point:
    """The likelihood at some ratios of the variances to the residual variance.

    `inverse` is V^-1 of each pattern, `solved` V^-1 X, `sums` the residuals' sums and `about` their
    products between two V^-1, all in units of the residual variance.
    """

    ratios: Matrix
    log_likelihood: float
    residual: float
    beyond_start: Matrix
    inverse: Matrix
    solved: Matrix
    sums: Matrix
    about: Matrix
    inverse_weight: Matrix
    slopes: Matrix
    traces: Matrix
    squares: Matrix
    twice_expected: Matrix
    df: int

    @property
    def gradient(self) -> Matrix:
        ascent: Matrix = (self.squares / self.residual - self.traces)[1:] / 2
        return ascent

    @property
    def information(self) -> Matrix:
        of_profile = self.twice_expected - np.outer(self.traces, self.traces) / self.df
        inner: Matrix = of_profile[1:, 1:] / 2
        return inner


def fit_mixed(cells: Cells, fixed: Matrix, components: tuple[str, ...]) -> MixedFit | None:
    """Fit ``score ~ fixed + (1 | component) + ...``.

    Parameters
    ----------
    cells
        Scores by evaluator, set and condition.
    fixed
        Design matrix, shape (sets * conditions, coefficients), cells ordered by set, then
        condition. Columns that the filled cells cannot tell from earlier ones are left out.
    components
        Names from `ratings.statistics.mixed_models.model_cells`; every one varies within or between
        evaluators, so that evaluators are independent. Those that the table cannot tell apart
        from earlier ones or from the residual are left out.

    Returns
    -------
    MixedFit or None
        None when no spread is left to judge by: as many coefficients as scores, or a residual of
        zero.

    Notes
    -----
    The repeats of a cell enter through their mean and sum of squares, which together are all that
    the likelihood knows of them, and evaluators who filled the same cells are taken together: the
    time does not grow with the number of scores. Fisher scoring on the variance ratios, residual
    variance and coefficients profiled out, ratios held at zero where the likelihood falls from
    there (Searle SR, Casella G, McCulloch CE (1992) Variance Components, chapter 6, from memory).
    The same numbers as R ``lme4::lmer(..., REML = TRUE)``.
    """
    kept = independent_columns(cells, fixed)
    design = np.ascontiguousarray(fixed[:, kept])
    if cells.counts.sum() <= kept.size:
        return None
    components = _told_apart(cells, design, components)
    patterns = patterns_of(cells, design, components)
    total = patterns.scatter + float(np.einsum("pii->", patterns.products))
    if total <= 1e-12 * max(1.0, patterns.number):
        return None
    # No step of a scale leaves so little; the ratios run away where there is no residual.
    least = 1e-7 * total / patterns.number
    here = _climb(patterns, np.full(len(components), 0.5), least)
    if here.residual <= least:
        return None
    return _fitted(patterns, here, components, kept)


def _told_apart(cells: Cells, design: Matrix, components: tuple[str, ...]) -> tuple[str, ...]:
    """Leave out components whose effect on the likelihood is that of others before them."""
    told: tuple[str, ...] = ()
    for name in components:
        tried = (*told, name)
        point = _evaluate(patterns_of(cells, design, tried), np.ones(len(tried)))
        # What has no effect comes out as rounding, of either sign.
        scale = np.sqrt(np.maximum(np.diag(point.twice_expected), 0.0))
        if not (scale > 1e-9).all():
            continue
        likeness = point.twice_expected / np.outer(scale, scale)
        if np.linalg.eigvalsh(likeness)[0] > 1e-8:
            told = tried
    return told


def _climb(patterns: Patterns, start: Matrix, least: float) -> _Point:
    """Climb the likelihood, and no further once the residual is below the `least` there can be."""
    here = _evaluate(patterns, start)
    for _ in range(200):
        if here.residual <= least:
            break
        free = (here.ratios > 0) | (here.gradient > 0)
        if not free.any():
            break
        direction = np.zeros(start.size)
        direction[free] = np.linalg.lstsq(
            here.information[np.ix_(free, free)], here.gradient[free], rcond=None
        )[0]
        # Half of this is what the likelihood could still rise by.
        if float(direction @ here.gradient) < 1e-12:
            break
        higher = _rise(patterns, here, direction)
        if higher is None:
            break
        here = higher
    return here


def _rise(patterns: Patterns, here: _Point, direction: Matrix) -> _Point | None:
    length = 1.0
    while length > 1e-6:
        there = _evaluate(patterns, np.clip(here.ratios + length * direction, 0.0, 1e9))
        if there.log_likelihood > here.log_likelihood:
            return there
        length /= 2
    return None


def _evaluate(patterns: Patterns, ratios: Matrix) -> _Point:
    weights, fixed, sharing = patterns.weights, patterns.fixed, patterns.sharing
    scaled = np.concatenate([[1.0], ratios])
    spread = np.tensordot(scaled, sharing, axes=1) + patterns.empty
    inverse = np.asarray(np.linalg.inv(spread), dtype=np.float64)
    solved = inverse @ fixed
    weight = _flat(fixed * weights[:, None, None]).T @ _flat(solved)
    inverse_weight = np.asarray(np.linalg.inv(weight), dtype=np.float64)
    beyond = inverse_weight @ np.einsum("pci,pc->i", solved, patterns.sums)
    sums, residual_products = _residuals(patterns, fixed @ beyond)
    about = inverse @ residual_products @ inverse
    df = patterns.number - fixed.shape[2]
    squares = np.einsum("ipcd,pcd->i", sharing, about)
    squares[0] += patterns.scatter
    residual = max(float(squares @ scaled), 1e-300) / df
    traces, slopes, twice_expected = _expectations(patterns, inverse, solved, inverse_weight)
    log_likelihood = -0.5 * (
        df * (1 + math.log(2 * math.pi * residual))
        + float(weights @ np.linalg.slogdet(spread)[1])
        + patterns.log_counts
        + float(np.linalg.slogdet(weight)[1])
    )
    return _Point(
        ratios=ratios,
        log_likelihood=log_likelihood,
        residual=residual,
        beyond_start=beyond,
        inverse=inverse,
        solved=solved,
        sums=sums,
        about=about,
        inverse_weight=inverse_weight,
        slopes=slopes,
        traces=traces,
        squares=squares,
        twice_expected=twice_expected,
        df=df,
    )


def _flat(matrices: Matrix) -> Matrix:
    """Set the patterns' matrices one below the other."""
    return matrices.reshape(*matrices.shape[:-3], -1, matrices.shape[-1])


def _residuals(patterns: Patterns, fitted: Matrix) -> tuple[Matrix, Matrix]:
    """Return sums of the residuals and of their products, without going back to the scores."""
    weights = patterns.weights
    cross = fitted[:, :, None] * patterns.sums[:, None, :]
    both = weights[:, None, None] * fitted[:, :, None] * fitted[:, None, :]
    products = patterns.products - cross - cross.transpose(0, 2, 1) + both
    return patterns.sums - weights[:, None] * fitted, products


def _expectations(
    patterns: Patterns, inverse: Matrix, solved: Matrix, inverse_weight: Matrix
) -> tuple[Matrix, Matrix, Matrix]:
    """Return tr(P G_i), X'V^-1 G_i V^-1 X and tr(P G_i P G_j), where P takes the fixed part out."""
    weighted = patterns.weights[:, None, None]
    turned = inverse @ patterns.sharing
    spread_out = patterns.sharing @ solved
    slopes = _flat(solved * weighted).T @ _flat(spread_out)
    traces = np.einsum("apcc,p->a", turned, patterns.weights)
    mirrored = turned.swapaxes(2, 3) * weighted
    crossed = _by_component(turned) @ _by_component(mirrored).T
    # Within cells the covariance is the residual alone.
    traces[0] += patterns.scatter_df
    crossed[0, 0] += patterns.scatter_df
    curved = _by_component(inverse @ spread_out @ inverse_weight)
    taken_out = inverse_weight @ slopes
    twice_expected = (
        crossed
        - 2 * _by_component(spread_out * weighted) @ curved.T
        + _by_component(taken_out) @ _by_component(taken_out.swapaxes(1, 2)).T
    )
    traces = traces - np.einsum("aii->a", taken_out)
    return traces, slopes, twice_expected


def _by_component(matrices: Matrix) -> Matrix:
    return matrices.reshape(len(matrices), -1)


def _curvatures(patterns: Patterns, point: _Point) -> Matrix:
    """Return X'V^-1 G_i V^-1 G_j V^-1 X."""
    spread_out = patterns.sharing @ point.solved
    once = _flat(spread_out * patterns.weights[:, None, None]).transpose(0, 2, 1)
    return np.asarray(once[:, None] @ _flat(point.inverse @ spread_out)[None])


def _double_squares(patterns: Patterns, point: _Point) -> Matrix:
    """Return y'P G_i P G_j P y."""
    sharing = patterns.sharing
    squares = _by_component(point.inverse @ sharing) @ _by_component(sharing @ point.about).T
    squares[0, 0] += patterns.scatter
    pulled = _by_component(sharing @ (point.inverse @ point.sums[:, :, None]))
    pulled = pulled @ _flat(point.solved)
    return np.asarray(squares - pulled @ point.inverse_weight @ pulled.T)


def _fitted(
    patterns: Patterns, point: _Point, components: tuple[str, ...], kept: npt.NDArray[np.intp]
) -> MixedFit:
    residual = point.residual
    expected = point.twice_expected / (2 * residual**2)
    return MixedFit(
        components=components,
        variances=point.ratios * residual,
        residual=residual,
        boundary=tuple(
            name for name, ratio in zip(components, point.ratios, strict=True) if ratio <= 0
        ),
        kept=kept,
        coefficients=patterns.start + point.beyond_start,
        covariance=point.inverse_weight * residual,
        log_likelihood=point.log_likelihood,
        slopes=point.slopes / residual**2,
        curvatures=_curvatures(patterns, point) / residual**3,
        expected_information=expected,
        observed_information=_double_squares(patterns, point) / residual**3 - expected,
    )
