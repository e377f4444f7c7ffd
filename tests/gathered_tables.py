"""Arrays of scores and tables of wins, gathered as the statistics take them."""

import numpy as np

from ratings.statistics.cells import Cells, gather_cells
from ratings.statistics.preference.pair_counts import PairCounts


def cells_of_repeats(scores) -> Cells:
    """Gather scores of shape (evaluators, sets, repeats), all of one condition."""
    evaluators, sets, _ = scores.shape
    evaluator, set_, repeat = np.indices(scores.shape).reshape(3, -1)
    return gather_cells(scores.ravel(), evaluator, set_, 0 * repeat, (evaluators, sets, 1))


def counts_of_wins(wins):
    """Read a square table that tells how often the row was chosen over the column."""
    low, high = np.triu_indices(len(wins), 1)
    counts = np.stack([wins[low, high], wins[high, low], np.zeros(len(low))], axis=1)
    heard = counts.any(axis=1)
    return PairCounts(len(wins), low[heard], high[heard], counts[heard].astype(np.float64))


def votes_of_wins(wins):
    """Give every choice of a pair to another evaluator, shape (evaluators, sets, sets)."""
    evaluators = int((wins + wins.T).max())
    number = np.arange(evaluators)[:, None, None]
    row_first = np.triu(np.ones(wins.shape, dtype=bool), 1)
    # Who chose the earlier set counts from the first evaluator, the others from the last.
    chosen = np.where(row_first, number < wins, number >= evaluators - wins)
    return (chosen & ~np.eye(len(wins), dtype=bool)).astype(np.float64)
