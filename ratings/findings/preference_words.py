"""The sentences of preference."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_choices import NumberedChoices
from ratings.findings.preference_conditions import ConditionPreference, InCondition
from ratings.statistics.distributions import t_quantile
from ratings.statistics.preference.pair_counts import NONE
from ratings.statistics.preference.triads import Circle
from ratings.statistics.preference.worth import Worths, share_interval, unanimous_share
from ratings.study.constants import ALPHA
from ratings.study.wording import listed


@dataclass(frozen=True, slots=True)
class Judged:
    """What the sentence of one attribute is made of.

    Attributes
    ----------
    worths, sets
        The fit, and the names of the sets.
    p
        That the panel prefers none, the evaluators' own tastes allowed for, adjusted for the
        attributes.
    attributes
        How many were asked about.
    evaluators
        How many decided anything.
    choices, no_difference
        How many answers there are, and those that were no decision.
    edge_p, edge_evaluators
        That the panel prefers neither of the two sets of `Worths.edge`, for this attribute alone,
        and how many decided between them; None if they never met.
    steps_p
        The largest such p over the steps of `Worths.in_order`; None without.
    circle
        Three sets chosen in a circle, by this attribute alone.
    conditions
        Whether the preference depends on the condition.
    """

    worths: Worths
    sets: tuple[str, ...]
    p: float | None
    attributes: int
    evaluators: int
    choices: int
    no_difference: int
    edge_p: float | None
    edge_evaluators: int
    steps_p: float | None
    circle: Circle | None
    conditions: ConditionPreference

    @property
    def is_claimed(self) -> bool:
        """Whether a set is called preferred over all choices."""
        told = self.worths.log_worth is not None or bool(self.worths.above)
        return told and self.evaluators > 1 and self.p is not None and self.p <= ALPHA

    @property
    def preferred(self) -> tuple[int, ...]:
        """The sets called preferred over all choices; empty without a claim."""
        if not self.is_claimed:
            return ()
        if self.worths.log_worth is None:
            return self.worths.above
        return (int(self.worths.log_worth.argmax()),)

    @property
    def is_circular(self) -> bool:
        """Whether the panel is said to choose in a circle."""
        return self.circle is not None and self.circle.p * self.attributes <= ALPHA


def preference_sentence(judged: Judged) -> str:
    """Say which set is preferred, or why nobody can tell."""
    if judged.evaluators == 1:
        return "One evaluator alone cannot stand for a panel."
    told = [_over_all(judged)]
    if 5 * judged.no_difference > judged.choices > judged.no_difference:
        told.append(
            f'{judged.no_difference} of {judged.choices} answers were "no difference", '
            "which is no decision."
        )
    if judged.conditions.is_claimed:
        within = [_within(each, judged.sets) for each in judged.conditions.within]
        told.append(
            "The preference depends on the condition"
            f"{_chance(judged.conditions.p, judged.attributes)}: {', '.join(within)}."
        )
    if judged.is_circular and judged.circle is not None:
        one, two, three = (judged.sets[index] for index in judged.circle.sets)
        p = judged.circle.p * judged.attributes
        told.append(
            f"The panel chooses in a circle{_chance(p, judged.attributes)}: "
            f"{one} over {two}, {two} over {three}, {three} over {one}."
        )
    return " ".join(told)


def _over_all(judged: Judged) -> str:
    worths, sets, p = judged.worths, judged.sets, judged.p
    if worths.log_worth is None and not worths.above:
        return worths.reason
    if p is None:
        return worths.reason
    chance = _chance(p, judged.attributes)
    if p > ALPHA:
        # No exchange of signs is rarer than this.
        rarest = min(1.0, judged.attributes * 2.0 ** (1 - judged.evaluators))
        few = f"; {judged.evaluators} evaluators are too few for a claim" if rarest > ALPHA else ""
        return f"No set is preferred over all choices taken together{chance}{few}."
    if worths.log_worth is None:
        ahead = _ahead(worths, sets, judged.steps_p, judged.attributes)
        return f"{ahead}{chance}; {_edge(judged)}."
    order = np.argsort(-worths.log_worth, kind="stable")
    best, following = int(order[0]), int(order[1])
    ends = f"{sets[best]} is preferred most"
    if len(sets) > 2 and is_ahead(worths, int(order[-2]), int(order[-1]), judged.attributes):
        ends += f" and {sets[order[-1]]} least"
    return f"{ends}{chance}; {_lead(judged, best, following)}."


def _within(found: InCondition, sets: tuple[str, ...]) -> str:
    if found.best is None:
        return f"no set in {found.condition}"
    doubt = "" if found.is_clear else " (its lead may be chance)"
    return f"{sets[found.best]} in {found.condition}{doubt}"


def _ahead(worths: Worths, sets: tuple[str, ...], steps_p: float | None, attributes: int) -> str:
    if len(sets) > 2 and steps_p is not None and steps_p * attributes <= ALPHA:
        return f"{', then '.join(sets[index] for index in worths.in_order)}, without exception"
    verb = "was" if len(worths.above) == 1 else "were"
    top = listed([sets[index] for index in worths.above])
    return f"{top} {verb} never passed over for any other set"


def _edge(judged: Judged) -> str:
    worths, p = judged.worths, judged.edge_p
    if worths.edge is None or worths.penalised is None:
        return "how far ahead cannot be told"
    one, other = worths.edge
    ahead, behind = judged.sets[one], judged.sets[other]
    if p is None or p * judged.attributes > ALPHA:
        return f"the lead over {behind} may be chance"
    share = 1 / (1 + math.exp(worths.penalised[other] - worths.penalised[one]))
    least = unanimous_share(judged.edge_evaluators)
    return (
        f"of 100 decisions between {ahead} and {behind}, about {100 * share:.0f} would fall on "
        f"{ahead} (penalised estimate; at least {math.floor(100 * least)} with 95 % confidence)"
    )


def _lead(judged: Judged, best: int, following: int) -> str:
    worths, sets = judged.worths, judged.sets
    # Of two sets the panel's claim is the lead.
    if len(sets) > 2 and not is_ahead(worths, best, following, judged.attributes):
        return f"its lead over {sets[following]} may be chance"
    ahead, error = worths.lead(best, following)
    low, high = share_interval(ahead, error, worths.evaluators, worths.choices)
    if low <= 0.5:
        return f"how far ahead of {sets[following]} is uncertain"
    return (
        f"of 100 decisions between it and {sets[following]}, {100 / (1 + math.exp(-ahead)):.0f} "
        f"would fall on it (95 % interval {100 * low:.0f} to {100 * high:.0f})"
    )


def is_ahead(worths: Worths, one: int, other: int, attributes: int) -> bool:
    """Whether a lead is beyond chance in the light of all attributes."""
    lead, error = worths.lead(one, other)
    surely = 1 - ALPHA / attributes / 2
    return lead > t_quantile(surely, max(worths.evaluators - 1, 1)) * error


class Told(Protocol):
    """What the headline needs to know of a block."""

    @property
    def attribute(self) -> str | None:
        """Its name."""

    @property
    def sets(self) -> tuple[str, ...]:
        """Names of the sets."""

    @property
    def judged(self) -> Judged:
        """What its sentence is made of."""


def headline(blocks: Sequence[Told]) -> str:
    """Say in one sentence over all attributes which sets are preferred."""
    told: dict[str, list[str]] = {}
    circles = []
    for block in blocks:
        on = block.attribute or ""
        judged = block.judged
        if judged.evaluators > 1 and judged.conditions.is_claimed:
            for each in judged.conditions.within:
                if each.best is not None:
                    told.setdefault(block.sets[each.best], []).append(
                        f"{on} in {each.condition}".strip()
                    )
        elif judged.preferred:
            names = listed([block.sets[index] for index in judged.preferred])
            told.setdefault(names, []).append(on)
        if judged.evaluators > 1 and judged.is_circular:
            circles.append(block.attribute or "these choices")
    word = " on " if any(block.attribute for block in blocks) else " "
    parts = [
        f"{name}{word}{listed(places)}" if any(places) else name for name, places in told.items()
    ]
    said = f"Preferred: {'; '.join(parts)}" if parts else "No set is shown to be preferred"
    if circles:
        said += f"; the panel chooses in a circle on {listed(circles)}"
    return f"{said}."


def preference_notes(
    choices: NumberedChoices,
    worths: Worths,
    null_pair: npt.NDArray[np.bool_],
    order_note: str,
    attributes: int,
) -> tuple[str, ...]:
    """Say what the figures leave out or take for granted; `attributes` are noted about."""
    notes = [order_note] if order_note else []
    missing = int((choices.choice < 0).sum())
    if missing:
        notes.append(f"Empty choices passed over: {missing}.")
    if null_pair.any():
        told_apart = int((null_pair & (choices.choice != NONE)).sum())
        notes.append(
            f"Null pairs left out: {int(null_pair.sum())}; in {told_apart} of them one side was "
            "preferred all the same."
        )
    if len(choices.conditions) > 1:
        notes.append(f"{len(choices.conditions)} conditions are taken together.")
    fit_p = None if worths.fit is None else worths.fit.p
    if fit_p is not None and fit_p * attributes < ALPHA:
        notes.append(f"One scale does not describe these choices well{_chance(fit_p)}.")
    if worths.penalised is not None:
        notes.append(
            "The log worths are penalised (Firth): without the penalty they would be endless."
        )
    if worths.choices > len(choices.evaluators):
        notes.append(
            "Standard errors take every choice for independent; several of one evaluator are not. "
            "The sentence allows for it, the table does not."
        )
    return tuple(notes)


def _chance(p: float | None, attributes: int = 1) -> str:
    if p is None:
        return ""
    among = f" among {attributes} attributes" if attributes > 1 else ""
    return f" (p below 0.0001{among})" if p < 0.0001 else f" (p {p:.2g}{among})"
