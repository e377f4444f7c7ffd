"""Drift over the day: the control's repeated runs, and scores corrected by them."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import mean_of_known
from ratings.statistics.within_evaluators import within_correlation

Matrix = npt.NDArray[np.float64]

#: A change of the control that makes a session suspect, in points: common practice, no source.
SUSPECT_POINTS = 0.5


@dataclass(frozen=True, slots=True)
class ControlDrift:
    """How the control's score moved.

    Attributes
    ----------
    runs
        Runs of the control with a score.
    levels
        The control's level at each run, evaluators' own levels taken out, shape (all runs,); NaN
        where nobody scored it.
    slope, slope_lower, slope_upper
        Points per unit of time with 95 % interval, the same for all evaluators; None where it is
        undefined, and `reason` says why. The interval takes scores for independent: a day that
        moves for everybody makes it too narrow.
    slope_p
        Of no slope; None where it is undefined.
    jumps
        Change from each run to the next that was scored, shape (runs - 1,).
    largest_jump, jump_after
        The change that is largest in size, and the index of the run it followed; None with one
        run.
    range
        Highest less lowest level.
    is_suspect
        Whether the range exceeds the limit.
    reason
        Why there is no slope or no interval, in words; empty when there are both.
    """

    runs: int
    levels: Matrix
    slope: float | None
    slope_lower: float | None
    slope_upper: float | None
    jumps: Matrix
    largest_jump: float | None
    jump_after: int | None
    range: float | None
    is_suspect: bool
    reason: str = ""
    slope_p: float | None = None


def control_drift(
    time: Matrix, scores: Matrix, suspect_points: float = SUSPECT_POINTS
) -> ControlDrift:
    """Judge the runs of the control.

    Parameters
    ----------
    time
        When each run was, in any unit, ascending or not, shape (runs,).
    scores
        The control's score at each run, shape (evaluators, runs), or (runs,) for one evaluator or
        a measured figure; NaN is missing.
    suspect_points
        Range from which the session is suspect, in the unit of the scores.
    """
    order = np.argsort(time, kind="stable")
    table = np.atleast_2d(scores)
    levels = _levels(table)
    seen = order[~np.isnan(levels[order])]
    jumps = np.diff(levels[seen])
    trend = within_correlation(
        np.broadcast_to(time, table.shape).ravel(),
        table.ravel(),
        np.repeat(np.arange(table.shape[0]), table.shape[1]),
    )
    largest = int(np.argmax(np.abs(jumps))) if jumps.size else None
    span = float(np.ptp(levels[seen])) if seen.size else None
    return ControlDrift(
        runs=len(seen),
        levels=levels,
        slope=trend.slope,
        slope_lower=trend.slope_lower,
        slope_upper=trend.slope_upper,
        jumps=jumps,
        largest_jump=None if largest is None else float(jumps[largest]),
        jump_after=None if largest is None else int(seen[largest]),
        range=span,
        is_suspect=span is not None and span > suspect_points + 1e-9,
        reason=trend.reason,
        slope_p=trend.p,
    )


@dataclass(frozen=True, slots=True)
class CorrectedScores:
    """Scores with the control's drift taken off; the raw ones stay beside them.

    Attributes
    ----------
    raw, corrected
        Shape of the scores given.
    correction
        What was added to each, shape (scores,).
    outside
        Whether a score lies before the first or after the last run of the control, where the
        nearest run stands in for the missing other one, shape (scores,).
    """

    raw: Matrix
    corrected: Matrix
    correction: Matrix
    outside: npt.NDArray[np.bool_]


def correct_for_drift(
    time: Matrix,
    scores: Matrix,
    control_time: Matrix,
    control_level: Matrix,
    refer_to: Literal["first run", "grand mean"] = "grand mean",
) -> CorrectedScores | None:
    """Add to each score what the control had lost at that time.

    Parameters
    ----------
    time, scores
        Shape (scores,), in the unit of `control_time`; NaN stays NaN.
    control_time, control_level
        Runs of the control, shape (runs,), such as `ControlDrift.levels`; NaN is passed over.
    refer_to
        What the control should have been: its first run, usable while the day goes on, or the mean
        of all its runs, steadier and known only at the end.

    Returns
    -------
    CorrectedScores or None
        None without a run of the control. A single run corrects nothing.

    Notes
    -----
    Between two runs the control's level is interpolated along a straight line; it is never
    extrapolated. This takes off what changes slowly for everybody; it mends no outlier, and it
    adds the control's own scatter to every score.

    References
    ----------
    After ASTM F1650, methods A and B (second hand), made additive for scores: our adaptation.
    """
    known = ~np.isnan(control_level)
    if not known.any():
        return None
    when = np.unique(control_time[known])
    level = np.array([control_level[known][control_time[known] == t].mean() for t in when])
    reference = level[0] if refer_to == "first run" else control_level[known].mean()
    correction = reference - np.interp(time, when, level)
    return CorrectedScores(
        raw=scores,
        corrected=scores + correction,
        correction=correction,
        outside=np.asarray((time < when[0]) | (time > when[-1]), dtype=np.bool_),
    )


def _levels(table: Matrix) -> Matrix:
    """Mean over evaluators at each run, from their own levels, so that a hole makes no jump."""
    own = mean_of_known(table, axis=1)
    if np.isnan(own).all():
        return np.full(table.shape[1], math.nan)
    return mean_of_known(table - own[:, None], axis=0) + float(np.nanmean(own))
