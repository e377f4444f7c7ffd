"""What the panels that show measurements have in common: choices, saving, a reading below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from app.lead.recordings.looks.plot_frame import DrawnCurve, PlotFrame
from app.lead.recordings.looks.set_keys import SetKeys, line_key
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.file_asking import AskPath
from app.parts.flow_row import FlowRow
from app.parts.fonts import font
from app.parts.headings import QuestionPanel, SoftLine
from app.parts.picture import LegendKey, Picture
from app.parts.saving import Exporter, SaveRow
from app.parts.theme import current_theme
from ratings.findings.run_curves import Curve
from ratings.reports.measured_table import Table
from ratings.reports.set_marks import SetMark, set_marks
from ratings.study.wording import listed


class LookPanel(QuestionPanel):
    """A question, a plot that answers it, and ways to take it along.

    A panel gives its `question`, `plot_copy` and `table`.
    """

    question: ClassVar[str]

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__("")
        self.presenter = presenter
        self.saving = SaveRow(exporter, ask_path, self.picture, self.table, self._file_words)
        self.tools = FlowRow()
        self.reading = QLabel()
        self.reading.setTextFormat(Qt.TextFormat.PlainText)
        self.reading.setWordWrap(True)
        self.reading.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.caption = SoftLine("", self)
        self.caption.setFont(font("small"))
        self.body.addWidget(self.tools)

    def show_results(self) -> None:
        """Show what the presenter holds; given by each panel."""
        raise NotImplementedError

    def plot_copy(self) -> QWidget:
        """Return what is shown once more, in the theme in force; given by each panel."""
        raise NotImplementedError

    def table(self) -> Table:
        """Return what is shown as a table with a heading row; given by each panel."""
        raise NotImplementedError

    def flatten(self, *, is_flat: bool) -> None:
        """Show all that would scroll inside the panel where the page around it scrolls."""

    def picture(self) -> Picture:
        """Return what is shown as a picture for a report, in the theme in force."""
        presenter = self.presenter
        return Picture(
            title=self.question,
            sentence=self.sentence() or presenter.condition_line(),
            facts=self.facts(),
            keys=self.picture_keys(),
            caption=" ".join(part for part in (self.caption.text(), self.left_out()) if part),
            source=presenter.desk.study.facts.cover_words,
            plot=self.plot_copy(),
        )

    def sentence(self) -> str:
        """Say what the plot shows; empty where the condition's sentence says it."""
        return ""

    def place_words(self) -> list[str]:
        """Name condition and channel."""
        presenter = self.presenter
        condition = "" if presenter.condition is None else presenter.condition.title
        return [condition, presenter.channel_words(presenter.channel)]

    def facts(self) -> list[str]:
        """Say condition, channel and n."""
        return [*self.place_words(), self.presenter.runs_words()]

    def left_out(self) -> str:
        """Say which runs are not in the plot; empty when none is left out."""
        return self.presenter.left_out_words()

    def picture_keys(self) -> Sequence[LegendKey]:
        """Return the legend; none where the plot names everything itself."""
        return ()

    def file_words(self) -> str:
        """Say what is shown, for the name of a file."""
        condition = self.presenter.condition
        return "" if condition is None else condition.title

    def marks(self) -> dict[str, SetMark]:
        """Return the marks of all sets in the theme's colours."""
        presenter = self.presenter
        return set_marks(presenter.all_codes, presenter.control, current_theme())

    def finish(self) -> None:
        """Add saving above the plot and the caption below; called last by each panel."""
        self.tools.add(self.saving)
        self.body.addWidget(self.caption)

    def _file_words(self) -> str:
        return f"{self.file_words()}, {self.presenter.view}".strip(" ,")


class CurvesPanel(LookPanel):
    """Lines of the sets in one plot; a panel sets `frame` and `curves` and gives `fill`."""

    frame: PlotFrame

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.keys = SetKeys()
        self.keys.set_switched.connect(lambda code, on: presenter.show_set(code, is_shown=on))
        self.curves: tuple[Curve, ...] = ()

    def fill(self, frame: PlotFrame) -> None:
        """Draw the lines; given by each panel."""
        raise NotImplementedError

    @property
    def is_level_true(self) -> bool:
        """Whether the levels drawn are calibrated, as they are where any is."""
        return any(curve.is_level_true for curve in self.curves) or not self.curves

    @property
    def alike(self) -> tuple[Curve, ...]:
        """What is drawn: never levels re full scale on an axis of sound pressure levels."""
        return tuple(c for c in self.curves if c.is_level_true == self.is_level_true)

    def drawn(self, curves: tuple[Curve, ...]) -> list[DrawnCurve]:
        """Give the shown sets their marks, the control drawn first, under the others."""
        marks = self.marks()
        shown = self.presenter.shown_curves(curves)
        return [DrawnCurve(marks[c.code], c.x, c.y) for c in shown if c.code in marks]

    def show_keys(self, curves: Sequence[Curve]) -> None:
        """Offer the sets of these lines to be shown or hidden."""
        presenter, marks = self.presenter, self.marks()
        codes = [curve.code for curve in curves]
        shown = [marks[code] for code in presenter.all_codes if code in codes]
        self.keys.show_marks(shown, presenter.hidden)

    def plot_copy(self) -> PlotFrame:
        """Return the plot anew."""
        return self.frame.copied(self.fill)

    def facts(self) -> list[str]:
        """Say condition, channel and the runs of each line."""
        runs = {curve.code: curve.runs for curve in self.presenter.shown_curves(self.alike)}
        return [*self.place_words(), self.presenter.runs_words(runs)]

    def left_out(self) -> str:
        """Name the sets that were switched off as well."""
        hidden = [c.code for c in self.alike if c.code in self.presenter.hidden]
        switched_off = f"Switched off: {listed(hidden)}." if hidden else ""
        part = "" if self.frame.is_whole else "A part of the axes."
        return " ".join(words for words in (switched_off, part, super().left_out()) if words)

    def picture_keys(self) -> list[LegendKey]:
        """Return the marks and lines of the sets."""
        return [line_key(curve.mark) for curve in self.drawn(self.alike)]


def level(value: float | None) -> str:
    """Return a level with one decimal and a true minus sign, or a dash."""
    return "–" if value is None else f"{value:.1f}".replace("-", "−")
