"""Choices in a circle: Kendall's zeta of an evaluator, transitivity and circles of the panel."""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, permutations, product

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import chi_square_upper_tail
from ratings.statistics.missing import ratio
from ratings.statistics.preference.panel_flips import pair_p

Matrix = npt.NDArray[np.float64]

#: Up to here the null distribution is counted out, beyond it chi-square stands in.
MOST_SETS_EXACT = 10
#: Below, even an evaluator without a single circle may well have guessed.
FEWEST_SETS = 5


@dataclass(frozen=True, slots=True)
class Consistency:
    """How often an evaluator's choices run in a circle: A over B, B over C, C over A.

    Attributes
    ----------
    sets
        Sets that the evaluator compared.
    circular_triads, decided_triads
        Triads that run in a circle, among those whose three pairs were all decided.
    most
        The most circles possible among so many sets.
    zeta
        1 without a circle, 0 with the most possible; None where it is undefined, and `reason`
        says why.
    p
        Chance that somebody who only guesses has so few circles; None where zeta is.
    p_is_exact
        Whether `p` was counted out, rather than approximated.
    reason
        Why zeta is undefined or means little, in words; empty otherwise.
    """

    sets: int
    circular_triads: int
    decided_triads: int
    most: int
    zeta: float | None = None
    p: float | None = None
    p_is_exact: bool = True
    reason: str = ""


def consistency(chosen_over: Matrix) -> Consistency:
    """Count one evaluator's circular triads.

    Parameters
    ----------
    chosen_over
        How often the row was chosen over the column, shape (sets, sets). A pair judged more than
        once counts for the set chosen more often; as often as not, or "no difference", leaves it
        undecided. Sets that the evaluator never compared are passed over.

    Notes
    -----
    Zeta needs every pair decided: a pair left open makes it undefined. Under 5 sets it is given
    but means little: of three guessers at 4 sets more than one has no circle at all.

    References
    ----------
    Kendall MG, Babington Smith B (1940) Biometrika 31:324-345.
    """
    over = (chosen_over > chosen_over.T).astype(np.int64)
    decided = over + over.T
    met = decided.any(axis=0)
    over, decided = over[met][:, met], decided[met][:, met]
    sets = len(over)
    circular = int(np.trace(over @ over @ over)) // 3
    triads = int(np.trace(decided @ decided @ decided)) // 6
    most = most_circular_triads(sets)
    open_pairs = (sets * (sets - 1) - int(decided.sum())) // 2
    if sets < 3:
        reason = "Fewer than three sets make no triad."
    elif open_pairs:
        reason = f"Pairs without a decision: {open_pairs}."
    else:
        p, exact = chance_of_so_few(circular, sets)
        reason = "" if sets >= FEWEST_SETS else "Means little under five sets."
        return Consistency(sets, circular, triads, most, 1 - circular / most, p, exact, reason)
    return Consistency(sets, circular, triads, most, reason=reason)


def most_circular_triads(sets: int) -> int:
    """Return the most circles possible: 1, 2, 5, 8, 14, 20 for 3 to 8 sets."""
    return (sets**3 - sets) // 24 if sets % 2 else (sets**3 - 4 * sets) // 24


def chance_of_so_few(circular_triads: int, sets: int) -> tuple[float, bool]:
    """Return the chance of at most so many circles when every pair is a coin toss.

    Returns
    -------
    tuple
        The chance, and whether it is exact. Beyond 10 sets it is chi-square with continuity
        correction.
    """
    if sets <= MOST_SETS_EXACT:
        counts = circular_triad_counts(sets)
        return sum(counts[: circular_triads + 1]) / sum(counts), True
    return _chi_square_chance(circular_triads, sets)[2], False


def _chi_square_chance(circular_triads: int, sets: int) -> tuple[float, float, float]:
    df = sets * (sets - 1) * (sets - 2) / (sets - 4) ** 2
    expected = sets * (sets - 1) * (sets - 2) / 24
    chi_square = df + 8 / (sets - 4) * (expected - circular_triads - 0.5)
    return chi_square, df, chi_square_upper_tail(max(0.0, chi_square), df)


@lru_cache(maxsize=16)
def circular_triad_counts(sets: int) -> tuple[int, ...]:
    """Count the outcomes of all pairs by their number of circular triads.

    Returns
    -------
    tuple of int
        Entry d is the number of outcomes with d circles; all together 2 to the number of pairs.

    Notes
    -----
    Sets are added one by one. The circles depend only on how many wins each set has, so that
    outcomes with the same wins are counted together.
    """
    ways: dict[tuple[int, ...], int] = {(0,): 1}
    for so_far in range(1, sets):
        ways = _with_one_more(ways, so_far)
    counts = [0] * (most_circular_triads(sets) + 1)
    for wins, number in ways.items():
        counts[_circles(wins)] += number
    return tuple(counts)


def _with_one_more(ways: dict[tuple[int, ...], int], so_far: int) -> dict[tuple[int, ...], int]:
    grown: dict[tuple[int, ...], int] = {}
    for wins, number in ways.items():
        levels = sorted(set(wins))
        sizes = [wins.count(level) for level in levels]
        for winners in product(*(range(size + 1) for size in sizes)):
            after, chances = [so_far - sum(winners)], number
            for level, size, winning in zip(levels, sizes, winners, strict=True):
                after += [level + 1] * winning + [level] * (size - winning)
                chances *= math.comb(size, winning)
            key = tuple(sorted(after))
            grown[key] = grown.get(key, 0) + chances
    return grown


def _circles(wins: tuple[int, ...]) -> int:
    sets = len(wins)
    return (sets * (sets - 1) * (2 * sets - 1) // 6 - sum(win * win for win in wins)) // 2


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
