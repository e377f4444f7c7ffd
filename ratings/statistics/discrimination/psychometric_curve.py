"""At which level does somebody hear it? Share of right answers over level, with guessing."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.binomial_fit import BinomialFit, Curve, fit_binomial

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PsychometricCurve:
    """A fitted curve; everything is None when it is undefined, and `reason` says why.

    Attributes
    ----------
    intercept, slope
        Of the line inside the curve, over level (``logit``, ``probit``) or over the natural log
        of level (``weibull``).
    intercept_se, slope_se
        Their standard errors.
    threshold, threshold_se
        Level half way between guessing and the top, and its standard error. For ``weibull`` it
        is the level alpha at which 1 - 1/e of the way is reached.
    deviance
        From the model that fits every level by itself.
    log_likelihood
        Without the binomial coefficients.
    """

    intercept: float | None = None
    slope: float | None = None
    intercept_se: float | None = None
    slope_se: float | None = None
    threshold: float | None = None
    threshold_se: float | None = None
    deviance: float | None = None
    log_likelihood: float | None = None
    reason: str = ""


def psychometric_curve(
    level: Matrix,
    correct: Matrix,
    trials: Matrix,
    curve: Curve = "logit",
    guess_rate: float = 0.5,
    lapse_rate: float = 0.0,
) -> PsychometricCurve:
    """Fit a curve that rises from the guess rate to one less the lapse rate.

    Parameters
    ----------
    level
        Strength of the stimulus, shape (levels,); positive for ``weibull``.
    correct, trials
        Right answers and presentations, shape (levels,); levels without trials are passed over.
    guess_rate
        0.5 with two sides, 1/3 with three; 0 for yes and no.

    References
    ----------
    Wichmann FA, Hill NJ (2001) Perception & Psychophysics 63:1293-1313.
    """
    heard = (trials > 0) & np.isfinite(level)
    level, correct, trials = level[heard], correct[heard], trials[heard]
    if len(np.unique(level)) < 2:
        return PsychometricCurve(reason="One level makes no curve.")
    if curve == "weibull" and (level <= 0).any():
        return PsychometricCurve(reason="This curve needs levels above zero.")
    along = np.log(level) if curve == "weibull" else level
    centre, width = float(along.mean()), float(along.std())
    design = np.stack([np.ones(len(along)), (along - centre) / width], axis=1)
    fitted = fit_binomial(design, correct, trials, curve, (guess_rate, 1.0 - lapse_rate))
    steepness = abs(float(fitted.coefficients[1]))
    if not fitted.converged or steepness > 50 or fitted.se[1] > 50 * max(1.0, steepness):
        return PsychometricCurve(reason="The answers do not rise from guessing over these levels.")
    if fitted.coefficients[1] <= 0:
        return PsychometricCurve(reason="The answers do not get better with level.")
    return _in_units_of_level(fitted, centre, width, in_logs=curve == "weibull")


def _in_units_of_level(
    fitted: BinomialFit, centre: float, width: float, *, in_logs: bool
) -> PsychometricCurve:
    """Turn the line over standardised levels, whose fit is stable in any unit, back."""
    back = np.array([[1.0, -centre / width], [0.0, 1.0 / width]])
    intercept, slope = (back @ fitted.coefficients).tolist()
    covariance = back @ fitted.covariance @ back.T
    crossing = -intercept / slope
    lean = np.array([-1.0, -crossing]) / slope
    crossing_se = math.sqrt(float(lean @ covariance @ lean))
    return PsychometricCurve(
        intercept=intercept,
        slope=slope,
        intercept_se=math.sqrt(covariance[0, 0]),
        slope_se=math.sqrt(covariance[1, 1]),
        threshold=math.exp(crossing) if in_logs else crossing,
        threshold_se=crossing_se * math.exp(crossing) if in_logs else crossing_se,
        deviance=fitted.deviance,
        log_likelihood=fitted.log_likelihood,
    )
