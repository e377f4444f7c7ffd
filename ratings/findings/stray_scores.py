"""Single scores that look like a slip of the finger: far off, from who is near otherwise."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.agreement.profile_agreement import median_of_others, without_levels
from ratings.statistics.distributions import normal_quantile
from ratings.statistics.missing import median_of_known, ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Of fewer others of a set and condition, the median is no measure.
FEWEST_OTHERS = 3
#: A slip lies this many times as far off as any other evaluator's score of the same set and
#: condition, and as all scores of the study but the few that may be slips too. Our judgement.
ALONE, BEYOND = 2.0, 1.1
#: Share of all scores that tell how long the tail is, and how many at least.
TAIL, FEWEST_OF_TAIL = 0.1, 8
#: Share of all scores that may be slips, and how many at least. Our judgement.
SLIPS, FEWEST_SLIPS = 0.01, 2
#: Scores that what is usual in the study counts for, beside those of one set. Our judgement.
USUAL_SCORES = 2.0


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
        over all scores), or its tail exponential.

    Returns
    -------
    dict
        By number of the evaluator.

    Notes
    -----
    Measured from the median of the others' scores of the same set and condition, levels swept out,
    in units of the larger of the evaluator's own and the panel's usual distance, the farthest score
    of each left out, and larger still where the others scatter more on this set. Scores are not
    normal: a slip also lies alone, see `ALONE` and `BEYOND`.
    """
    attributes, evaluators = len(given.attributes), len(given.evaluators)
    shape = attributes, evaluators, len(given.sets), len(given.conditions)
    index = np.ravel_multi_index(
        (given.attribute, given.evaluator, given.set_, given.condition), shape
    )
    expected = _expected(given.score, index, shape)
    off = np.nan_to_num(given.score - expected.ravel()[index])
    scatter = np.fmax(_scatter(off, given.evaluator, evaluators, attributes), least_scatter)
    distance = np.abs(off) / scatter[given.evaluator]
    distance /= _unrest(distance, index, shape).ravel()[index]
    reach = normal_quantile(1 - alpha / (2 * max(off.size, 1)))
    reach = max(reach, _tail_reach(distance, alpha))
    beside = _others_farthest(_farthest(np.abs(off), index, shape)).ravel()[index]
    far = np.fmax(np.fmax(least, ALONE * beside), BEYOND * _but_slips(np.abs(off))[-1])
    too_far = (distance > reach) & (np.abs(off) >= far)
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


def _expected(scores: Matrix, index: Codes, shape: tuple[int, int, int, int]) -> Matrix:
    """Return the others' median of each cell at the own level; NaN with too few others."""
    size = int(np.prod(shape))
    cells = ratio(np.bincount(index, scores, size), np.bincount(index, minlength=size))
    cells = cells.reshape(*shape[:2], -1)
    centred = without_levels(cells)
    theirs, others = median_of_others(centred)
    return np.where(others >= FEWEST_OTHERS, cells - centred + theirs, np.nan)


def _unrest(distance: Matrix, index: Codes, shape: tuple[int, int, int, int]) -> Matrix:
    """Return how many times more than usual the others scatter, on the set or in the cell.

    Their mean square, which what is usual moderates as in Smyth GK (2004), Statistical Applications
    in Genetics and Molecular Biology 3:3; 1 at least. Over the conditions, where one slip of
    somebody else must not hide another, the farthest score of the others counts for nothing.
    """
    size = int(np.prod(shape))
    squares = np.bincount(index, np.square(distance), size).reshape(shape)
    numbers = np.bincount(index, minlength=size).reshape(shape)
    farthest = _farthest(np.square(distance), index, shape).max(axis=3, keepdims=True)
    of_set = squares.sum(axis=3, keepdims=True), numbers.sum(axis=3, keepdims=True)
    mean_squares = [
        (USUAL_SCORES + total.sum(axis=1, keepdims=True) - total - worst)
        / (USUAL_SCORES + number.sum(axis=1, keepdims=True) - number)
        for total, number, worst in (
            (squares, numbers, 0.0),
            (*of_set, _others_farthest(farthest)),
        )
    ]
    unrest: Matrix = np.sqrt(np.maximum(np.maximum(*mean_squares), 1.0))
    return unrest


def _farthest(distance: Matrix, index: Codes, shape: tuple[int, int, int, int]) -> Matrix:
    farthest = np.zeros(int(np.prod(shape)))
    np.maximum.at(farthest, index, distance)
    return farthest.reshape(shape)


def _others_farthest(farthest: Matrix) -> Matrix:
    """Return the largest of all other evaluators."""
    second, first = np.sort(farthest, axis=1)[:, -2:].swapaxes(0, 1)
    own: Matrix = np.where(farthest == first[:, None], second[:, None], first[:, None])
    return own


def _tail_reach(distance: Matrix, alpha: float) -> float:
    """Return how far the tail of a study without slips reaches, but for the chance `alpha`.

    The largest distances about their smallest as exponential (Pickands J 1975, Annals of Statistics
    3:119, with shape 0: longer than normal), those that may be slips as censored.
    """
    in_tail = max(FEWEST_OF_TAIL, int(TAIL * distance.size))
    known = _but_slips(distance)
    slips = distance.size - known.size
    start, *tail = known[-max(in_tail - slips, 1) - 1 :].tolist()
    excess = sum(tail) + slips * known[-1] - (len(tail) + slips) * start
    tail_mean = excess / max(len(tail), 1)
    return float(start + tail_mean * math.log((len(tail) + slips) / alpha))


def _but_slips(distance: Matrix) -> Matrix:
    """Return all distances in order, but those that may be slips; one at least."""
    slips = max(FEWEST_SLIPS, int(SLIPS * distance.size))
    ordered: Matrix = np.sort(distance)[: max(distance.size - slips, 1)]
    return ordered


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
