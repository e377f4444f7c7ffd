"""Who hears which pair when: every candidate against the control, with two hidden checks."""

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np

from ratings.design.streams import stream
from ratings.errors import DesignError

Role = Literal["candidate", "null", "repeat"]
T = TypeVar("T", bound=Hashable)

#: Raised whenever the same seed would no longer give the same order; stored with each session.
DESIGN_VERSION = 2

#: How many pairs lie between a pair and its hidden repeat, where the session is long enough.
REPEAT_DISTANCE = 3
#: With fewer comparisons the checks cannot hide: from six on the repeat keeps `REPEAT_DISTANCE` in
#: every place of the session's second half. Below, an evaluator hears so few sounds that he may
#: know a pair again, and the places left for it are soon learnt (our judgement, no source).
FEWEST_HIDING = 2 * REPEAT_DISTANCE


@dataclass(frozen=True, slots=True)
class PlannedPair:
    """One comparison of a session, before it is turned into clips.

    Attributes
    ----------
    condition_id
        The condition both clips come from.
    set_a, set_b
        The sets on side A and side B.
    role
        ``candidate`` against the control, ``null`` (the control on both sides) or ``repeat``.
    """

    condition_id: int
    set_a: int
    set_b: int
    role: Role


def plan_session(
    control: int, candidates: list[int], conditions: list[int], seed: int, ordinal: int
) -> tuple[PlannedPair, ...]:
    """Plan the session of one evaluator.

    Parameters
    ----------
    control, candidates, conditions
        Ids of the sets and conditions.
    seed
        The study's seed.
    ordinal
        Which session of the study this is, from 0. Sessions 2j and 2j + 1 hear the same comparisons
        with sides exchanged, so that A/B order is balanced over the panel (both orders: general
        practice in paired listening tests, e.g. ISO 5495), each in an order of its own.

    Returns
    -------
    tuple of PlannedPair
        Candidates x conditions, plus one null pair and one repeat with its sides exchanged. Within
        the session the control is on side A in half of the candidate pairs, in all and for every
        candidate and every condition (within one). Over the sessions each comparison stands at
        every place and behind every other equally often, whenever a Williams design comes round;
        the null pair takes every place but the first, and the repeat every place that is far
        enough from its original, before or behind it, equally often (within four). What the null
        pair and the repeat are of is the same in all sessions of a study, so that each of their
        clips is played once in every session, as all others are: no count finds them.

    Raises
    ------
    DesignError
        Without a candidate or a condition.
    """
    if not candidates:
        raise DesignError(
            "There is only the control, and nothing to compare it with.",
            "Add recordings of at least one other set.",
        )
    if not conditions:
        raise DesignError("The study has no condition yet.", "Add recordings of one condition.")
    checks = _Checks(control, candidates, conditions, seed)
    for earlier in range(ordinal):
        _session(control, candidates, conditions, seed, earlier, checks)
    return _session(control, candidates, conditions, seed, ordinal, checks)


def hiding_words(candidates: int, conditions: int) -> str:
    """Say that a study is too small to hide the null pair and the repeat; empty if it is not."""
    number = candidates * conditions
    if number >= FEWEST_HIDING:
        return ""
    comparisons = "1 comparison" if number == 1 else f"{number} comparisons"
    return (
        f"With {comparisons} an evaluator may notice the null pair and the repeat; "
        f"{FEWEST_HIDING} or more hide them."
    )


class _Checks:
    """What a study's null pair and repeat are of, and how often each place has held them so far."""

    def __init__(self, control: int, candidates: list[int], conditions: list[int], seed: int):
        drawn = stream(seed, "checked comparisons")
        self.null = PlannedPair(
            conditions[drawn.integers(len(conditions))], control, control, "null"
        )
        candidate = candidates[drawn.integers(len(candidates))]
        self.repeated = (conditions[drawn.integers(len(conditions))], control + candidate)
        self.null_places: Counter[int] = Counter()
        self.repeat_places: Counter[int] = Counter()


def _session(
    control: int,
    candidates: list[int],
    conditions: list[int],
    seed: int,
    ordinal: int,
    checks: _Checks,
) -> tuple[PlannedPair, ...]:
    pairs = _candidate_pairs(
        control, candidates, conditions, stream(seed, "comparisons", ordinal // 2)
    )
    if ordinal % 2:
        pairs = [_exchanged(pair, pair.role) for pair in pairs]
    order = [pairs[place] for place in _sequence(pairs, seed, ordinal)]
    own = stream(seed, "checks", ordinal)
    return tuple(_with_hidden_checks(order, own, checks))


def _sequence(pairs: list[PlannedPair], seed: int, ordinal: int) -> list[int]:
    """Return where in `pairs` the comparison of each place stands."""
    rows = williams_orders(len(pairs))
    cycle, row = divmod(ordinal, len(rows))
    rng = stream(seed, "sequence", cycle)
    names = sorted(range(len(pairs)), key=lambda place: _comparison(pairs[place]))
    labels, order_of_rows = rng.permutation(len(pairs)), rng.permutation(len(rows))
    return [names[labels[number]] for number in rows[order_of_rows[row]]]


def _comparison(pair: PlannedPair) -> tuple[int, int]:
    """Name a comparison whatever its sides: the condition, and both sets (one is the control)."""
    return pair.condition_id, pair.set_a + pair.set_b


def _candidate_pairs(
    control: int, candidates: list[int], conditions: list[int], rng: np.random.Generator
) -> list[PlannedPair]:
    # Sides alternate like the fields of a chessboard over shuffled rows and columns: balanced
    # within one in all, for every candidate, and for every condition.
    start = int(rng.integers(2))
    columns = rng.permutation(conditions).tolist()
    pairs = []
    for row, candidate in enumerate(rng.permutation(candidates).tolist()):
        for column, condition in enumerate(columns):
            control_first = (row + column + start) % 2 == 0
            a, b = (control, candidate) if control_first else (candidate, control)
            pairs.append(PlannedPair(condition, a, b, "candidate"))
    return pairs


def _exchanged(pair: PlannedPair, role: Role) -> PlannedPair:
    return PlannedPair(pair.condition_id, pair.set_b, pair.set_a, role)


def _with_hidden_checks(
    order: list[PlannedPair], rng: np.random.Generator, checks: _Checks
) -> list[PlannedPair]:
    """Put in a null pair and a repeat, where the sessions so far had them least."""
    length = len(order) + 2
    apart = min(REPEAT_DISTANCE + 1, length // 2)
    own = next(n for n, pair in enumerate(order) if _comparison(pair) == checks.repeated)
    # Never the first pair: what is the same cannot be learnt before anything was different.
    null_at = _rarest(range(1, length), checks.null_places, rng)
    far = [
        place
        for place in range(length)
        if place != null_at and abs(place - _moved(own, null_at, place)) >= apart
    ]
    repeat_at = _rarest(far, checks.repeat_places, rng)
    session = list(order)
    for place, pair in sorted(
        ((null_at, checks.null), (repeat_at, _exchanged(order[own], "repeat"))),
        key=lambda each: each[0],
    ):
        session.insert(place, pair)
    return session


def _moved(place: int, *put_in: int) -> int:
    """Return where a pair comes to stand when others are put in at these places of the result."""
    for other in sorted(put_in):
        place += other <= place
    return place


def _rarest(choices: Sequence[T], used: Counter[T], rng: np.random.Generator) -> T:
    """Draw one of those used least so far, and count it."""
    fewest = min(used[choice] for choice in choices)
    rare = [choice for choice in choices if used[choice] == fewest]
    drawn = rare[int(rng.integers(len(rare)))]
    used[drawn] += 1
    return drawn


def blind_codes(count: int, digits: int, rng: np.random.Generator) -> tuple[str, ...]:
    """Return `count` different random codes of `digits` digits, none starting with 0.

    Three-digit random numbers for sets follow ISO 13299:2016 (read in extract).
    """
    low, high = 10 ** (digits - 1), 10**digits
    if count > (high - low) // 2:
        raise DesignError(f"{count} sets are too many for codes of {digits} digits.")
    return tuple(str(low + number) for number in rng.choice(high - low, count, replace=False))


def williams_orders(sets: int) -> tuple[tuple[int, ...], ...]:
    """Return orders balanced for place and for what came just before.

    Parameters
    ----------
    sets
        How many sets, numbered from 0.

    Returns
    -------
    tuple of tuple of int
        For an even number of sets as many orders as sets, in which each set stands once at every
        place and follows each other set once; for an odd number twice as many, and twice. Use
        whole multiples of them, or the balance is lost. Empty for no set, one order for one.

    References
    ----------
    Williams EJ (1949) Australian Journal of Scientific Research A 2:149-168.
    """
    if sets < 2:
        return ((0,),) * sets
    zigzag = [(step + 1) // 2 if step % 2 else (sets - step // 2) % sets for step in range(sets)]
    forward = tuple(tuple((place + shift) % sets for place in zigzag) for shift in range(sets))
    if sets % 2 == 0:
        return forward
    return forward + tuple(tuple(reversed(order)) for order in forward)
