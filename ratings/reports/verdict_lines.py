"""The table of the verdict, cell by cell in words: the same in window, command and CSV."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ratings.findings.measured_figures import decimals_of
from ratings.findings.verdict.beside import Beside
from ratings.findings.verdict.cells import Cell, CellRow
from ratings.findings.verdict.judging import CONTROL, DISAGREEMENT, StudyVerdict
from ratings.findings.verdict.rows import Row, SetVerdict
from ratings.findings.verdict.words import noticed_words, points, row_sentence, signed
from ratings.reports.measured_table import Table
from ratings.study.figures import title_of
from ratings.study.limits import Limits
from ratings.study.wording import counted, listed, lowered

#: What stands in place of a condition where all of them are taken together.
ALL_CONDITIONS = "all conditions"
APART = "panel does not agree"

#: Column of the table and what it holds, one line each.
COLUMNS = {
    "set": "code, or name once the key is open",
    "attribute": "what was rated",
    "condition": f'where; "{ALL_CONDITIONS}" over all of them',
    "evaluators": "who rated both the set and the control there",
    "difference": "set less control in score points; positive is better",
    "95 % low": "lower end of its 95 % interval",
    "95 % high": "upper end of its 95 % interval",
    "word": "clear, by condition, too small to matter, not certain or no verdict",
    "way": "better or worse, where the difference is clear",
    "remark": "what must be known of the word",
    "figure": "the measured figure that the study names for the attribute",
    "unit": "of the measured figure",
    "measured difference": "set less control; negative is quieter for a level",
    "measured 95 % low": "lower end of its 95 % interval from the scatter of the runs",
    "measured 95 % high": "upper end of it",
    "runs": "runs of the set that count",
    "control runs": "runs of the control that count",
    "measurement says": "the same, otherwise or cannot tell",
    "why": "why it says so",
}


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """One attribute of one set, in one condition or over all of them.

    Attributes
    ----------
    set_name
        Its code, or its name once the key is open.
    word
        The word with its way, such as ``better, clear``.
    remarks
        What must be known of it, the gravest first.
    sentence
        What it means, whole.
    """

    code: str
    set_name: str
    attribute: str
    attribute_name: str
    cell: Cell
    beside: Beside
    word: str
    remarks: tuple[str, ...]
    sentence: str

    @property
    def is_apart(self) -> bool:
        """Whether the panel does not agree where this stands."""
        return APART in self.remarks

    @property
    def told(self) -> str:
        """The difference with its word, such as ``+1.1: better, clear``."""
        value = self.cell.difference
        return self.word if value is None else f"{points(value)}: {self.word}"

    @property
    def size(self) -> str:
        """The difference with its interval; empty without one."""
        cell = self.cell
        if cell.difference is None:
            return ""
        if cell.lower is None or cell.upper is None:
            return points(cell.difference)
        return f"{points(cell.difference)} ({points(cell.lower)} to {points(cell.upper)})"

    @property
    def measured(self) -> str:
        """The measured difference, its interval and runs; what is missing where there is none."""
        each = self.beside
        if each.difference is None:
            return each.why
        places = decimals_of(each.unit)
        words = f"{signed(each.difference, places)} {each.unit.removesuffix(' re full scale')}"
        if each.low is not None and each.high is not None:
            words += f" ({signed(each.low, places)} to {signed(each.high, places)})"
        return f"{words.replace('  ', ' ')}, {counted(each.runs, 'run')}"

    @property
    def says(self) -> str:
        """Whether the measurement says the same, and why; empty without a value."""
        each = self.beside
        if each.difference is None:
            return ""
        says = each.says if each.says == "cannot tell" else f"says {each.says}"
        return f"{says}: {each.why}"


def verdict_lines(
    verdict: StudyVerdict, condition: str | None = None
) -> tuple[tuple[VerdictLine, ...], ...]:
    """Return the lines of each set, attributes in the order of the study.

    Parameters
    ----------
    condition
        Title of one condition; None for all of them together.
    """
    return tuple(
        tuple(_line(verdict, each, row, condition) for row in each.rows) for each in verdict.sets
    )


def verdict_table(verdict: StudyVerdict) -> Table:
    """Return everything that the verdict says of every cell, for a spreadsheet; plain minus."""
    rows = [list(COLUMNS)]
    titles = verdict.conditions if len(verdict.conditions) > 1 else ()
    for condition in (None, *titles):
        for lines in verdict_lines(verdict, condition):
            rows += [[each.replace("−", "-") for each in _cells(line)] for line in lines]
    return rows


def _line(verdict: StudyVerdict, each: SetVerdict, row: Row, condition: str | None) -> VerdictLine:
    limits = verdict.question.settings.limits
    if condition is not None:
        row = _in_condition(verdict, row, condition, limits)
    cell = row.overall
    return VerdictLine(
        each.code,
        verdict.name_of(each.code),
        row.attribute,
        row.name,
        cell,
        row.beside,
        f"{cell.way}, clear" if cell.way else cell.word,
        tuple(_remarks(row, limits)),
        row.sentence,
    )


def _in_condition(verdict: StudyVerdict, row: Row, condition: str, limits: Limits) -> Row:
    """Return a row that says of one condition what it says of all."""
    cell = next((c for c in row.cells.by_condition if c.condition == condition), None)
    if cell is None:
        cell = Cell(condition, "no verdict", 0, reason="Not rated in this condition.")
    block = next(
        (
            b
            for b in verdict.agreements
            if b.attribute == row.attribute and b.condition == condition
        ),
        None,
    )
    is_apart = block is not None and block.agrees is False and cell.word != "no verdict"
    single = replace(
        row,
        cells=CellRow(cell),
        beside=row.beside_by_condition.get(
            condition, Beside(row.beside.figure, "cannot tell", "not measured")
        ),
        mark=DISAGREEMENT if is_apart else "",
        noticed=noticed_words(cell, limits) if cell.word == "clear" else "",
        smallest_detectable=None,
    )
    return replace(single, sentence=row_sentence(single, limits, CONTROL))


def _remarks(row: Row, limits: Limits) -> Iterator[str]:
    cell = row.overall
    if row.mark:
        yield APART
    if cell.without_flagged is not None:
        yield f"without flagged evaluators: {cell.without_flagged}"
    if cell.word == "clear" and row.noticed:
        yield row.noticed
    elif cell.word == "too small to matter":
        yield f"within {limits.matters:g} points"
    elif cell.word == "by condition":
        yield listed([f"{each.way} on {each.condition}" for each in row.cells.clear_in])
    elif cell.word == "not certain" and row.smallest_detectable is not None:
        yield f"could find {row.smallest_detectable:.1f}"
    if cell.reason:
        yield lowered(cell.reason).rstrip(".")


def _cells(line: VerdictLine) -> list[str]:
    cell, each = line.cell, line.beside
    return [
        line.set_name,
        line.attribute_name,
        cell.condition or ALL_CONDITIONS,
        str(cell.evaluators),
        *(_number(value) for value in (cell.difference, cell.lower, cell.upper)),
        cell.word,
        cell.way,
        "; ".join(line.remarks),
        title_of(each.figure) if each.figure else "",
        each.unit,
        *(_number(value) for value in (each.difference, each.low, each.high)),
        *((str(each.runs), str(each.control_runs)) if each.difference is not None else ("", "")),
        each.says,
        each.why,
    ]


def _number(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.3f}"
