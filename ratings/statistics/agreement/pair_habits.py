"""What the hidden pairs tell about each evaluator: false alarms, repeat error, side bias."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail
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
    return mean_per_evaluator(np.abs(a_minus_b), evaluator, evaluators)


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
    return mean_per_evaluator(np.abs(second_difference - first_difference), evaluator, evaluators)


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
    return mean_per_evaluator(a_minus_b - expected_a_minus_b, evaluator, evaluators)


@dataclass(frozen=True, slots=True)
class SideTest:
    """Side bias with the own opinion of the sets allowed for; shape (evaluators,), NaN unknown.

    Attributes
    ----------
    bias
        In score points, positive when side A is rated higher.
    p
        Two-sided.
    pairs
        How many were used.
    """

    bias: Matrix
    p: Matrix
    pairs: Codes


def side_test(
    a_minus_b: Matrix,
    set_a: Codes,
    set_b: Codes,
    evaluator: Codes,
    evaluators: int,
    least_scatter: float,
    fewest_df: int = 4,
) -> SideTest:
    """Test each evaluator's side bias by the evaluator's own pairs.

    Parameters
    ----------
    a_minus_b
        Score of side A minus side B, shape (pairs,), in score points, no NaN.
    set_a, set_b
        What played on the sides, numbered from 0, each of shape (pairs,).
    least_scatter
        In score points: the residual scatter counts as this at least.
    fewest_df
        With fewer residual degrees of freedom nothing is said. Our judgement.

    Notes
    -----
    Least squares of the differences on the sets (1 on side A, -1 on side B) and a constant, whose
    Student's t is the test; the same as R ``lm``. Where the control played on one side throughout,
    the constant is also an opinion of the control, and nothing is said.
    """
    bias, p = np.full(evaluators, np.nan), np.full(evaluators, np.nan)
    for who in np.unique(evaluator):
        own = np.flatnonzero(evaluator == who)
        rows = np.arange(own.size)
        sets = np.zeros((own.size, int(max(set_a[own].max(), set_b[own].max())) + 1))
        sets[rows, set_a[own]] += 1.0
        sets[rows, set_b[own]] -= 1.0
        # What the sets explain is taken off the constant: what is left of it tells the side alone.
        left, size, _ = np.linalg.svd(sets, full_matrices=False)
        basis = left[:, size > 1e-9]
        side = np.ones(own.size) - basis @ basis.sum(axis=0)
        weight = float(side @ side)
        df = own.size - basis.shape[1] - 1
        if weight < 1e-9 or df < fewest_df:
            continue
        values = a_minus_b[own] - basis @ (basis.T @ a_minus_b[own])
        bias[who] = side @ values / weight
        variance = np.square(values - bias[who] * side).sum() / df
        t = bias[who] / math.sqrt(max(variance, least_scatter**2) / weight)
        p[who] = f_upper_tail(t**2, 1, df)
    return SideTest(bias, p, np.bincount(evaluator, minlength=evaluators))


def mean_per_evaluator(values: Matrix, evaluator: Codes, evaluators: int) -> Matrix:
    """Average what is not NaN, shape (values,), by evaluator; NaN for who has none."""
    known = ~np.isnan(values)
    counts = np.bincount(evaluator[known], minlength=evaluators)
    sums = np.bincount(evaluator[known], values[known], evaluators)
    return ratio(sums, counts)
