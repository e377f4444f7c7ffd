"""Do the panel's majorities put the sets in one order? Stochastic transitivity."""

from dataclasses import dataclass
from itertools import combinations, permutations

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TransitivityViolations:
    """Triples of sets that the panel's majorities do not put in order.

    Attributes
    ----------
    weak
        The majority runs in a circle: there is no common order at all.
    moderate, strong
        The outer pair is decided less clearly than the weaker, or than the clearer, of the inner
        two. Where one scale of worths holds, these come by chance only.
    triples
        Triples whose three pairs were all compared.
    """

    weak: int
    moderate: int
    strong: int
    triples: int


def transitivity_violations(wins: Matrix) -> TransitivityViolations:
    """Count the triples that violate stochastic transitivity.

    Parameters
    ----------
    wins
        How often the row was chosen over the column, shape (sets, sets).

    References
    ----------
    Definitions as in Block HD, Marschak J (1960), in Olkin (ed.) Contributions to Probability and
    Statistics, 97-132 (from memory).
    """
    share = ratio(wins, wins + wins.T)
    found = np.zeros(3, dtype=np.int64)
    triples = 0
    for triple in combinations(range(len(wins)), 3):
        inner = share[np.ix_(triple, triple)]
        if np.isnan(inner[np.triu_indices(3, 1)]).any():
            continue
        triples += 1
        found += _violated(inner)
    weak, moderate, strong = found.tolist()
    return TransitivityViolations(weak, moderate, strong, triples)


def _violated(share: Matrix) -> npt.NDArray[np.int64]:
    """Tell for three sets which kinds are violated in an order that both inner pairs support."""
    worst = np.zeros(3, dtype=np.int64)
    for first, middle, last in permutations(range(3)):
        near, far, outer = share[first, middle], share[middle, last], share[first, last]
        if min(near, far) >= 0.5:
            worst |= np.array([outer < 0.5, outer < min(near, far), outer < max(near, far)])
    return worst
