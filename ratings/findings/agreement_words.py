"""The sentences of the agreement page."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.agreement.kendall import Concordance
from ratings.statistics.cells import Cells
from ratings.statistics.missing import complete_part
from ratings.study.constants import ALPHA
from ratings.study.wording import counted, listed


class Agreeing(Protocol):
    """What the headline needs to know of a block."""

    @property
    def attribute(self) -> str:
        """Attribute as in the score table."""

    @property
    def condition(self) -> str | None:
        """Condition, or None over all of them."""

    @property
    def agrees(self) -> bool | None:
        """Whether the panel agrees more than by chance; None when nobody can tell."""

    @property
    def agrees_well(self) -> bool:
        """Whether it agrees well enough to be built on."""

    @property
    def agrees_in(self) -> tuple[str, ...]:
        """Conditions in which it agrees, where it does not over all of them."""

    @property
    def nobody_discriminates(self) -> bool:
        """Whether every evaluator gave all sets the same score."""


def headline(agreements: Iterable[Agreeing], condition: str | None = None) -> str:
    """Say in one sentence what the panel agrees on; the heading of the page.

    Parameters
    ----------
    agreements
        Blocks of `ratings.findings.agreement.agreement`.
    condition
        Only blocks of this condition count; None takes those over all conditions.

    Notes
    -----
    "Loosely" is more than chance, but below `agreement.USABLE_W`: a significant W is not yet a
    good one.
    """
    chosen = [block for block in agreements if block.condition == condition]
    if not chosen:
        return "No scores yet."
    told = [block for block in chosen if block.agrees is not None or block.agrees_in]
    flat = [_spoken(block.attribute) for block in chosen if block.nobody_discriminates]
    if len(flat) == len(chosen):
        return "Nobody told the sets apart."
    ends = f" Nobody told the sets apart on {listed(flat, 'or')}." if flat else ""
    if not told:
        return f"Too few scores, sets or evaluators to tell whether the panel agrees.{ends}"
    if len(told) + len(flat) < len(chosen):
        ends += " For the rest it is too early to tell."
    if len(told) > 1 and not ends:
        if all(block.agrees_well for block in told):
            return "The panel agrees on every attribute."
        if not any(block.agrees or block.agrees_in for block in told):
            return "The panel does not agree on any attribute yet."
    return f"The panel {_how_far(told)}.{ends}"


def _how_far(told: Sequence[Agreeing]) -> str:
    well = [_spoken(block.attribute) for block in told if block.agrees_well]
    loosely = [_spoken(b.attribute) for b in told if b.agrees and not b.agrees_well]
    within = [f"{_spoken(b.attribute)} ({listed(b.agrees_in)})" for b in told if b.agrees_in]
    apart = [_spoken(b.attribute) for b in told if not b.agrees and not b.agrees_in]
    parts = [f"on {listed(well)}"] if well else []
    if loosely:
        parts.append(f"only loosely on {listed(loosely)}")
    if within:
        parts.append(f"in single conditions on {listed(within)}")
    if apart:
        parts.append(f"{'not' if parts else 'does not agree'} on {listed(apart, 'or')}")
    is_any = well or loosely or within
    return f"{'agrees ' if is_any else ''}{', '.join(parts)}"


def unworked_words(attributes: Sequence[str]) -> str:
    """Say which attributes the program itself failed to judge."""
    return (
        f"{listed(attributes)} could not be worked out: a fault of the program, written to its "
        "log. All scores are saved."
    )


def agreement_sentence(
    kendall: Concordance, chance_w: float | None, p_holm: float | None, family: str
) -> str:
    """Say what a defined W means for a panel of this size.

    Parameters
    ----------
    kendall
        With a defined W.
    chance_w, p_holm
        As in `ratings.findings.agreement.AttributeAgreement`.
    family
        What was looked at together, such as ``7 attributes``; empty for this W alone.
    """
    panel = f"{counted(kendall.evaluators, 'evaluator')}, {counted(kendall.sets, 'set')}"
    found = f"{panel}: W {kendall.w:.2f}"
    among = f" among {family}" if family else ""
    agrees = p_holm is not None and p_holm <= ALPHA
    if chance_w is None and not agrees:
        few = f"{panel}: too few to tell{among if kendall.smallest_w is not None else ''}"
        return f"{few}; W {kendall.w:.2f}, and chance alone explains any W."
    reached = chance_w is not None and (kendall.w or 0.0) >= chance_w - 1e-9
    if reached != agrees:
        chance = 100 * (p_holm or 0.0)
        return f"{found}; equal scores counted in, its chance{among} is {chance:.2g} %."
    return f"{found}; chance alone explains values below {chance_w:.2f}{among}."


def family_words(members: Sequence[tuple[str, str | None]]) -> str:
    """Count attributes and conditions that are looked at together; empty for a single one."""
    if len(members) < 2:
        return ""
    attributes, conditions = (len(set(names)) for names in zip(*members, strict=True))
    parts = [(attributes, "attribute"), (conditions, "condition")]
    return " in ".join(counted(number, noun) for number, noun in parts if number > 1)


def by_condition_words(conditions: Sequence[str]) -> str:
    """Say where the panel agrees although it does not over all conditions."""
    return (
        "The order of the sets depends on the condition: taken by itself, the panel agrees in "
        f"{listed(conditions)}."
    )


def agreement_notes(
    scores: NumberedScores,
    cells: Cells,
    kendall: Concordance,
    evaluators: Sequence[str],
    sets: Sequence[str],
) -> tuple[str, ...]:
    """Say what the figures leave out or throw together."""
    notes = []
    kept_evaluators, kept_sets = complete_part(cells.set_means())
    if kendall.left_out:
        names = [name for name, kept in zip(evaluators, kept_evaluators, strict=True) if not kept]
        verb = "is" if len(names) == 1 else "are"
        notes.append(
            f"{listed(names)} did not rate every set and {verb} left out of W, not of ICC."
        )
    if kendall.sets_left_out:
        names = [name for name, kept in zip(sets, kept_sets, strict=True) if not kept]
        verb = "was" if len(names) == 1 else "were"
        notes.append(f"{listed(names)} {verb} not rated by everyone: left out of W, not of ICC.")
    rated = cells.counts > 0
    uneven = int((rated.any(axis=2) & (rated.sum(axis=2) < rated.any(axis=(0, 1)).sum())).sum())
    if uneven:
        notes.append(
            f"{counted(uneven, 'mean')} of an evaluator and set "
            f"{'lacks' if uneven == 1 else 'lack'} a condition; corrected for its level."
        )
    if scores.driven is not None and scores.driven.any() and not scores.driven.all():
        driven = int(scores.driven.sum())
        notes.append(
            f"{driven} scores were given driving and {scores.driven.size - driven} listening; "
            "they are taken together here."
        )
    return tuple(notes)


def _spoken(attribute: str) -> str:
    return attribute.replace("_", " ")
