"""A candidate against the control from repeated runs: difference, interval, what could be seen."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import interval_half_width, t_quantiles
from ratings.statistics.missing import ratio
from ratings.statistics.runs.run_spread import RunSpread, run_spread
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SetDifference:
    """Candidate less control; each array of the shape of the figures.

    Attributes
    ----------
    difference
        Of the means.
    standard_error, df
        Of the difference; NaN where there is no interval.
    lower, upper
        Interval; NaN where `reason` says why.
    smallest_detectable
        Difference that this number of runs with this scatter would tell from none with the given
        power; NaN where there is no interval.
    reason
        Why some figure has no interval; empty when all have.
    """

    difference: Matrix
    standard_error: Matrix
    df: Matrix
    lower: Matrix
    upper: Matrix
    smallest_detectable: Matrix
    reason: str = ""

    @property
    def is_clear(self) -> npt.NDArray[np.bool_]:
        """Whether the interval leaves out zero; not so where there is none."""
        return np.asarray((self.lower > 0.0) | (self.upper < 0.0), dtype=np.bool_)


def set_difference(
    candidate: Matrix,
    control: Matrix,
    *,
    pooled_sd: npt.ArrayLike | None = None,
    df: npt.ArrayLike | None = None,
    confidence: float = 1.0 - ALPHA,
    power: float = 0.8,
) -> SetDifference:
    """Compare unpaired repeats of two sets in one condition.

    Parameters
    ----------
    candidate, control
        Shape (runs,) or (runs, figures ...), the runs of each their own; not finite is missing.
        Where the day drifted, correct first (`ratings.statistics.runs.drift`): the interval
        knows scatter only.
    pooled_sd, df
        Standard deviation of a single run with its degrees of freedom, from the repeats of all
        sets of the condition (`ratings.statistics.runs.run_spread.pooled_sd`), in place of the two
        sets' own: three repeats tell little about scatter. Single runs are then enough.

    Notes
    -----
    Each set's runs were made with one mounting of its tyres: the interval holds for these
    mountings, and knows nothing of what another fitting would change. `smallest_detectable` is
    (t(1 - alpha/2) + t(power)) standard errors, the usual approximation.

    References
    ----------
    Welch BL (1947) Biometrika 34:28-35; degrees of freedom: JCGM 100:2008, annex G.4. Without
    `pooled_sd` the same as `scipy.stats.ttest_ind(equal_var=False)`.
    """
    one, two = run_spread(candidate), run_spread(control)
    difference = np.asarray(one.mean - two.mean)
    if pooled_sd is None or df is None:
        standard_error, freedom = _welch(one, two)
        reason = _welch_reason(one, two, standard_error)
    else:
        with np.errstate(divide="ignore"):
            inverse = 1.0 / one.runs + 1.0 / two.runs
        usable = np.isfinite(inverse) & (np.asarray(df) > 0)
        standard_error = np.where(usable, np.asarray(pooled_sd), np.nan) * np.sqrt(
            np.where(usable, inverse, np.nan)
        )
        freedom = np.where(usable, np.asarray(df, np.float64), np.nan)
        reason = "" if usable.all() else "A set has no run, or no set of the condition a repeat."
    half_width = interval_half_width(standard_error, freedom, confidence)
    away = t_quantiles(0.5 + confidence / 2, freedom) + t_quantiles(power, freedom)
    return SetDifference(
        difference=difference,
        standard_error=standard_error,
        df=freedom,
        lower=difference - half_width,
        upper=difference + half_width,
        smallest_detectable=away * standard_error,
        reason=reason,
    )


def _welch(one: RunSpread, two: RunSpread) -> tuple[Matrix, Matrix]:
    first, second = one.standard_error**2, two.standard_error**2
    variance = first + second
    below = first**2 / np.maximum(one.runs - 1.0, 1.0) + second**2 / np.maximum(two.runs - 1.0, 1.0)
    # Without any scatter on either side nothing is known about it, rather than everything.
    df = ratio(variance**2, below)
    return np.where(below > 0, np.sqrt(variance), np.nan), df


def _welch_reason(one: RunSpread, two: RunSpread, standard_error: Matrix) -> str:
    if np.any(one.runs < 2) or np.any(two.runs < 2):
        return (
            "A single run on one side has no scatter: repeat it, or give the scatter of the other "
            "sets of the condition."
        )
    if np.any(np.isnan(standard_error)):
        return "The runs do not differ at all, so their scatter is not known."
    return ""
