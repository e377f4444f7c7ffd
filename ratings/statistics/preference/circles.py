"""Three sets that a panel chooses in a circle."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ratings.statistics.preference.panel_flips import pair_p

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Circle:
    """Three sets, each chosen over the next and the last over the first.

    Attributes
    ----------
    sets
        In the order of the circle.
    p
        That the panel does not choose so: the largest of the three pairs, times the triples that
        could have made a circle.
    """

    sets: tuple[int, int, int]
    p: float


def clearest_circle(wins: Matrix) -> Circle | None:
    """Find the circle of majorities with the smallest p; None without any.

    Parameters
    ----------
    wins
        How often each evaluator chose the row over the column, shape (evaluators, sets, sets).

    Notes
    -----
    A circle is three claims at once, each tested by exchanges of whole evaluators, so that the
    largest p holds for all three (intersection-union test: Berger RL (1982) Technometrics
    24:295-300, from memory); Bonferroni over the triples whose three pairs somebody decided.
    """
    net = wins.sum(axis=0) - wins.sum(axis=0).T
    decided = (wins.sum(axis=0) + wins.sum(axis=0).T) > 0
    found: list[tuple[float, tuple[int, int, int]]] = []
    triples = 0
    for one, two, three in combinations(range(len(net)), 3):
        if not (decided[one, two] and decided[two, three] and decided[three, one]):
            continue
        triples += 1
        for way in ((one, two, three), (one, three, two)):
            steps = tuple(zip(way, (*way[1:], way[0]), strict=True))
            if all(net[step] > 0 for step in steps):
                found.append((max(pair_p(wins, *step) or 0.0 for step in steps), way))
    if not found:
        return None
    p, sets = min(found)
    return Circle(sets, min(1.0, p * triples))
