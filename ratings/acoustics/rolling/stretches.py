"""The stretch along a row over which something stands out most."""

import numpy as np
from numpy.typing import NDArray


def best_stretches(
    gain: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the largest sum of neighbouring cells in each row, with its first and last column.

    Parameters
    ----------
    gain
        Shape (rows, columns): above zero where something stands out, below where nothing does.

    References
    ----------
    Bentley, J. 1984, Programming pearls: algorithm design techniques, Communications of the ACM
    27(9), 865-873, who credits J. Kadane.
    """
    rows = len(gain)
    running, began = np.zeros(rows), np.zeros(rows, np.int64)
    best = np.zeros(rows)
    first, last = np.zeros(rows, np.int64), np.zeros(rows, np.int64)
    for column in range(gain.shape[1]):
        anew = running <= 0.0
        began[anew] = column
        running = np.where(anew, 0.0, running) + gain[:, column]
        better = running > best
        best[better], first[better], last[better] = running[better], began[better], column
    return best, first, last


def chance_limit(offset: float, spread: float, candidates: int, chance: float) -> float:
    """Return the sum that scatter alone exceeds in any of many rows with a given chance.

    Parameters
    ----------
    offset
        By how much each cell of scatter lies below zero on average.
    spread
        Standard deviation of a cell.
    candidates
        Rows times columns: sums may begin anywhere.

    Notes
    -----
    A sum of normal steps with mean -m and deviation s exceeds h with a chance of at most
    exp(-2 m h / s^2) (Lundberg's inequality; Asmussen, Ruin Probabilities, from memory).
    """
    return float(np.log(candidates / chance) * spread**2 / (2.0 * offset))
