"""Tests of a mixed model's coefficients with Kenward-Roger or Satterthwaite degrees of freedom."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail, t_quantile
from ratings.statistics.mixed_models.mixed_fit import MixedFit

Matrix = npt.NDArray[np.float64]

#: A variance below this part of the unadjusted one is none.
_NO_VARIANCE = 1e-6
#: Fewer degrees of freedom judge nothing; a little less than one, for rounding.
_FEWEST_DF = 1 - 1e-6


@dataclass(frozen=True, slots=True)
class FTest:
    """An F test: statistic, degrees of freedom above and below, p."""

    f: float
    df1: float
    df2: float
    p: float


@dataclass(frozen=True, slots=True)
class Contrasts:
    """Linear combinations of coefficients, each array of shape (contrasts,).

    Attributes
    ----------
    estimate, se
        In score points.
    df
        Degrees of freedom of t.
    t, p
        Student's t and its two-sided p.
    lower, upper
        Bounds of the 95 % interval of each by itself.
    correlation
        Of the estimates, shape (contrasts, contrasts).
    """

    estimate: Matrix
    se: Matrix
    df: Matrix
    t: Matrix
    p: Matrix
    lower: Matrix
    upper: Matrix
    correlation: Matrix


@dataclass(frozen=True, slots=True)
class Inference:
    """A fit together with one way to judge its coefficients.

    Attributes
    ----------
    fit
        The fitted model.
    covariance
        Of the coefficients, as the way takes it.
    parameter_covariance
        Of the variances, the residual first.
    slopes
        `MixedFit.slopes` of the same variances.
    scaled
        Whether a joint test is scaled as Kenward and Roger do.
    """

    fit: MixedFit
    covariance: Matrix
    parameter_covariance: Matrix
    slopes: Matrix
    scaled: bool


def kenward_roger(fit: MixedFit) -> Inference:
    """Judge with the covariance adjusted for having estimated the variances.

    Notes
    -----
    Every variance counts, also one that came out as zero: at the boundary this is the cautious
    way. The covariance is linear in the variances, so the second derivatives vanish.
    The same as R ``pbkrtest::vcovAdj`` and ``pbkrtest::KRmodcomp``.

    References
    ----------
    Kenward MG, Roger JH (1997) Small sample inference for fixed effects from restricted maximum
    likelihood. Biometrics 53:983-997.
    Halekoh U, Hojsgaard S (2014) Journal of Statistical Software 59(9):1-32.
    """
    parameters = _inverse(fit.expected_information)
    turned = np.einsum("aij,jk,bkl->abil", fit.slopes, fit.covariance, fit.slopes, optimize=True)
    inner = np.einsum("ab,abij->ij", parameters, fit.curvatures - turned)
    adjusted = fit.covariance + 2 * fit.covariance @ inner @ fit.covariance
    return Inference(fit, (adjusted + adjusted.T) / 2, parameters, fit.slopes, scaled=True)


def satterthwaite(fit: MixedFit) -> Inference:
    """Judge with the plain covariance, degrees of freedom matched to its own uncertainty.

    Notes
    -----
    A variance that came out as zero counts as known, so that the degrees of freedom are those of
    the model without it: liberal at the boundary. Observed information; the same as R
    ``lmerTest::anova(..., ddf = "Satterthwaite")``.

    References
    ----------
    Satterthwaite FE (1946) Biometrics Bulletin 2:110-114.
    Fai AH-T, Cornelius PL (1996) Journal of Statistical Computation and Simulation 54:363-378.
    """
    free = np.concatenate([[True], fit.variances > 0])
    parameters = _inverse(fit.observed_information[np.ix_(free, free)])
    return Inference(fit, fit.covariance, parameters, fit.slopes[free], scaled=False)


def can_be_judged(inference: Inference, weights: Matrix) -> npt.NDArray[np.bool_]:
    """Tell which linear combinations have a variance, and a degree of freedom to judge it by.

    Parameters
    ----------
    weights
        As for `contrasts`.

    Notes
    -----
    Small tables can leave none: Kenward and Roger's correction is the first term of a series, and
    takes a variance below zero where the variances are hardly known. With less than one degree of
    freedom the interval would be wider than any scale (our judgement).
    """
    rows = weights[:, inference.fit.kept]
    variance = np.einsum("ci,ij,cj->c", rows, inference.covariance, rows)
    plain = np.einsum("ci,ij,cj->c", rows, inference.fit.covariance, rows)
    known = variance > _NO_VARIANCE * plain
    known[known] &= _contrast_df(inference, rows[known]) >= _FEWEST_DF
    return np.asarray(known, dtype=np.bool_)


def contrasts(inference: Inference, weights: Matrix) -> Contrasts:
    """Estimate linear combinations of the coefficients.

    Parameters
    ----------
    weights
        Shape (contrasts, coefficients), over all columns of the design matrix; every row must be
        estimable (see `estimable`) and judged (see `can_be_judged`).
    """
    fit = inference.fit
    rows = weights[:, fit.kept]
    estimate = rows @ fit.coefficients
    covariance = rows @ inference.covariance @ rows.T
    se = np.sqrt(np.diag(covariance))
    df = _contrast_df(inference, rows)
    t = estimate / se
    half = np.array([t_quantile(0.975, number) for number in df]) * se
    return Contrasts(
        estimate=estimate,
        se=se,
        df=df,
        t=t,
        p=np.array([f_upper_tail(value * value, 1.0, d) for value, d in zip(t, df, strict=True)]),
        lower=estimate - half,
        upper=estimate + half,
        correlation=_correlation(covariance, rows @ fit.covariance @ rows.T),
    )


def _correlation(covariance: Matrix, plain: Matrix) -> Matrix:
    """Return the correlation of the estimates, of the plain covariance if the adjusted has none."""
    for matrix in (covariance, plain):
        se = np.sqrt(np.diag(matrix))
        correlation = matrix / np.outer(se, se)
        if np.linalg.eigvalsh(correlation)[0] > -1e-9:
            break
    return np.asarray(np.clip(correlation, -1.0, 1.0))


def joint_test(inference: Inference, weights: Matrix) -> FTest | None:
    """Test whether all of several linear combinations are zero.

    Parameters
    ----------
    weights
        As for `contrasts`; rows must be independent.

    Returns
    -------
    FTest or None
        None where the combinations have no common variance to be judged by, see `can_be_judged`.
    """
    fit = inference.fit
    rows = weights[:, fit.kept]
    estimate = rows @ fit.coefficients
    number = len(rows)
    spread = rows @ inference.covariance @ rows.T
    if not _is_positive(spread, rows @ fit.covariance @ rows.T):
        return None
    f = float(estimate @ np.linalg.solve(spread, estimate)) / number
    matched = (
        _kenward_roger_scale(inference, rows)
        if inference.scaled
        else (1.0, _satterthwaite_df(inference, rows))
    )
    if matched is None or not (matched[0] > 0 and matched[1] >= _FEWEST_DF):
        return None
    f, df = f * matched[0], matched[1]
    return FTest(f, float(number), df, f_upper_tail(f, number, df))


def _is_positive(spread: Matrix, plain: Matrix) -> bool:
    """Tell whether a covariance is one in every direction, beside the plain one."""
    scale = np.sqrt(np.diag(plain))
    likeness = spread / np.outer(scale, scale)
    return bool(np.isfinite(likeness).all() and np.linalg.eigvalsh(likeness)[0] > _NO_VARIANCE)


def estimable(fit: MixedFit, design: Matrix, weights: Matrix) -> npt.NDArray[np.bool_]:
    """Tell which linear combinations the filled cells determine.

    Parameters
    ----------
    design
        Rows of the design matrix at the filled cells, shape (filled cells, coefficients).
    weights
        Shape (contrasts, coefficients).
    """
    if fit.kept.size == weights.shape[1]:
        return np.ones(len(weights), dtype=np.bool_)
    reached = weights @ np.linalg.pinv(design) @ design
    return np.asarray(np.abs(reached - weights).max(axis=1) < 1e-8, dtype=np.bool_)


def _contrast_df(inference: Inference, rows: Matrix) -> Matrix:
    turned = rows @ inference.fit.covariance
    variance = np.einsum("ci,ci->c", turned, rows)
    gradient = np.einsum("ci,aij,cj->ac", turned, inference.slopes, turned, optimize=True)
    spread = np.einsum("ac,ab,bc->c", gradient, inference.parameter_covariance, gradient)
    # No spread is a variance that is known; below zero there is nothing to tell it by.
    df: Matrix = np.where(spread < 0, 0.0, math.inf)
    np.divide(2 * np.square(variance), spread, out=df, where=spread > 1e-300)
    return df


def _satterthwaite_df(inference: Inference, rows: Matrix) -> float:
    _, vectors = np.linalg.eigh(rows @ inference.covariance @ rows.T)
    df = _contrast_df(inference, vectors.T @ rows)
    number = len(rows)
    if number == 1 or float(np.ptp(df)) < 1e-8 * float(df.max()):
        return float(df.mean())
    if (df <= 2).any():
        return 2.0
    expected = float((df / (df - 2)).sum())
    return 2 * expected / (expected - number)


def _kenward_roger_scale(inference: Inference, rows: Matrix) -> tuple[float, float] | None:
    """Return the scale of F and its denominator degrees of freedom (1997, section 3).

    None where the moments that they are matched to do not exist.
    """
    number = len(rows)
    if number == 1:
        # The general formula comes to this, but by way of a division by zero at 4 of them.
        return 1.0, float(_contrast_df(inference, rows)[0])
    plain = inference.fit.covariance
    inner = rows.T @ np.linalg.solve(rows @ plain @ rows.T, rows)
    turned = inner @ plain @ inference.slopes @ plain
    traces = np.einsum("aii->a", turned)
    parameters = inference.parameter_covariance
    first = float(traces @ parameters @ traces)
    second = float(np.einsum("ab,aij,bji->", parameters, turned, turned, optimize=True))
    if second <= 0:
        return None
    b = (first + 6 * second) / (2 * number)
    g = ((number + 1) * first - (number + 4) * second) / ((number + 2) * second)
    below = 3 * number + 2 * (1 - g)
    if abs(below) < 1e-12:
        return None
    c1, c2, c3 = g / below, (number - g) / below, (number + 2 - g) / below
    shrink = 1 - second / number
    if abs(1 - c2 * b) < 1e-12:
        return None
    above, under = (shrink / (1 - c2 * b)) ** 2 * (1 + c1 * b), 1 - c3 * b
    if math.isclose(above, under, abs_tol=1e-14):
        return 1.0, math.inf
    df = 4 + (number + 2) * under / (above - under)
    if df <= 2:
        # Fewer cannot be matched by moments; F is left as it is.
        return 1.0, max(df, 1.0)
    return df * shrink / (df - 2), df


def _inverse(information: Matrix) -> Matrix:
    told = np.sqrt(np.abs(np.diag(information)))
    # A component that the likelihood does not depend on has no part in any variance.
    scale = np.zeros_like(told)
    np.divide(1.0, told, out=scale, where=told > 0)
    weights: Matrix = np.outer(scale, scale)
    inverse = np.linalg.pinv(information * weights, rcond=1e-10, hermitian=True)
    return np.asarray(inverse * weights, dtype=np.float64)
