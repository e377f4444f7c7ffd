"""Scores gathered into cells of evaluator, set and condition, in one pass over the table."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.condition_levels import condition_levels
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
        """Mean score that each evaluator gave each set, over repeats and conditions.

        Returns
        -------
        numpy.ndarray
            Shape (evaluators, sets), in score points, rounded to 1e-9; NaN where there is no
            score.

        Notes
        -----
        Repeats are averaged first, then every condition counts alike: scores that are given twice
        in one condition, as on a null pair, do not pull a set towards that condition. Where an
        evaluator lacks a set in some conditions, the levels of the conditions are taken off, see
        `ratings.statistics.condition_levels.condition_levels`.
        """
        given = self.counts > 0
        rated = given.any(axis=(0, 1))
        given, means = given[:, :, rated], self.means[:, :, rated]
        whole = given.all(axis=2) | ~given.any(axis=2)
        if not whole.all():
            means = means - condition_levels(given, means)[:, None, :]
        averages = ratio(np.where(given, means, 0.0).sum(axis=2), given.sum(axis=2))
        return np.round(averages, AVERAGE_DECIMALS)


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
