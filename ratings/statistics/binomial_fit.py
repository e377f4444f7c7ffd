"""Maximum likelihood for shares of right answers or choices along a straight line."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]
Curve = Literal["logit", "probit", "weibull"]

MOST_STEPS = 500


@dataclass(frozen=True, slots=True)
class BinomialFit:
    """A fitted line.

    Attributes
    ----------
    coefficients, se
        Shape (coefficients,).
    covariance
        Inverse of the expected information.
    deviance
        From the model that fits every share by itself.
    log_likelihood
        Without the binomial coefficients.
    converged
        False when the likelihood went on growing, so that the coefficients mean nothing.
    """

    coefficients: Matrix
    se: Matrix
    covariance: Matrix
    deviance: float
    log_likelihood: float
    converged: bool


@dataclass(frozen=True, slots=True)
class _Shares:
    design: Matrix
    successes: Matrix
    trials: Matrix
    curve: Curve
    floor: float
    ceiling: float

    def slopes(self, coefficients: Matrix) -> tuple[float, Matrix, Matrix]:
        """Log-likelihood, its gradient, and the expected information."""
        line = self.design @ coefficients
        height = self.ceiling - self.floor
        share = np.clip(self.floor + height * curve_value(line, self.curve), 1e-15, 1 - 1e-15)
        slope = height * _curve_slope(line, self.curve)
        spread = share * (1 - share)
        gradient = self.design.T @ (slope * (self.successes - self.trials * share) / spread)
        weights = self.trials * np.square(slope) / spread
        information = self.design.T @ (weights[:, None] * self.design)
        return _log_likelihood(self.successes, self.trials, share), gradient, information


def fit_binomial(
    design: Matrix,
    successes: Matrix,
    trials: Matrix,
    curve: Curve,
    ends: tuple[float, float] = (0.0, 1.0),
) -> BinomialFit:
    """Fit ``share = low + (high - low) * curve(design @ coefficients)``.

    Parameters
    ----------
    design
        Shape (cells, coefficients), of full rank.
    successes, trials
        Shape (cells,); every cell has trials.
    curve
        The rising curve; ``weibull`` is 1 - exp(-exp(line)), for a line in log units.
    ends
        Lowest and highest share.

    Notes
    -----
    Fisher scoring, with steps halved until the likelihood grows; standard errors from the
    expected information, as R ``glm`` gives them.
    """
    shares = _Shares(design, successes, trials, curve, *ends)
    coefficients = np.zeros(design.shape[1])
    height, gradient, information = shares.slopes(coefficients)
    converged = False
    for _ in range(MOST_STEPS):
        step = np.linalg.lstsq(information, gradient, rcond=None)[0]
        if float(gradient @ step) < 1e-16 * max(1.0, abs(height)):
            converged = True
            break
        tried = shares.slopes(coefficients + step)
        while tried[0] < height and float(np.abs(step).max()) > 1e-12:
            step = step / 2
            tried = shares.slopes(coefficients + step)
        coefficients = coefficients + step
        height, gradient, information = tried
    covariance = np.asarray(np.linalg.pinv(information), dtype=np.float64)
    saturated = _log_likelihood(successes, trials, successes / trials)
    return BinomialFit(
        coefficients=coefficients,
        se=np.sqrt(np.maximum(np.diag(covariance), 0.0)),
        covariance=covariance,
        deviance=max(0.0, 2 * (saturated - height)),
        log_likelihood=height,
        converged=converged,
    )


def curve_value(line: Matrix, curve: Curve) -> Matrix:
    """Return the height of the curve, 0 to 1."""
    from scipy.special import expit, ndtr

    values: dict[Curve, Callable[[Matrix], Matrix]] = {
        "logit": expit,
        "probit": ndtr,
        "weibull": lambda x: -np.expm1(-np.exp(np.minimum(x, 700.0))),
    }
    return np.asarray(values[curve](line), dtype=np.float64)


def _curve_slope(line: Matrix, curve: Curve) -> Matrix:
    if curve == "probit":
        return np.asarray(np.exp(-np.square(line) / 2) / np.sqrt(2 * np.pi), dtype=np.float64)
    if curve == "logit":
        height = curve_value(line, curve)
        return height * (1 - height)
    grown = np.exp(np.minimum(line, 700.0))
    return np.asarray(grown * np.exp(-grown), dtype=np.float64)


def _log_likelihood(successes: Matrix, trials: Matrix, share: Matrix) -> float:
    from scipy.special import xlog1py, xlogy

    return float((xlogy(successes, share) + xlog1py(trials - successes, -share)).sum())
