"""The difference between the runs of two sets, with its interval."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail, t_quantile
from ratings.statistics.runs.run_spread import CONFIDENCE, run_spread


@dataclass(frozen=True, slots=True)
class SetDifference:
    """Candidate less control.

    Attributes
    ----------
    difference
        Of the means; None when one side has no run.
    low, high
        Interval; None when the runs do not allow one, and `reason` says why.
    p
        Two-sided probability of so large a difference between equal sets; None as above.
    df
        Degrees of freedom behind the interval.
    half_width
        Half the interval: a difference smaller than this would not have shown.
    """

    difference: float | None
    low: float | None
    high: float | None
    p: float | None
    df: float | None
    reason: str = ""

    @property
    def half_width(self) -> float | None:
        """Half the width of the interval."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2


def set_difference(
    candidate: npt.ArrayLike,
    control: npt.ArrayLike,
    pooled_sd: float | None = None,
    pooled_df: int | None = None,
    confidence: float = CONFIDENCE,
) -> SetDifference:
    """Compare the runs of a candidate with those of the control.

    Parameters
    ----------
    candidate, control
        Shape (runs,) each; what is not finite is left out.
    pooled_sd, pooled_df
        Spread of repeats over all sets of the condition (`pooled_spread`), with its degrees of
        freedom: three repeats of two sets alone tell little about their spread, so that the
        interval gets wide. It takes every set to scatter alike. None compares the two sets by
        their own spreads, which may differ.

    References
    ----------
    Welch, B. L. 1947, Biometrika 34(1-2), 28-35; the same as R ``t.test(x, y)``. With a pooled
    spread: Dunnett's setting without its correction for many sets (see `adjusted_p`).
    """
    ours, theirs = run_spread(candidate), run_spread(control)
    if ours.mean is None or theirs.mean is None:
        missing = "the candidate" if ours.mean is None else "the control"
        return SetDifference(None, None, None, None, None, f"no run of {missing} was measured")
    difference = ours.mean - theirs.mean
    if pooled_df:
        variance = float(np.square(pooled_sd if pooled_sd is not None else np.nan))
        error = math.sqrt(variance * (1 / ours.n + 1 / theirs.n))
        df: float = pooled_df
    elif ours.sd is None or theirs.sd is None:
        return SetDifference(
            difference, None, None, None, None, "one run does not tell how runs scatter"
        )
    else:
        of_ours, of_theirs = ours.sd**2 / ours.n, theirs.sd**2 / theirs.n
        error = math.sqrt(of_ours + of_theirs)
        shares = of_ours**2 / (ours.n - 1) + of_theirs**2 / (theirs.n - 1)
        # Welch-Satterthwaite.
        df = (of_ours + of_theirs) ** 2 / shares if shares else 1.0
    if error == 0.0:
        return SetDifference(
            difference, None, None, None, None, "the runs of each set are exactly alike"
        )
    half = t_quantile((1 + confidence) / 2, df) * error
    p = f_upper_tail((difference / error) ** 2, 1, df)
    return SetDifference(difference, difference - half, difference + half, p, df)
