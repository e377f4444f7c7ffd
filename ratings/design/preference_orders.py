"""Which of two is preferred: every pair of sets, both A/B orders over the panel."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ratings.design.streams import stream
from ratings.errors import DesignError


@dataclass(frozen=True, slots=True)
class OrderedPair:
    """Two sets in the order in which they are heard."""

    first: int
    second: int


def preference_session(sets: list[int], seed: int, ordinal: int) -> tuple[OrderedPair, ...]:
    """Plan one evaluator's comparisons of every set with every other.

    Parameters
    ----------
    sets
        Ids of the sets, or of one of `ratings.design.balanced_blocks.balanced_blocks`.
    seed
        The study's seed.
    ordinal
        Which session of the study this is, from 0. Sessions 2j and 2j + 1 hear the same pairs
        with their order exchanged, each in a sequence of its own.

    Returns
    -------
    tuple of OrderedPair
        Every pair once. Each set is heard first in half of its pairs, within one. A set does not
        come twice in a row where that can be avoided, which takes five sets.

    Raises
    ------
    DesignError
        For fewer than two sets, or a set named twice.

    References
    ----------
    Both orders: general practice in paired listening tests, e.g. ISO 5495.
    """
    if len(sets) < 2 or len(set(sets)) < len(sets):
        raise DesignError("Comparing needs two sets or more, each named once.")
    shared = stream(seed, "preferences", ordinal // 2)
    own = stream(seed, "preferences in turn", ordinal)
    shuffled = [int(one) for one in shared.permutation(sets)]
    pairs = []
    for low, high in combinations(range(len(shuffled)), 2):
        # Alternating like this gives each set its half: the places of one parity win upwards.
        ahead = (low + high + ordinal) % 2 == 1
        first, second = (low, high) if ahead else (high, low)
        pairs.append(OrderedPair(shuffled[first], shuffled[second]))
    return tuple(_spread(pairs, own))


def _spread(pairs: list[OrderedPair], rng: np.random.Generator) -> list[OrderedPair]:
    """Put pairs in a random sequence in which neighbours share as few sets as can be."""
    best: list[OrderedPair] = []
    fewest = len(pairs)
    for _ in range(20):
        waiting = [pairs[index] for index in rng.permutation(len(pairs))]
        order = [waiting.pop()]
        shared = 0
        while waiting:
            busy = {order[-1].first, order[-1].second}
            free = [pair for pair in waiting if not busy & {pair.first, pair.second}]
            shared += not free
            order.append(_busiest(free or waiting, waiting))
            waiting.remove(order[-1])
        if shared < fewest or not best:
            best, fewest = order, shared
        if not fewest:
            break
    return best


def _busiest(free: list[OrderedPair], waiting: list[OrderedPair]) -> OrderedPair:
    """Take the pair whose sets still have most to come, so that none is left with itself."""

    def to_come(pair: OrderedPair) -> int:
        own = {pair.first, pair.second}
        return sum(len(own & {other.first, other.second}) for other in waiting)

    return max(free, key=to_come)
