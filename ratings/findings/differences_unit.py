"""What is compared: single scores, or differences to the control within pairs."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.cells import Cells, gather_cells
from ratings.statistics.missing import mean_of_known
from ratings.statistics.ranks import AVERAGE_DECIMALS

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Unit:
    """One attribute's values, ready to be compared.

    Attributes
    ----------
    cells
        By evaluator, set and condition; those without any value are left out.
    evaluators, sets, conditions
        Index of each row, column and layer among all names.
    control
        Column of the control; None for differences within pairs, which hold no control.
    to_control
        Each evaluator's mean difference to the control, over the conditions in which both were
        rated, shape (evaluators, sets); NaN where there is none.
    rounding
        Variance of a value that the steps of the scores alone make, in squared score points.
    halves
        Scores of pairs whose other half is missing: not used.
    """

    cells: Cells
    evaluators: Codes
    sets: Codes
    conditions: Codes
    control: int | None
    to_control: Matrix
    rounding: float
    halves: int = 0

    def in_condition(self, set_: int, condition: int) -> Matrix:
        """Return each evaluator's mean difference to the control in one condition, by columns."""
        counts, means = (part[:, :, condition] for part in (self.cells.counts, self.cells.means))
        if self.control is None:
            return np.where(counts[:, set_] > 0, means[:, set_], np.nan)
        both = (counts[:, set_] > 0) & (counts[:, self.control] > 0)
        return np.where(both, means[:, set_] - means[:, self.control], np.nan)


def unit_of(scores: NumberedScores, control: int, step: float) -> Unit | None:
    """Choose the unit of comparison for one attribute.

    Parameters
    ----------
    scores
        Scores of one attribute.
    control
        Index of the control among all sets.
    step
        In which the scores come, in score points.

    Returns
    -------
    Unit or None
        Differences within pairs when every candidate was heard in a pair with the control
        (columns ``pair`` and ``side``), because that is the judgement that was made; scores
        otherwise. Pairs of the control with itself enter only as scores. None when the control
        has no score. What each unit answers is said in
        `ratings.statistics.differences.set_comparison.compare_sets`.
    """
    given = ~np.isnan(scores.score)
    if not (given & (scores.set_ == control)).any():
        return None
    within = _within_pairs(scores, control, given)
    if within is not None:
        rows, values, halves = within
        cells, evaluators, sets, conditions = _gathered(scores, rows, values)
        to_control, rounding = _over_conditions(cells, None), step**2 / 6
        return Unit(cells, evaluators, sets, conditions, None, to_control, rounding, halves)
    rows = np.flatnonzero(given)
    cells, evaluators, sets, conditions = _gathered(scores, rows, scores.score[rows])
    column = int(np.flatnonzero(sets == control)[0])
    to_control, rounding = _over_conditions(cells, column), step**2 / 12
    return Unit(cells, evaluators, sets, conditions, column, to_control, rounding)


def step_of(scores: Matrix, unknown: float) -> float:
    """Return the smallest step between scores that were given, `unknown` when all are equal."""
    values = np.unique(np.round(scores[~np.isnan(scores)], AVERAGE_DECIMALS))
    return float(np.diff(values).min()) if values.size > 1 else unknown


def _within_pairs(
    scores: NumberedScores, control: int, given: npt.NDArray[np.bool_]
) -> tuple[Codes, Matrix, int] | None:
    """Return the candidates' rows, their lead over the control beside them, and lone halves."""
    if scores.pair is None or scores.side is None:
        return None
    candidate = given & (scores.set_ != control)
    if not candidate.any() or (scores.pair[candidate] < 0).any():
        return None
    key = (scores.pair * len(scores.evaluators) + scores.evaluator) * len(scores.conditions)
    key = key + scores.condition
    rows = np.flatnonzero(candidate)
    if np.unique(key[rows]).size < rows.size:
        # Two candidates beside each other: this is no design against the control.
        return None
    controls = np.flatnonzero(given & (scores.set_ == control) & (scores.pair >= 0))
    order = controls[np.argsort(key[controls], kind="stable")]
    place = np.minimum(np.searchsorted(key[order], key[rows]), max(order.size - 1, 0))
    if not order.size:
        return None
    found = key[order[place]] == key[rows]
    if not found.any():
        return None
    used, beside = rows[found], order[place[found]]
    return used, scores.score[used] - scores.score[beside], int((~found).sum())


def _gathered(
    scores: NumberedScores, rows: Codes, values: Matrix
) -> tuple[Cells, Codes, Codes, Codes]:
    columns = scores.evaluator[rows], scores.set_[rows], scores.condition[rows]
    names, codes = zip(*(np.unique(column, return_inverse=True) for column in columns), strict=True)
    evaluators, sets, conditions = names
    shape = evaluators.size, sets.size, conditions.size
    return gather_cells(values, codes[0], codes[1], codes[2], shape), evaluators, sets, conditions


def _over_conditions(cells: Cells, control: int | None) -> Matrix:
    means = np.where(cells.counts > 0, cells.means, np.nan)
    apart = means if control is None else means - means[:, [control], :]
    return np.round(mean_of_known(apart, axis=2), AVERAGE_DECIMALS)
