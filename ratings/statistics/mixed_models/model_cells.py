"""The sufficient statistics of a mixed model's scores: all that the likelihood needs."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.cells import Cells

Matrix = npt.NDArray[np.float64]

#: What evaluators may differ in beyond their single scores; each is a random intercept.
EVALUATOR = "evaluator"
EVALUATOR_SET = "evaluator:set"
EVALUATOR_CONDITION = "evaluator:condition"
EVALUATOR_SET_CONDITION = "evaluator:set:condition"


@dataclass(frozen=True, slots=True)
class Patterns:
    """Evaluators who filled the same cells equally often, taken together.

    Attributes
    ----------
    weights
        Number of evaluators of each pattern, shape (patterns,).
    fixed
        Design matrix with the rows of empty cells at zero, shape (patterns, cells, coefficients).
    sharing
        Which cells share a random intercept; the first is the residual, 1 / count on the diagonal.
        Shape (1 + components, patterns, cells, cells).
    empty
        One on the diagonal of an empty cell, shape (patterns, cells, cells).
    sums, products
        Sums over evaluators of the cell means, shape (patterns, cells), and of their products,
        shape (patterns, cells, cells), both after `start` was taken off.
    start
        Coefficients of the ordinary least squares fit: what is left is small, so that nothing is
        lost to rounding.
    scatter, scatter_df
        Sum of squares within cells, and its degrees of freedom.
    log_counts
        Sum over cells of the logarithm of the count.
    number
        Number of scores.
    """

    weights: Matrix
    fixed: Matrix
    sharing: Matrix
    empty: Matrix
    sums: Matrix
    products: Matrix
    start: Matrix
    scatter: float
    scatter_df: int
    log_counts: float
    number: int


def sharing_of(component: str, sets: int, conditions: int) -> Matrix:
    """Return which cells of one evaluator share a random intercept.

    Returns
    -------
    numpy.ndarray
        Shape (sets * conditions, sets * conditions), cells ordered by set, then condition.
    """
    set_, condition = np.indices((sets, conditions)).reshape(2, -1)
    same_set = set_[:, None] == set_
    same_condition = condition[:, None] == condition
    everything = np.ones_like(same_set)
    chosen = {
        EVALUATOR: everything,
        EVALUATOR_SET: same_set,
        EVALUATOR_CONDITION: same_condition,
        EVALUATOR_SET_CONDITION: same_set & same_condition,
    }
    return np.asarray(chosen[component], dtype=np.float64)


def patterns_of(cells: Cells, fixed: Matrix, components: tuple[str, ...]) -> Patterns:
    """Gather everything that the likelihood needs.

    Parameters
    ----------
    cells
        Scores by evaluator, set and condition.
    fixed
        Design matrix of full column rank, shape (sets * conditions, coefficients).
    components
        Names of the random intercepts, as the constants above.
    """
    evaluators, sets, conditions = cells.counts.shape
    counts = cells.counts.reshape(evaluators, -1)
    filled = counts > 0
    kinds, which, weights = np.unique(counts, axis=0, return_inverse=True, return_counts=True)
    means = cells.means.reshape(evaluators, -1)
    start = _least_squares(means, counts, fixed)
    left = np.where(filled, means - fixed @ start, 0.0)
    masks = (kinds > 0).astype(np.float64)
    outer = masks[:, :, None] * masks[:, None, :]
    diagonal = np.eye(fixed.shape[0])
    residual = diagonal * (masks / np.maximum(kinds, 1))[:, None, :]
    shared = [sharing_of(name, sets, conditions) * outer for name in components]
    order = np.argsort(which.ravel(), kind="stable")
    starts = np.concatenate([[0], np.cumsum(weights)[:-1]])
    products = np.stack([part.T @ part for part in np.split(left[order], starts[1:])])
    return Patterns(
        weights=weights.astype(np.float64),
        fixed=fixed * masks[:, :, None],
        sharing=np.stack([residual, *shared]),
        empty=diagonal * (1 - masks)[:, None, :],
        sums=np.add.reduceat(left[order], starts, axis=0),
        products=products,
        start=start,
        scatter=float(cells.scatter.sum()),
        scatter_df=int(counts.sum() - filled.sum()),
        log_counts=float(np.log(counts[filled]).sum()),
        number=int(counts.sum()),
    )


def independent_columns(cells: Cells, fixed: Matrix) -> npt.NDArray[np.intp]:
    """Choose the columns of a design matrix that the filled cells can tell apart, earlier first."""
    weights = np.sqrt(cells.counts.sum(axis=0).ravel())
    triangle = np.abs(np.diag(np.linalg.qr(fixed * weights[:, None], mode="r")))
    return np.flatnonzero(triangle > 1e-9 * max(1.0, float(triangle.max(initial=0.0))))


def _least_squares(means: Matrix, counts: Matrix, fixed: Matrix) -> Matrix:
    weights = np.sqrt(counts.sum(axis=0))
    average = (counts * means).sum(axis=0) / np.maximum(counts.sum(axis=0), 1)
    found = np.linalg.lstsq(fixed * weights[:, None], average * weights, rcond=None)[0]
    return np.asarray(found, dtype=np.float64)
