"""Mean and scatter of repeated runs, and how well the mean is known."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import interval_half_width
from ratings.statistics.missing import mean_of_known, ratio
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class RunSpread:
    """Repeats of one set in one condition; each array of the shape of the figures.

    Attributes
    ----------
    runs
        Runs with a value.
    mean
        Arithmetic mean; NaN without a run.
    sd
        Standard deviation of a single run; NaN under two runs.
    standard_error
        Of the mean.
    lower, upper
        Interval of the mean; NaN under two runs.
    reason
        Why some figure has no interval; empty when all have.
    """

    runs: npt.NDArray[np.intp]
    mean: Matrix
    sd: Matrix
    standard_error: Matrix
    lower: Matrix
    upper: Matrix
    reason: str = ""


def run_spread(values: Matrix, confidence: float = 1.0 - ALPHA) -> RunSpread:
    """Summarise repeats.

    Parameters
    ----------
    values
        Shape (runs,) or (runs, figures ...); what is not finite is missing.

    Notes
    -----
    Levels are averaged in decibels, not by energy: a repeat is another drawing of the same
    figure, and the standard deviation belongs to that mean. Energies would give the loudest run
    the most weight; for an SD of 1 dB the energy mean is 0.1 dB higher.

    References
    ----------
    Type A evaluation: JCGM 100:2008, 4.2 and annex H.3.2 for t; repeatability as the standard
    deviation of repeats: ISO 5725-2:2019 (clauses from memory).
    """
    known = np.isfinite(values)
    runs = known.sum(axis=0)
    values = np.where(known, values, np.nan)
    mean = mean_of_known(values, axis=0)
    sd = _sd(values, mean, runs)
    standard_error = sd / np.sqrt(np.maximum(runs, 1))
    half_width = interval_half_width(standard_error, runs - 1.0, confidence)
    reason = "A single run has no scatter: repeat it." if np.any(runs < 2) else ""
    return RunSpread(runs, mean, sd, standard_error, mean - half_width, mean + half_width, reason)


def pooled_sd(*sets: Matrix) -> tuple[Matrix, Matrix]:
    """Pool the scatter of several sets' repeats in one condition.

    Parameters
    ----------
    sets
        One array for each set, shape (runs, figures ...) or (runs,); single runs add nothing.

    Returns
    -------
    sd, degrees of freedom
        Each of the shape of the figures; NaN and 0 where no set was repeated.

    References
    ----------
    Variances weighted by their degrees of freedom: ISO 5725-2:2019, 7.4 (clause from memory).
    """
    spreads = [run_spread(each) for each in sets]
    df = np.asarray(sum(np.maximum(each.runs - 1.0, 0.0) for each in spreads))
    scatter = np.asarray(sum(np.nan_to_num(each.sd) ** 2 * (each.runs - 1.0) for each in spreads))
    scatter = np.maximum(scatter, 0.0)
    return np.sqrt(ratio(scatter, df)), df


def _sd(values: Matrix, mean: Matrix, runs: npt.NDArray[np.intp]) -> Matrix:
    scatter = np.nansum(np.square(values - mean), axis=0)
    return np.asarray(np.sqrt(ratio(scatter, runs - 1)))
