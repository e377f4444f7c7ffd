"""The table of the verdict: every set beside the control, per attribute and condition, one word."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ratings.findings.differences import AttributeDifferences
from ratings.findings.differences_figures import InCondition, SetDifference
from ratings.findings.differences_words import claims_by_condition
from ratings.statistics.adjusted_p import holm
from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM
from ratings.study.constants import ALPHA

#: All that is said of a cell. "By condition" stands over conditions that do not say the same.
Word = Literal["clear", "by condition", "too small to matter", "not certain", "no verdict"]


@dataclass(frozen=True, slots=True)
class Cell:
    """A set beside the control on one attribute, in one condition or over all of them.

    Attributes
    ----------
    condition
        None over all conditions.
    word
        What can be said.
    evaluators
        Who rated both the set and the control here.
    difference, lower, upper
        Set minus control in score points with its 95 % interval; positive is better. None with a
        `reason`.
    reason
        Why there is no verdict; empty when there is one.
    without_flagged
        The word without the evaluators who are flagged, where it is another one; shown, not
        claimed. None where it is the same, or nobody is flagged.
    """

    condition: str | None
    word: Word
    evaluators: int
    difference: float | None = None
    lower: float | None = None
    upper: float | None = None
    reason: str = ""
    without_flagged: Word | None = None

    @property
    def way(self) -> Literal["better", "worse", ""]:
        """Which way a clear difference points; empty where none is clear."""
        if self.word != "clear" or self.difference is None:
            return ""
        return "better" if self.difference > 0 else "worse"


@dataclass(frozen=True, slots=True)
class CellRow:
    """One attribute of one set: over all conditions, and in each where there are several."""

    overall: Cell
    by_condition: tuple[Cell, ...] = ()

    @property
    def clear_in(self) -> tuple[Cell, ...]:
        """Conditions in which a difference is clear."""
        return tuple(cell for cell in self.by_condition if cell.word == "clear")


def cell_rows(blocks: Sequence[AttributeDifferences]) -> dict[tuple[str, str], CellRow]:
    """Return the table by set and attribute.

    Parameters
    ----------
    blocks
        As `ratings.findings.differences.differences` returns them: all attributes of a study.

    Notes
    -----
    A single condition is called clear only where the attribute can be claimed as a whole or by
    condition (the gate), and then after Holm's adjustment for all conditions of all rows behind
    that gate. "Too small to matter" is each row's own test at 5 %, as is usual of equivalence, and
    goes before "clear": a difference may be there and not matter.
    """
    rows = [(block, each) for block in blocks for each in block.differences]
    gated = [
        (block.attribute, each.set, place)
        for block, each in rows
        if _overall(each).word == "clear" and not block.depends_on_condition
        for place in range(len(each.by_condition))
    ]
    found = {(block.attribute, each.set): each for block, each in rows}
    p = holm([_own_p(found[key, code].by_condition[place]) for key, code, place in gated])
    behind_gate = dict(zip(gated, p.tolist(), strict=True))
    return {(each.set, block.attribute): _row(block, each, behind_gate) for block, each in rows}


def _row(
    block: AttributeDifferences,
    each: SetDifference,
    behind_gate: Mapping[tuple[str, str, int], float],
) -> CellRow:
    claimed = {condition for condition, _ in claims_by_condition(each)}
    overall = _overall(each)
    # Where the average is open and nothing tells the conditions apart, none of them is settled.
    is_open = overall.word == "not certain" and not block.depends_on_condition
    cells = tuple(
        _in_condition(
            single,
            is_open=is_open,
            is_clear=single.condition in claimed
            or _is_clear(each, single, behind_gate.get((block.attribute, each.set, place))),
        )
        for place, single in enumerate(each.by_condition)
    )
    if overall.word == "not certain" and cells:
        # What is too small in every condition is too small on average.
        are_small = all(cell.word == "too small to matter" for cell in cells)
        overall = replace(overall, word="too small to matter" if are_small else "not certain")
    if overall.word == "by condition" and not any(cell.word == "clear" for cell in cells):
        # Whatever differs there is too small to matter.
        are_small = all(cell.word == "too small to matter" for cell in cells)
        overall = replace(overall, word="too small to matter" if are_small else "not certain")
    if block.depends_on_condition and overall.word == "clear":
        ways = {cell.way for cell in cells}
        if ways != {overall.way}:
            # An average over conditions that differ would hide where it is.
            overall = replace(overall, word="by condition" if ways - {""} else "clear")
    return CellRow(overall, cells)


def _overall(each: SetDifference) -> Cell:
    word = _word_of(each)
    without = None if each.without_flagged is None else _word_of(each.without_flagged)
    return Cell(
        None,
        word,
        each.evaluators,
        each.difference,
        each.lower,
        each.upper,
        each.reason if word == "no verdict" else "",
        without if without not in (None, word) else None,
    )


def _word_of(each: SetDifference) -> Word:
    if each.verdict in ("better", "worse") and _is_within(each):
        return "too small to matter"
    if each.verdict == "same" and each.evaluators < FEWEST_TO_CLAIM:
        return "not certain"
    words: Mapping[str, Word] = {
        "better": "clear",
        "worse": "clear",
        "same": "too small to matter",
        "by condition": "by condition",
        "not certain": "not certain",
    }
    return words.get(each.verdict, "no verdict")


def _is_within(each: SetDifference) -> bool:
    """Tell whether even a difference that is there is smaller than the margin."""
    tests = each.equivalent_p, each.equivalent_own_p
    return tests[0] is not None and max(test or 0.0 for test in tests) <= ALPHA


def _in_condition(single: InCondition, *, is_clear: bool, is_open: bool) -> Cell:
    word: Word = "clear" if is_clear else "not certain"
    is_panel = single.evaluators >= FEWEST_TO_CLAIM
    if single.equivalent_p <= ALPHA and is_panel and not is_open:
        word = "too small to matter"
    return Cell(
        single.condition,
        word,
        single.evaluators,
        single.difference,
        single.lower,
        single.upper,
    )


def _own_p(single: InCondition) -> float:
    return max(single.p, single.p_own or 0.0)


def _is_clear(each: SetDifference, single: InCondition, p: float | None) -> bool:
    """Tell whether a condition behind the gate is clear, and the same way as all together."""
    if p is None or single.evaluators < FEWEST_TO_CLAIM:
        return False
    return p <= ALPHA and (single.difference > 0) == ((each.difference or 0.0) > 0)
