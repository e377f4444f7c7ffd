"""Scores gathered into cells of evaluator, set and condition, in one pass over the table."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import ratio
from ratings.statistics.ranks import AVERAGE_DECIMALS

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Cells:
    """Count, mean and scatter of the repeats in each cell.

    Attributes
    ----------
    counts
        Scores in the cell, shape (evaluators, sets, conditions).
    means
        Their mean, 0 in an empty cell.
    scatter
        Their sum of squared deviations from that mean.
    """

    counts: Matrix
    means: Matrix
    scatter: Matrix

    def set_means(self) -> Matrix:
        """Mean of every score that an evaluator gave a set, over repeats and conditions.

        Returns
        -------
        numpy.ndarray
            Shape (evaluators, sets), rounded to 1e-9; NaN where there is no score.
        """
        counts = self.counts.sum(axis=2)
        sums = (self.counts * self.means).sum(axis=2)
        return np.round(ratio(sums, counts), AVERAGE_DECIMALS)


def gather_cells(
    scores: Matrix, evaluator: Codes, set_: Codes, condition: Codes, shape: tuple[int, int, int]
) -> Cells:
    """Gather a long table.

    Parameters
    ----------
    scores
        Shape (scores,); NaN is a missing score and is passed over.
    evaluator, set_, condition
        Where each score belongs, numbered from 0, each of shape (scores,).
    shape
        Number of evaluators, sets and conditions.
    """
    given = ~np.isnan(scores)
    values = scores[given]
    cell = np.ravel_multi_index((evaluator[given], set_[given], condition[given]), shape)
    size = int(np.prod(shape))
    counts = np.bincount(cell, minlength=size).astype(np.float64)
    means: Matrix = np.bincount(cell, values, size) / np.maximum(counts, 1)
    deviations = values - means[cell]
    scatter = np.bincount(cell, np.square(deviations), size).astype(np.float64)
    # Equal repeats leave a remainder of rounding, which is no scatter.
    scatter[scatter < 1e-18] = 0.0
    return Cells(counts.reshape(shape), means.reshape(shape), scatter.reshape(shape))


def cells_of_repeats(scores: Matrix) -> Cells:
    """Gather an array of shape (evaluators, sets, repeats) heard in one condition."""
    evaluators, sets, _ = scores.shape
    evaluator, set_, _ = np.indices(scores.shape)
    nowhere = np.zeros(scores.size, dtype=np.intp)
    return gather_cells(
        scores.ravel(), evaluator.ravel(), set_.ravel(), nowhere, (evaluators, sets, 1)
    )
