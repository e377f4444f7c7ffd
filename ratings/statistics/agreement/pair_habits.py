"""What the hidden pairs tell about each evaluator: false alarms, repeat error, side bias."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


def null_pair_error(a_minus_b: Matrix, evaluator: Codes, evaluators: int) -> Matrix:
    """Return how far apart each evaluator hears two identical clips.

    Parameters
    ----------
    a_minus_b
        Score of side A minus side B of every null pair, shape (pairs,), in score points; NaN
        where a side was not scored.
    evaluator
        Who gave it, numbered from 0, shape (pairs,).

    Returns
    -------
    numpy.ndarray
        Mean magnitude, shape (evaluators,); NaN for an evaluator without a null pair.
    """
    return _mean_per_evaluator(np.abs(a_minus_b), evaluator, evaluators)


def repeat_pair_error(
    first_difference: Matrix, second_difference: Matrix, evaluator: Codes, evaluators: int
) -> Matrix:
    """Return how far each evaluator's verdict on a pair moves when the pair comes again.

    Parameters
    ----------
    first_difference, second_difference
        Score of one set minus the other, the same way round both times whatever the sides,
        shape (repeated pairs,), in score points.

    Returns
    -------
    numpy.ndarray
        Mean magnitude of the change, shape (evaluators,); NaN without a repeated pair.

    Notes
    -----
    The difference within the pair is compared, not the two scores: a pair is judged back to back,
    and the level may wander over a session without harm. Our judgement.
    """
    return _mean_per_evaluator(np.abs(second_difference - first_difference), evaluator, evaluators)


def side_bias(
    a_minus_b: Matrix, expected_a_minus_b: Matrix, evaluator: Codes, evaluators: int
) -> Matrix:
    """Return how much higher each evaluator rates side A than side B, whatever plays there.

    Parameters
    ----------
    a_minus_b
        Score of side A minus side B of every pair, shape (pairs,), in score points.
    expected_a_minus_b
        The same difference of the two sets in the panel's means; 0 in a null pair.

    Returns
    -------
    numpy.ndarray
        Mean of the excess, shape (evaluators,), positive when side A is rated higher; NaN without
        pairs.

    Notes
    -----
    Taking the panel's difference off leaves the side where the sets were not balanced over the
    sides; an evaluator's own taste in sets averages out only as far as the sides are balanced.
    """
    return _mean_per_evaluator(a_minus_b - expected_a_minus_b, evaluator, evaluators)


def _mean_per_evaluator(values: Matrix, evaluator: Codes, evaluators: int) -> Matrix:
    known = ~np.isnan(values)
    counts = np.bincount(evaluator[known], minlength=evaluators)
    sums = np.bincount(evaluator[known], values[known], evaluators)
    return ratio(sums, counts)
