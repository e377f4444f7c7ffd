"""Who hears which pair when: every candidate against the control, with two hidden checks."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ratings.errors import DesignError

Role = Literal["candidate", "null", "repeat"]

#: Raised whenever the same seed would no longer give the same order; stored with each session.
DESIGN_VERSION = 1

#: How many pairs lie between a pair and its hidden repeat, where the session is long enough.
REPEAT_DISTANCE = 3


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
        candidate and every condition (within one).

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
    shared = np.random.default_rng([seed, ordinal // 2])
    own = np.random.default_rng([seed, ordinal // 2, 1 + ordinal % 2])
    pairs = _candidate_pairs(control, candidates, conditions, shared)
    if ordinal % 2:
        pairs = [_exchanged(pair, pair.role) for pair in pairs]
    order = [pairs[index] for index in own.permutation(len(pairs))]
    return tuple(_with_hidden_checks(order, control, conditions, own))


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
    order: list[PlannedPair], control: int, conditions: list[int], rng: np.random.Generator
) -> list[PlannedPair]:
    null = PlannedPair(int(rng.choice(conditions)), control, control, "null")
    # Never the first pair: what is the same cannot be learnt before anything was different.
    order.insert(int(rng.integers(1, len(order) + 1)), null)
    # A pair from the first half, so that its repeat can lie well behind it.
    early = [i for i in range((len(order) + 1) // 2) if order[i].role == "candidate"]
    original = int(rng.choice(early))
    earliest = min(original + REPEAT_DISTANCE + 1, len(order))
    repeat = _exchanged(order[original], "repeat")
    order.insert(int(rng.integers(earliest, len(order) + 1)), repeat)
    return order


def blind_codes(count: int, digits: int, rng: np.random.Generator) -> tuple[str, ...]:
    """Return `count` different random codes of `digits` digits, none starting with 0.

    Three-digit random numbers for sets follow ISO 13299:2016 (read in extract).
    """
    low, high = 10 ** (digits - 1), 10**digits
    if count > (high - low) // 2:
        raise DesignError(f"{count} sets are too many for codes of {digits} digits.")
    return tuple(str(low + number) for number in rng.choice(high - low, count, replace=False))
