"""The sentences of a look while sessions run."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM
from ratings.statistics.sequential.looks import FINAL_LEVEL, LOOK_SHARE
from ratings.study.constants import ALPHA
from ratings.study.wording import counted, listed, spoken

if TYPE_CHECKING:
    from ratings.findings.enough import Analysis, EnoughRow

#: More names than this are counted instead (our judgement).
_MOST_NAMES = 4
#: Below, something is called unlikely: as rare as what is likely is common.
_UNLIKELY = 0.2


def reach_words(analysis: "Analysis", planned: int | None, ahead: int) -> str:
    """Say how far the outlook of a row goes."""
    if analysis == "looking":
        return f"within the plan of {planned} evaluators"
    return f"by {ahead} more evaluators"


def row_sentence(row: "EnoughRow", margin: float, reach: str, *, is_alone: bool) -> str:
    """Say what a look finds of one set on one attribute.

    Parameters
    ----------
    margin
        In score points: a smaller difference does not matter.
    reach
        From `reach_words`.
    is_alone
        Whether it is the only comparison, so that nothing is adjusted.
    """
    if row.difference is None:
        return "too few: nobody who has finished rated it beside the control"
    if row.state == "too few":
        rated = counted(row.evaluators, "evaluator")
        return f"too few: {rated} rated it, a look needs {FEWEST_TO_CLAIM}"
    interval = _interval(row)
    if row.state == "settled: too small to matter":
        points = "point" if margin == 1 else "points"
        return (
            f"settled: too small to matter, within {margin:.3g} {points} of the control{interval}"
        )
    found = f"{_size(row.difference)}{interval}"
    if row.is_settled:
        return f"settled: {found}"
    excludes_zero = row.lower is not None and row.upper is not None and row.lower * row.upper > 0
    alone = "; clear alone, not after adjusting" if excludes_zero and not is_alone else ""
    return f"open: {found}{alone}; {_outlook(row, reach)}"


def _outlook(row: "EnoughRow", reach: str) -> str:
    if row.more is not None:
        return f"{counted(row.more, 'more evaluator')} would likely settle it"
    chance = row.chance or 0.0
    if chance < _UNLIKELY:
        return f"unlikely to be settled {reach}"
    return f"may be settled {reach} (chance {_percent(chance)})"


def _size(difference: float) -> str:
    if abs(difference) < 0.05:
        return "equal on average"
    return f"{'better' if difference > 0 else 'worse'} by {abs(difference):.1f} points"


def _interval(row: "EnoughRow") -> str:
    """Return the interval in brackets, positive for better; empty while there is none."""
    if row.lower is None or row.upper is None:
        return ""
    low, high = ("0.0" if abs(each) < 0.05 else f"{each:+.1f}" for each in (row.lower, row.upper))
    return f" ({low} to {high} at any look)".replace("-", "−")


def _percent(chance: float) -> str:
    return f"{100 * chance:.0f} %"


def headline(
    analysis: "Analysis",
    rows: Sequence["EnoughRow"],
    evaluators: int,
    planned: int | None,
    reach: str,
) -> str:
    """Say whether it is enough: what is settled, and what would likely settle the next."""
    if analysis == "final":
        return "All planned evaluators have finished: the final verdict counts."
    judged = [row for row in rows if row.state != "too few"]
    if not judged:
        return _too_early(evaluators, planned)
    settled = [row for row in rows if row.is_settled]
    if len(settled) == len(rows):
        return "Everything is settled: it is enough."
    many = len({row.set for row in rows}) > 1
    done = f"Settled: {_named(settled, many)}. " if settled else ""
    likely = [row for row in judged if row.more]
    if likely:
        fewest = min(row.more or 0 for row in likely)
        named = _named([row for row in likely if row.more == fewest], many)
        return f"{done}{counted(fewest, 'more evaluator')} would likely settle {named}."
    best = max(judged, key=lambda row: 0.0 if row.is_settled else row.chance or 0.0)
    if best.is_settled or (best.chance or 0.0) < _UNLIKELY:
        if done:
            return f"{done}Nothing else is likely to be settled {reach}."
        return f"Nothing is settled yet, and nothing is likely to be {reach}."
    start = done or "Nothing is settled yet. "
    chance = _percent(best.chance or 0.0)
    return (
        f"{start}{_sentence_case(_named([best], many))} may be settled {reach} (chance {chance})."
    )


def _too_early(evaluators: int, planned: int | None) -> str:
    if evaluators >= FEWEST_TO_CLAIM:
        few = f"{FEWEST_TO_CLAIM} evaluators"
        return f"Too early to say: no set was rated beside the control by {few}."
    of_plan = "" if planned is None else f" of {planned} planned evaluators"
    have = f"{evaluators}{of_plan}" if of_plan else counted(evaluators, "evaluator")
    verb = "has" if evaluators == 1 else "have"
    return f"Too early to say: {have} {verb} finished, a look needs {FEWEST_TO_CLAIM}."


def _sentence_case(text: str) -> str:
    return text[:1].upper() + text[1:]


def notes(analysis: "Analysis") -> tuple[str, ...]:
    """Say what a reader must know beside a look."""
    if analysis == "final":
        return ()
    by_now = "Settled is what all who have finished settle: later evaluators can open it again."
    if analysis == "looking":
        return (
            "A look costs a little power; the interval of the final verdict is not valid while "
            "looking.",
            f"Looks may claim what is not there in {100 * LOOK_SHARE * ALPHA:.2g} % of studies. "
            f"Whoever would have stopped at one asks p of {FINAL_LEVEL:.2g} or less of the final "
            f"verdict, so that both together stay within {100 * ALPHA:.2g} %.",
            by_now,
        )
    if analysis == "extended":
        return (
            "More evaluators than planned have finished: the final verdict is not valid for all of "
            "them. What is settled here holds for any number of looks.",
            by_now,
        )
    return (
        "No number of evaluators was planned: what is settled here holds for any number of looks, "
        "and asks for more than a plan would.",
        by_now,
    )


def _named(rows: Sequence["EnoughRow"], many_sets: bool) -> str:
    by_attribute: dict[str, list[str]] = {}
    for row in rows:
        by_attribute.setdefault(spoken(row.attribute), []).append(row.set)
    if len(rows) > _MOST_NAMES:
        return f"{len(rows)} differences on {counted(len(by_attribute), 'attribute')}"
    return listed(
        [f"{name} ({listed(sets)})" if many_sets else name for name, sets in by_attribute.items()]
    )
