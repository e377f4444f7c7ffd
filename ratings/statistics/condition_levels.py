"""How much each condition raises an evaluator's scores, from a table with holes."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]
Given = npt.NDArray[np.bool_]

#: Below this an eigenvalue of the normal equations is zero but for rounding: those of conditions
#: that hang together are larger than 1e-3 up to 50 conditions.
_ZERO = 1e-9


def condition_levels(given: Given, means: Matrix) -> Matrix:
    """Fit what each condition adds to an evaluator's scores, whatever the set.

    Parameters
    ----------
    given
        Which cells hold a mean, shape (evaluators, sets, conditions).
    means
        Cell means in score points, same shape.

    Returns
    -------
    numpy.ndarray
        Shape (evaluators, conditions), in score points; over all conditions that anybody rated
        each row sums to zero. What is not rated, or cannot be told, is as said below.

    Notes
    -----
    Least squares of ``mean ~ set + condition`` within each evaluator, each cell counting once,
    because people stretch the scale differently between roads. Two sets never rated in the same
    condition are thus compared through a third that was rated with both. Where an evaluator's own
    cells do not link the conditions, the panel's levels stand in: those of
    ``mean ~ evaluator:set + condition`` over everybody; likewise for a condition that the
    evaluator has not rated. Conditions that nobody's cells link count as equally high:
    set and condition cannot be told apart there by any method. A set that behaves differently in
    one condition than in another is not modelled; the blocks of single conditions show that.

    References
    ----------
    Yates F (1934) JASA 29:51-66, unequal numbers in the subclasses (from memory); R
    ``emmeans(lm(mean ~ set + condition), "set")``.
    """
    holds = given.astype(np.float64)
    weights, leads = _normal_equations(holds, np.where(given, means, 0.0))
    own, own_ties = _solved(weights, leads)
    panel, _ = _solved(weights.sum(axis=0)[None], leads.sum(axis=0)[None])
    rated = given.any(axis=1)
    tied = own_ties == np.maximum(rated.sum(axis=1) - 1, 0)
    # An evaluator's own levels say nothing of the conditions that were left out.
    lift = np.nan_to_num(ratio(np.where(rated, panel, 0.0).sum(axis=1), rated.sum(axis=1)))
    with_own = np.where(rated, own + lift[:, None], panel)
    return np.where(tied[:, None], with_own, panel)


def can_be_separated(given: Given) -> bool:
    """Tell whether condition and set can be told apart wherever an evaluator needs it.

    Parameters
    ----------
    given
        As for `condition_levels`.

    Returns
    -------
    bool
        False where somebody rated sets in conditions that no set was rated in together: there a
        set that looks better may have been driven on the better road only.
    """
    conditions = given.shape[2]
    holds = given.reshape(-1, conditions).astype(np.float64)
    met = np.minimum(holds.T @ holds, 1.0) + np.eye(conditions)
    linked = np.linalg.matrix_power(met, max(conditions, 1)) > 0
    group = linked.argmax(axis=1)
    rated: Given = np.asarray(given.any(axis=1), dtype=np.bool_)
    return all(np.unique(group[own]).size <= 1 for own in rated)


def _normal_equations(holds: Matrix, values: Matrix) -> tuple[Matrix, Matrix]:
    """Equations for the conditions of each evaluator, the sets eliminated."""
    share = np.nan_to_num(ratio(holds, holds.sum(axis=2, keepdims=True)))
    turned = holds.transpose(0, 2, 1)
    weights = holds.sum(axis=1)[:, :, None] * np.eye(holds.shape[2]) - turned @ share
    own_mean = np.nan_to_num(ratio(values.sum(axis=2), holds.sum(axis=2)))
    leads = (values - holds * own_mean[:, :, None]).sum(axis=1)
    return weights, leads


def _solved(weights: Matrix, leads: Matrix) -> tuple[Matrix, npt.NDArray[np.intp]]:
    """Solve with levels that sum to zero wherever conditions hang together; count the ties."""
    values, vectors = np.linalg.eigh(weights)
    known = values > _ZERO
    inverse = np.where(known, 1 / np.where(known, values, 1.0), 0.0)
    along = (vectors.transpose(0, 2, 1) @ leads[:, :, None])[:, :, 0] * inverse
    levels: Matrix = (vectors @ along[:, :, None])[:, :, 0]
    return levels, known.sum(axis=1)
