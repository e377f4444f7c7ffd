"""Single scores that look like a slip of the finger: far off, from who is near otherwise."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.agreement.likeness import median_of_others, without_levels
from ratings.statistics.distributions import normal_quantile
from ratings.statistics.missing import median_of_known, ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Of fewer others of a set and condition, the median is no measure.
FEWEST_OTHERS = 3


@dataclass(frozen=True, slots=True)
class StrayScore:
    """One score to check.

    Attributes
    ----------
    row
        Place among the scores.
    attribute, condition, set
        Where it is; `condition` is empty in a table without conditions.
    score, expected
        As given, and what the others' scores would be at this evaluator's level.
    """

    row: int
    attribute: str
    condition: str
    set: str
    score: float
    expected: float

    @property
    def sentence(self) -> str:
        """What to check, in words."""
        where = f"set {self.set} ({self.condition})" if self.condition else f"set {self.set}"
        return (
            f"one score to check: {self.score:g} for {where}; "
            f"the others suggest {self.expected:.1f}"
        )


def stray_scores(
    given: NumberedScores, least: float, least_scatter: float, alpha: float
) -> dict[int, StrayScore]:
    """Find the farthest score of each evaluator that lies too far off to be scatter.

    Parameters
    ----------
    given
        All scores of a study, none missing.
    least
        In score points: what lies nearer is not looked at.
    least_scatter
        In score points: scatter counts as this at least.
    alpha
        Chance of naming any score of a study without slips, were the scatter normal (Bonferroni
        over all scores).

    Returns
    -------
    dict
        By number of the evaluator.

    Notes
    -----
    Measured from the median of the others' scores of the same set and condition, levels swept out,
    in units of the larger of the evaluator's own and the panel's usual distance, the farthest score
    of each left out.
    """
    attributes, evaluators = len(given.attributes), len(given.evaluators)
    places = len(given.sets) * len(given.conditions)
    place = given.set_ * len(given.conditions) + given.condition
    index = (given.attribute * evaluators + given.evaluator) * places + place
    size = attributes * evaluators * places
    counts = np.bincount(index, minlength=size)
    cells = ratio(np.bincount(index, given.score, size), counts)
    cells = cells.reshape(attributes, evaluators, places)
    centred = without_levels(cells)
    theirs, others = median_of_others(centred)
    expected = np.where(others >= FEWEST_OTHERS, cells - centred + theirs, np.nan)
    off = np.nan_to_num(given.score - expected.ravel()[index])
    scatter = np.fmax(_scatter(off, given.evaluator, evaluators, attributes), least_scatter)
    reach = normal_quantile(1 - alpha / (2 * max(off.size, 1)))
    too_far = (np.abs(off) > reach * scatter[given.evaluator]) & (np.abs(off) >= least)
    found: dict[int, StrayScore] = {}
    for row in sorted(np.flatnonzero(too_far).tolist(), key=lambda row: abs(off[row])):
        found[int(given.evaluator[row])] = StrayScore(
            row,
            given.attributes[given.attribute[row]],
            given.conditions[given.condition[row]],
            given.sets[given.set_[row]],
            float(given.score[row]),
            float(given.score[row] - off[row]),
        )
    return found


def _scatter(off: Matrix, group: Codes, evaluators: int, attributes: int) -> Matrix:
    """Return the larger of the own and the usual root mean square, without each one's farthest.

    The farthest of n normal values is expected at the quantile of 1 - 0.28 / n (Blom G 1958,
    Statistical Estimates and Transformed Beta-Variables, for magnitudes; to 3 %): what it takes
    from the sum is put back, and a level of each attribute counts as one value.
    """
    squares = np.square(off)
    farthest = np.zeros(evaluators)
    np.maximum.at(farthest, group, squares)
    counts = np.bincount(group, minlength=evaluators).astype(np.float64)
    usual = [normal_quantile(1 - 0.28 / max(count, 1.0)) ** 2 for count in counts.tolist()]
    rest = np.bincount(group, squares, evaluators) - farthest
    own = np.sqrt(ratio(rest, (counts - attributes) * (1 - np.array(usual) / counts)))
    return np.fmax(own, median_of_known(own, axis=0))
