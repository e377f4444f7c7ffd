"""Which runs are there, and whether they are sound."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.fonts import font
from app.parts.headings import QuestionPanel, SoftLine
from app.parts.sheet import SheetScroll
from ratings.findings.measured_study import MeasuredStudy, runs_in_words
from ratings.study.figures import Remark
from ratings.study.runs import Run

_TOP, _LEFT = Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignLeft
_NAME_PX = 290
_LEAST_HEIGHT_PX = 160
#: So many lines of a run are shown at once, the gravest; the others behind a button.
MOST_LINES = 3


class RunsPanel(QuestionPanel):
    """Sets down, conditions across: how many runs; below, what is to be known of them."""

    def __init__(self, presenter: RecordingsPresenter) -> None:
        super().__init__("")
        self.set_question("Which runs are there, and are they sound?")
        self.presenter = presenter
        self._shown: MeasuredStudy | None = None
        contents = QVBoxLayout()
        contents.setContentsMargins(0, 0, 0, 0)
        contents.setSpacing(16)
        self._inside = QWidget()
        contents.addWidget(self._inside)
        contents.addStretch(1)
        self._contents = contents
        self._scroll = SheetScroll(contents)
        self._scroll.resized.connect(self._fit)
        self._is_flat = False
        self.flatten(is_flat=False)
        self.body.addWidget(self._scroll, 1)

    def flatten(self, *, is_flat: bool) -> None:
        """Show all runs where the page around them scrolls, or as many as there is room for."""
        self._is_flat = is_flat
        self._fit()

    def _fit(self) -> None:
        least_px = _LEAST_HEIGHT_PX
        if self._is_flat:
            width_px = self._scroll.viewport().width()
            # Without any line that breaks a layout has no height for its width.
            least_px = max(least_px, self._contents.totalHeightForWidth(width_px))
        self._scroll.setMinimumHeight(least_px)

    def show_results(self) -> None:
        """Show the runs."""
        reading = self.presenter.reading
        if reading is None or reading is self._shown:
            return
        self._shown = reading
        before, self._inside = self._inside, QWidget()
        self._contents.replaceWidget(before, self._inside)
        before.hide()
        before.deleteLater()
        column = QVBoxLayout(self._inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(16)
        column.addLayout(self._grid(reading))
        lines = self._run_lines(reading)
        if lines is not None:
            column.addWidget(SoftLine("What quality control says"))
            column.addLayout(lines)
        self._fit()

    def _grid(self, reading: MeasuredStudy) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(8)
        for column, condition in enumerate(reading.conditions, start=1):
            grid.addWidget(_line(condition.title, "soft"), 0, column)
            grid.setColumnStretch(column, 1)
        for row, code in enumerate(reading.codes, start=1):
            name = QLabel(f"{code}\ncontrol" if code == reading.control else code)
            name.setFont(font("strong"))
            grid.addWidget(name, row, 0, Qt.AlignmentFlag.AlignTop)
            for column, condition in enumerate(reading.conditions, start=1):
                grid.addWidget(_cell(reading.of(code, condition.title)), row, column)
        return grid

    def _run_lines(self, reading: MeasuredStudy) -> QGridLayout | None:
        told = reading.told()
        if not told:
            return None
        grid = QGridLayout()
        grid.setHorizontalSpacing(20)
        grid.setVerticalSpacing(8)
        grid.setColumnMinimumWidth(0, _NAME_PX)
        grid.setColumnStretch(2, 1)
        row = 0
        for words, remarks in told:
            name = _line(words, "")
            name.setFont(font("small"))
            grid.addWidget(name, row, 0, min(len(remarks), MOST_LINES), 1, _TOP)
            rest: list[QWidget] = []
            for place, remark in enumerate(remarks):
                parts = self._add_remark(grid, row, remark)
                rest += parts if place >= MOST_LINES else []
                row += 1
            if rest:
                grid.addWidget(self._more(rest, len(remarks) - MOST_LINES), row, 2, _LEFT)
                row += 1
        return grid

    def _more(self, rest: Sequence[QWidget], count: int) -> QPushButton:
        """Return a button that shows the rest of a run's lines, and hides it again."""
        button = QPushButton()
        button.setCheckable(True)

        def show(is_shown: bool) -> None:
            button.setText("Show fewer" if is_shown else f"{count} more")
            for part in rest:
                part.setVisible(is_shown)

        button.toggled.connect(show)
        show(False)
        return button

    def _add_remark(self, grid: QGridLayout, row: int, remark: Remark) -> list[QWidget]:
        look = "attention" if remark.severity != "note" else "soft"
        severity = QLabel(remark.severity)
        severity.setProperty("look", look)
        severity.setFont(font("strong" if remark.severity != "note" else "body"))
        sentence = _line(remark.sentence, "")
        grid.addWidget(severity, row, 1, _TOP)
        grid.addWidget(sentence, row, 2, _TOP)
        return [severity, sentence]


def _cell(runs: Sequence[Run]) -> QFrame:
    count, state, grave = runs_in_words(runs)
    frame = QFrame()
    # Filled and without an edge: it is read, and not pressed.
    frame.setProperty("look", "cell")
    column = QVBoxLayout(frame)
    column.setContentsMargins(12, 8, 12, 8)
    column.setSpacing(2)
    head = QLabel(count)
    head.setFont(font("strong" if runs else "body"))
    if not runs:
        head.setProperty("look", "soft")
    column.addWidget(head)
    for words, look in ((state, "soft"), (grave, "attention")):
        if words:
            line = _line(words, look)
            line.setFont(font("small"))
            column.addWidget(line)
    column.addStretch(1)
    return frame


def _line(words: str, look: str) -> QLabel:
    line = QLabel(words)
    line.setWordWrap(True)
    line.setTextFormat(Qt.TextFormat.PlainText)
    line.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
    if look:
        line.setProperty("look", look)
    return line
