"""The exact null distribution of Kendall's W: every order of every evaluator equally likely."""

import itertools
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

#: Rank vectors of more sets than this have too many orders to list.
MOST_SETS = 8
#: How many sums may be formed on the way to the last evaluator. Chosen so that one panel takes
#: about 25 ms on the machine that this was measured on; 4 sets reach 17 evaluators, 5 sets 7.
TABLE_BUDGET = 300_000
#: The same for a threshold that is worked out once for a panel size and then remembered.
THRESHOLD_BUDGET = 600_000
_LAST_STEP_BUDGET = 6_000_000

Pattern = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NullDistribution:
    """Upper tail of the sum of squared doubled rank sums.

    Attributes
    ----------
    square_sums
        Every value that can occur, ascending, shape (values,).
    upper_tail
        Probability of that value or a larger one, shape (values,).
    """

    square_sums: npt.NDArray[np.int64]
    upper_tail: npt.NDArray[np.float64]

    def p_value(self, square_sum: int) -> float:
        """Return the probability of `square_sum` or more."""
        index = int(np.searchsorted(self.square_sums, square_sum))
        return float(self.upper_tail[index]) if index < self.upper_tail.size else 0.0


@lru_cache(maxsize=512)
def null_distribution(
    patterns: tuple[Pattern, ...], budget: int = TABLE_BUDGET
) -> NullDistribution | None:
    """Work out the null distribution for these evaluators, or None when they are too many.

    Parameters
    ----------
    patterns
        One per evaluator: the doubled ranks in ascending order, ties included. The evaluators'
        order does not matter; sort the tuple so that equal panels are remembered as one.
    budget
        How many sums may be formed.

    Notes
    -----
    The rank sums of the sets are followed evaluator by evaluator. Only which sums occur matters,
    not at which set, so a state is a sorted vector and equal states are merged. The first
    evaluator's order can be held fixed, and the last needs no states, only the sum of squares.
    Checked against complete enumeration in R (shared case ``kendall_exact_tables``).
    """
    sets = len(patterns[0])
    if not 2 <= sets <= MOST_SETS:
        return None
    orders = sorted((_distinct_orders(pattern) for pattern in patterns), key=len)
    states = orders[0][:1]
    weights = np.ones(1)
    for order in orders[1:-1]:
        budget -= len(states) * len(order)
        if budget < 0:
            return None
        states, weights = _add_evaluator(states, weights, order)
    if len(orders) == 1:
        return _tail(np.square(states).sum(axis=1), weights)
    if len(states) * len(orders[-1]) > _LAST_STEP_BUDGET:
        return None
    return _last_evaluator(states, weights, orders[-1])


@lru_cache(maxsize=256)
def _distinct_orders(pattern: Pattern) -> npt.NDArray[np.int64]:
    if len(set(pattern)) == len(pattern):
        return np.array(list(itertools.permutations(pattern)), dtype=np.int64)
    return np.array(sorted(set(itertools.permutations(pattern))), dtype=np.int64)


def _add_evaluator(
    states: npt.NDArray[np.int64], weights: npt.NDArray[np.float64], order: npt.NDArray[np.int64]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]:
    sums = (states[:, None, :] + order[None]).reshape(-1, states.shape[1])
    sums.sort(axis=1)
    base = int(sums.max()) + 1
    code = sums @ base ** np.arange(sums.shape[1], dtype=np.int64)
    _, first, which = np.unique(code, return_index=True, return_inverse=True)
    merged = np.bincount(which, np.repeat(weights / len(order), len(order)))
    return sums[first], merged.astype(np.float64)


def _last_evaluator(
    states: npt.NDArray[np.int64], weights: npt.NDArray[np.float64], order: npt.NDArray[np.int64]
) -> NullDistribution:
    # In floating point for the fast product; whole numbers of this size are exact in it.
    cross = states.astype(np.float64) @ order.T.astype(np.float64)
    square_sums = np.square(states).sum(axis=1)[:, None] + np.square(order[0]).sum()
    totals = square_sums + 2 * np.rint(cross).astype(np.int64)
    return _tail(totals.ravel(), np.repeat(weights / len(order), len(order)))


def _tail(totals: npt.NDArray[np.int64], weights: npt.NDArray[np.float64]) -> NullDistribution:
    smallest = int(totals.min())
    mass = np.bincount(totals - smallest, weights)
    occurring = np.flatnonzero(mass)
    tail = np.cumsum(mass[occurring][::-1])[::-1]
    return NullDistribution(occurring + smallest, np.minimum(tail, 1.0))
