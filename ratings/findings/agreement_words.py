"""The sentences of the agreement page."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.agreement.kendall import Concordance
from ratings.statistics.cells import Cells
from ratings.statistics.missing import complete_part


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


def headline(agreements: Iterable[Agreeing]) -> str:
    """Say in one sentence what the panel agrees on; the heading of the page.

    Parameters
    ----------
    agreements
        Blocks of `ratings.findings.agreement.agreement`; those of single conditions do not count.

    Notes
    -----
    "Loosely" is more than chance, but below `agreement.USABLE_W`: a significant W is not yet a
    good one.
    """
    overall = [block for block in agreements if block.condition is None]
    if not overall:
        return "No scores yet."
    told = [block for block in overall if block.agrees is not None]
    if not told:
        return "Too few scores to tell whether the panel agrees."
    well = [_spoken(block.attribute) for block in told if block.agrees_well]
    loosely = [_spoken(b.attribute) for b in told if b.agrees and not b.agrees_well]
    apart = [_spoken(block.attribute) for block in told if not block.agrees]
    rest = "" if len(told) == len(overall) else " For the rest it is too early to tell."
    if len(overall) > 1 and not rest:
        if len(well) == len(told):
            return "The panel agrees on every attribute."
        if len(apart) == len(told):
            return "The panel does not agree on any attribute yet."
    parts = [f"agrees on {_listed(well)}"] if well else []
    if loosely:
        parts.append(f"{'' if well else 'agrees '}only loosely on {_listed(loosely)}")
    if apart:
        parts.append(f"{'not' if parts else 'does not agree'} on {_listed(apart, 'or')}")
    return f"The panel {', '.join(parts)}.{rest}"


def unworked_words(attributes: Sequence[str]) -> str:
    """Say which attributes the program itself failed to judge."""
    return (
        f"{_listed(attributes)} could not be worked out: a fault of the program, written to its "
        "log. All scores are saved."
    )


def agreement_sentence(kendall: Concordance) -> str:
    """Say what W means for a panel of this size."""
    if kendall.w is None or kendall.p is None:
        return kendall.reason
    panel = f"{_counted(kendall.evaluators, 'evaluator')}, {_counted(kendall.sets, 'set')}"
    if kendall.smallest_w is None:
        return f"{panel}: too few to tell; W {kendall.w:.2f}, and chance alone explains any W."
    sentence = (
        f"{panel}: W {kendall.w:.2f}; chance alone explains values below {kendall.smallest_w:.2f}."
    )
    reached = kendall.w >= kendall.smallest_w - 1e-9
    if reached != (kendall.p <= 0.05):
        return f"{sentence} Equal scores counted in, its chance is {100 * kendall.p:.2g} %."
    return sentence


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
            f"{_listed(names)} did not rate every set and {verb} left out of W, not of ICC."
        )
    if kendall.sets_left_out:
        names = [name for name, kept in zip(sets, kept_sets, strict=True) if not kept]
        verb = "was" if len(names) == 1 else "were"
        notes.append(f"{_listed(names)} {verb} not rated by everyone: left out of W, not of ICC.")
    rated = cells.counts > 0
    uneven = int((rated.any(axis=2) & (rated.sum(axis=2) < rated.any(axis=(0, 1)).sum())).sum())
    if uneven:
        notes.append(
            f"{_counted(uneven, 'mean')} of an evaluator and set "
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


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _listed(names: Sequence[str], joint: str = "and") -> str:
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} {joint} {names[-1]}"
