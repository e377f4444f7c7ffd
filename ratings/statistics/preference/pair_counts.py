"""How often which set was chosen over which: choices gathered in one pass."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Codes of a choice, and the columns of the counts. A negative code is a missing choice.
FIRST, SECOND, NONE = 0, 1, 2


@dataclass(frozen=True, slots=True)
class PairCounts:
    """Choices by pair.

    Attributes
    ----------
    sets
        How many sets there are, compared or not.
    first, second
        The sets of each pair, numbered from 0, each of shape (pairs,). The pair (A, B) and the
        pair (B, A) are two.
    counts
        Times that the first, the second or neither was chosen, shape (pairs, 3).
    """

    sets: int
    first: Codes
    second: Codes
    counts: Matrix

    def without_order(self) -> "PairCounts":
        """Take both orders of a pair together; the set with the lower number comes first."""
        turned = self.first > self.second
        counts = self.counts.copy()
        counts[turned, FIRST], counts[turned, SECOND] = (
            self.counts[turned, SECOND],
            self.counts[turned, FIRST],
        )
        low, high = np.minimum(self.first, self.second), np.maximum(self.first, self.second)
        cells, place = np.unique(low * self.sets + high, return_inverse=True)
        gathered = np.zeros((len(cells), 3))
        np.add.at(gathered, place, counts)
        return PairCounts(self.sets, cells // self.sets, cells % self.sets, gathered)

    def placed_in(self, cells: "PairCounts") -> Matrix:
        """Return these counts in the order of the pairs of `cells`, which hold all of them."""
        keys, own = (each.first * each.sets + each.second for each in (cells, self))
        order = np.argsort(keys, kind="stable")
        placed = np.zeros_like(cells.counts)
        placed[order[np.searchsorted(keys[order], own)]] = self.counts
        return placed

    def decided(self) -> "PairCounts":
        """Leave out the answers "no difference", and pairs that got no other."""
        counts = self.counts * [1.0, 1.0, 0.0]
        known = counts.any(axis=1)
        return PairCounts(self.sets, self.first[known], self.second[known], counts[known])

    def wins(self) -> Matrix:
        """How often the row was chosen over the column, shape (sets, sets)."""
        table = np.zeros((self.sets, self.sets))
        np.add.at(table, (self.first, self.second), self.counts[:, FIRST])
        np.add.at(table, (self.second, self.first), self.counts[:, SECOND])
        return table

    def pairs_in_both_orders(self) -> tuple[int, int]:
        """Count the pairs that were heard in both orders, and all pairs that were heard."""
        low, high = np.minimum(self.first, self.second), np.maximum(self.first, self.second)
        orders = np.unique(low * self.sets + high, return_counts=True)[1]
        return int((orders > 1).sum()), len(orders)


def count_choices(first: Codes, second: Codes, choice: Codes, sets: int) -> PairCounts:
    """Gather choices.

    Parameters
    ----------
    first, second
        The sets compared, numbered from 0, each of shape (choices,).
    choice
        `FIRST`, `SECOND`, `NONE`, or negative where it is missing, shape (choices,).
    sets
        How many sets there are.

    Notes
    -----
    Missing choices and null pairs (the same set twice) are passed over: neither tells one set
    from another.
    """
    told = (choice >= 0) & (first != second)
    cell = (first[told] * sets + second[told]) * 3 + choice[told]
    table = np.bincount(cell, minlength=sets * sets * 3).astype(np.float64).reshape(-1, 3)
    heard = np.flatnonzero(table.any(axis=1))
    return PairCounts(sets, heard // sets, heard % sets, table[heard])
