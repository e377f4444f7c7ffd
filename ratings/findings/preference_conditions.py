"""Whether the preference depends on the condition, and what is preferred in each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_choices import NumberedChoices
from ratings.statistics.adjusted_p import holm
from ratings.statistics.preference.panel_flips import condition_p, pair_p, panel_p
from ratings.statistics.preference.worth import fit_worths
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class InCondition:
    """What is preferred in one condition.

    Attributes
    ----------
    condition
        Its name.
    p
        That the panel prefers no set there, adjusted for attributes and conditions (Holm); None
        when nobody decided anything there.
    best
        The set preferred most; None when no preference is beyond chance, or no scale holds.
    is_clear
        Whether the choices between it and each other set are beyond chance too.
    """

    condition: str
    p: float | None
    best: int | None = None
    is_clear: bool = False


@dataclass(frozen=True, slots=True)
class ConditionPreference:
    """Whether the preference depends on the condition.

    Attributes
    ----------
    p
        That it does not, adjusted for the attributes (Holm); None with nothing to compare.
    is_claimed
        Whether it is said to depend, which needs a set preferred in some condition too: so that
        all that is said of a study in which nothing is there stays near 5 % (our judgement; the
        test of null studies counts it).
    within
        What is preferred in each condition; empty for a single one.
    """

    p: float | None = None
    is_claimed: bool = False
    within: tuple[InCondition, ...] = ()


def condition_preferences(tables: Sequence[NumberedChoices]) -> tuple[ConditionPreference, ...]:
    """Judge every attribute's conditions in the light of all attributes."""
    apart = _adjusted(
        [
            condition_p(numbered.shares()) if len(numbered.conditions) > 1 else None
            for numbered in tables
        ]
    )
    single = [
        [numbered.within(index) for index in range(len(numbered.conditions))]
        if len(numbered.conditions) > 1
        else []
        for numbered in tables
    ]
    places = sum(map(len, single))
    adjusted = iter(_adjusted([panel_p(each.votes()) for row in single for each in row]))
    found = []
    for p, row in zip(apart, single, strict=True):
        within = tuple(_in_condition(each, next(adjusted), places) for each in row)
        named = any(each.best is not None for each in within)
        is_claimed = p is not None and p <= ALPHA and named
        found.append(ConditionPreference(p, is_claimed, within))
    return tuple(found)


def _adjusted(alone: list[float | None]) -> list[float | None]:
    known = iter(holm([p for p in alone if p is not None]).tolist())
    return [None if p is None else float(next(known)) for p in alone]


def _in_condition(numbered: NumberedChoices, p: float | None, places: int) -> InCondition:
    (name,) = numbered.conditions
    if p is None or p > ALPHA:
        return InCondition(name, p)
    worths = fit_worths(numbered.pairs())
    worth = worths.penalised if worths.log_worth is None else worths.log_worth
    if worth is None:
        return InCondition(name, p)
    best = int(worth.argmax())
    votes = numbered.votes()
    others = [pair_p(votes, best, other) for other in range(len(worth)) if other != best]
    clear = all(each is not None and each * places <= ALPHA for each in others)
    return InCondition(name, p, best, clear or len(worth) == 2)
