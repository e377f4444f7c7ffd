"""What the verdict page shows: the verdict, what is chosen of it, and the sentences around it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.lead.verdict.table_layout import Group
from app.lead.verdict_reading import VerdictReading
from app.station import State
from ratings.storage.study_folder import Study

if TYPE_CHECKING:
    from ratings.findings.verdict.cells import Cell
    from ratings.findings.verdict.control_drift import DriftFinding
    from ratings.findings.verdict.ear_meter import EarMeter
    from ratings.findings.verdict.judging import StudyVerdict
    from ratings.reports.measured_table import Table
    from ratings.reports.verdict_lines import VerdictLine

#: Beyond so many rows one attribute is shown at a time (our judgement).
_MOST_ROWS = 60
#: Of the axis of points to each side.
_LEAST_REACH = 1.5


@dataclass(frozen=True, slots=True)
class Shown:
    """Which rows the table holds.

    Attributes
    ----------
    is_by_set
        Whether rows are grouped by set, else by attribute.
    only
        The one attribute or set that is shown, by key or code; empty for all.
    """

    is_by_set: bool = False
    only: str = ""


class VerdictPresenter(QObject):
    """Holds what the lead looks at.

    Signals
    -------
    changed()
        What is shown is other than before.
    """

    changed = Signal()

    def __init__(
        self, study: Study, reading: VerdictReading, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.study = study
        self.reading = reading
        self.condition: str | None = None
        self._shown: Shown | None = None
        self._chosen: tuple[str, str] | None = None
        self._ear = self._drift = 0
        self._lines: dict[str | None, tuple[tuple[VerdictLine, ...], ...]] = {}
        self._lines_of: StudyVerdict | None = None
        reading.changed.connect(self.changed)

    @property
    def verdict(self) -> StudyVerdict | None:
        """The latest verdict."""
        return self.reading.verdict

    def heading(self) -> str:
        """Say the finding."""
        if self.reading.refusal is not None:
            return "The study could not be read."
        if self.reading.has_failed:
            return "The verdict could not be worked out."
        return "Working out the verdict" if self.verdict is None else self.verdict.headline

    def standing_line(self) -> str:
        """Say what the finding rests on, and whether newer scores are on their way."""
        refusal = self.reading.refusal
        if refusal is not None:
            return f"{refusal.what_happened} {refusal.what_to_do}"
        if self.reading.has_failed:
            return (
                "A fault of the program, written to its log. All scores are saved, and can be "
                "saved as a table under Agreement."
            )
        if self.verdict is None:
            return ""
        line = self.verdict.standing
        return f"{line} Newer entries are being worked in." if self.reading.is_working else line

    def emptiness(self) -> str:
        """Say why there is nothing to see yet, and what to do first; empty when there is."""
        verdict = self.verdict
        if verdict is None:
            return ""
        if not verdict.sets:
            return (
                "A verdict holds every set against the control. This study has one set only. "
                "Next step: make a study with the control and at least one more set."
            )
        if not len(verdict.question.scores):
            return (
                "This page says which set is better than the control, in which attribute and "
                "condition, by how much and how sure. It fills while scores arrive. First step: "
                "let an evaluator choose a name under Evaluate, or import scores under Agreement."
            )
        return ""

    def next_step(self) -> str:
        """Say what is missing where no cell has a verdict; empty when one has."""
        verdict = self.verdict
        if verdict is None or not verdict.sets:
            return ""
        rows = [row for each in verdict.sets for row in each.rows]
        if any(row.overall.word != "no verdict" for row in rows):
            return ""
        if not verdict.evaluators:
            return "Next step: let an evaluator finish; only finished sessions count."
        if verdict.question.control not in set(verdict.question.scores["set"]):
            return (
                "Next step: import scores of the control under Agreement, or let an evaluator "
                "rate; each pair under Evaluate holds the control."
            )
        return "Next step: let more evaluators finish; a claim needs at least three."

    def cautions(self) -> tuple[str, ...]:
        """Return what is to be known before any finding."""
        return () if self.verdict is None else tuple(c.sentence for c in self.verdict.cautions)

    def enough_words(self) -> tuple[str, str]:
        """Say whether more evaluators are wanted, and what must be known of that."""
        verdict = self.verdict
        if verdict is None:
            return "", ""
        enough, asked = verdict.enough, verdict.question
        if enough is None and asked.control not in set(asked.scores["set"]):
            return "Cannot be told without scores of the control.", ""
        if enough is None:
            return "Could not be worked out: a fault of the program, written to its log.", ""
        # The standing line may say some of it already.
        notes = [note for note in enough.notes if note not in self.standing_line()]
        return enough.headline, " ".join(notes)

    # What the table shows

    @property
    def conditions(self) -> tuple[str, ...]:
        """Conditions to choose from; none when there is but one."""
        seen = () if self.verdict is None else self.verdict.conditions
        return seen if len(seen) > 1 else ()

    def choose_condition(self, title: str | None) -> None:
        """Look at one condition, or at all of them together."""
        self.condition = title
        self.changed.emit()

    @property
    def shown(self) -> Shown:
        """Which rows the table holds."""
        verdict = self.verdict
        if self._shown is not None or verdict is None or not verdict.sets:
            return self._shown or Shown()
        rows = verdict.sets[0].rows
        is_long = len(verdict.sets) * len(rows) > _MOST_ROWS
        return Shown(only=rows[0].attribute) if is_long and rows else Shown()

    def ways_to_show(self) -> dict[str, Shown]:
        """Return what may be shown, by how it is called."""
        ways = {"all, by attribute": Shown(), "all, by set": Shown(is_by_set=True)}
        if self.verdict is None or not self.verdict.sets:
            return ways
        for row in self.verdict.sets[0].rows:
            ways[f"{row.name} only"] = Shown(only=row.attribute)
        if len(self.verdict.sets) > 1:
            for each in self.verdict.sets:
                name = self.verdict.name_of(each.code)
                ways[f"set {name} only"] = Shown(is_by_set=True, only=each.code)
        return ways

    def choose_shown(self, shown: Shown) -> None:
        """Show other rows, or the same in another order."""
        self._shown = shown
        self.changed.emit()

    def groups(self) -> tuple[Group, ...]:
        """Return the rows of the table under their headings."""
        lines, shown = self._all_lines(), self.shown
        if shown.is_by_set:
            return tuple(
                Group(
                    f"Set {of_set[0].set_name}",
                    "",
                    tuple(line.attribute_name for line in of_set),
                    of_set,
                )
                for of_set in lines
                if of_set and shown.only in ("", of_set[0].code)
            )
        return tuple(
            Group(
                group[0].attribute_name,
                _beside_words(group[0]),
                tuple(line.set_name for line in group),
                group,
            )
            for group in zip(*lines, strict=True)
            if shown.only in ("", group[0].attribute)
        )

    @property
    def chosen(self) -> tuple[str, str] | None:
        """Code and attribute of the row looked at; the first clear one while none is chosen."""
        lines = [line for group in self.groups() for line in group.lines]
        keys = [(line.code, line.attribute) for line in lines]
        if self._chosen in keys:
            return self._chosen
        clear = [(line.code, line.attribute) for line in lines if line.cell.way]
        return next(iter((*clear, *keys)), None)

    def choose_line(self, code: str, attribute: str) -> None:
        """Look at one row."""
        self._chosen = (code, attribute)
        self.changed.emit()

    @property
    def matters(self) -> float:
        """Up to so many points a difference is too small to matter."""
        return 0.5 if self.verdict is None else self.verdict.question.settings.limits.matters

    @property
    def reach(self) -> float:
        """How far the axis of points goes to each side: one for all that may be shown."""
        sets = () if self.verdict is None else self.verdict.sets
        ends = [
            abs(value)
            for each in sets
            for row in each.rows
            for cell in (row.overall, *row.cells.by_condition)
            for value in (cell.difference, cell.lower, cell.upper)
            if value is not None
        ]
        # In whole half points, so that the axis does not change with every score.
        return max(_LEAST_REACH, math.ceil(2 * max(ends, default=0.0)) / 2)

    def table_text(self) -> str:
        """Return the rows in sight as a spreadsheet takes them, with all their marks."""
        head = ("attribute", "set", "points against control", "word", "remark", "measured",
                "measurement", "n")  # fmt: skip
        rows = [
            (
                line.attribute_name, line.set_name, line.size, line.word,
                "; ".join(line.remarks), line.measured, line.says, str(line.cell.evaluators),
            )
            for group in self.groups()
            for line in group.lines
        ]  # fmt: skip
        return "\n".join("\t".join(row) for row in (head, *rows)) + "\n"

    def matrix(self) -> tuple[str, tuple[str, ...], tuple[tuple[str, ...], ...]]:
        """Return the words of one set in every condition: its name, headings, rows."""
        verdict, chosen = self.verdict, self.chosen
        if verdict is None or chosen is None or not verdict.sets:
            return "", (), ()
        each = verdict.of(chosen[0])
        titles = self.conditions
        rows = []
        for row in each.rows:
            by_title = {cell.condition: cell for cell in row.cells.by_condition}
            cells = [row.overall, *(by_title.get(title) for title in titles)]
            rows.append((row.name, *(_short(cell) for cell in cells)))
        heads = ("attribute", "all conditions", *(t.replace(", ", ",\n", 1) for t in titles))
        return verdict.name_of(each.code), heads, tuple(rows)

    def sets_to_choose(self) -> dict[str, str]:
        """Return the sets by what they are called."""
        verdict = self.verdict
        return {} if verdict is None else {verdict.name_of(s.code): s.code for s in verdict.sets}

    def choose_set(self, code: str) -> None:
        """Look at a set on the attribute looked at."""
        chosen = self.chosen
        shown = self.shown
        if shown.is_by_set and shown.only:
            self._shown = Shown(is_by_set=True, only=code)
        if chosen is not None:
            self.choose_line(code, chosen[1])

    def set_sentence(self) -> str:
        """Sum up the set looked at."""
        verdict, chosen = self.verdict, self.chosen
        return "" if verdict is None or chosen is None else verdict.of(chosen[0]).sentence

    # What else was found

    @property
    def ears(self) -> tuple[EarMeter, ...]:
        """Attributes whose scores can be held against a figure."""
        return () if self.verdict is None else self.verdict.ears_and_meters

    @property
    def ear(self) -> EarMeter | None:
        """The one looked at."""
        ears = self.ears
        return ears[min(self._ear, len(ears) - 1)] if ears else None

    def choose_ear(self, place: int) -> None:
        """Look at another attribute beside its figure."""
        self._ear = place
        self.changed.emit()

    @property
    def drifts(self) -> tuple[DriftFinding, ...]:
        """The control wherever it was met more than once, the doubtful first."""
        found = () if self.verdict is None else self.verdict.drifts
        return tuple(sorted(found, key=lambda each: not each.is_suspect))

    @property
    def drift(self) -> DriftFinding | None:
        """The one looked at."""
        drifts = self.drifts
        return drifts[min(self._drift, len(drifts) - 1)] if drifts else None

    def choose_drift(self, place: int) -> None:
        """Look at the control elsewhere."""
        self._drift = place
        self.changed.emit()

    def name_of(self, code: str) -> str:
        """Return what a set is called."""
        return code if self.verdict is None else self.verdict.name_of(code)

    def table(self) -> Table:
        """Return every cell of the verdict, for a file."""
        from ratings.reports.verdict_lines import verdict_table

        return () if self.verdict is None else verdict_table(self.verdict)

    def state(self) -> State:
        """Say in a few words how far the verdict has got."""
        opened = self.reading.opening
        if opened is not None:
            return State(f"key opened {day_words(opened.opened_at)}", is_done=True)
        return State("sets are coded")

    def _all_lines(self) -> tuple[tuple[VerdictLine, ...], ...]:
        from ratings.reports.verdict_lines import verdict_lines

        verdict = self.verdict
        if verdict is None:
            return ()
        if verdict is not self._lines_of:
            self._lines, self._lines_of = {}, verdict
        condition = self.condition if self.condition in self.conditions else None
        if condition not in self._lines:
            self._lines[condition] = verdict_lines(verdict, condition)
        return self._lines[condition]


def day_words(moment: datetime) -> str:
    """Say a day of this computer's calendar, such as ``27 Nov``."""
    here = moment.astimezone()
    return f"{here.day} {_MONTHS[here.month - 1]}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _beside_words(line: VerdictLine) -> str:
    """Name the figure that stands beside an attribute."""
    from ratings.study.figures import title_of

    return title_of(line.beside.figure) if line.beside.figure else ""


def _short(cell: Cell | None) -> str:
    """Say a cell of the matrix in a word or two, with a sign beside it."""
    if cell is None:
        return "not rated"
    if cell.way:
        return "▲ better" if cell.way == "better" else "▼ worse"
    return {
        "by condition": "◇ by condition",
        "too small to matter": "◆ too small to matter",
        "not certain": "○ not certain",
    }.get(cell.word, "no verdict")
