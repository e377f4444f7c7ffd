"""Every figure of the sets, as a table that a spreadsheet takes."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QCheckBox, QWidget

from app.lead.recordings.looks.look_panel import LookPanel
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath
from app.parts.fonts import font
from app.parts.named_table import Index, NamedTable, NamedTableModel
from app.parts.saving import Exporter, as_lines
from app.parts.theme import current_theme
from ratings.findings.measured_figures import COMPARED_WORDS, FigureFinding, is_clear
from ratings.reports.measured_table import Table, difference_cell, figure_table, mean_words
from ratings.study.figures import title_of

_SIDE_PX, _ROW_PX, _PICTURE_ROW_PX, _LEAST_HEIGHT_PX = 8, 34, 26, 220


class FiguresModel(NamedTableModel):
    """Figures down; unit, then a column for each set's mean and one for its difference."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._block: Sequence[FigureFinding] = ()
        self._clear: frozenset[tuple[int, int]] = frozenset()

    def show_block(self, block: Sequence[FigureFinding], *, has_means: bool = True) -> None:
        """Show these figures, with or without a column for each set's mean."""
        self._block = block
        step = 1 + has_means
        self._clear = frozenset(
            (row, 1 + step * (place + 1))
            for row, finding in enumerate(block)
            for place, each in enumerate(finding.differences)
            if is_clear(finding, each)
        )
        rows = [_cells(finding, has_means=has_means) for finding in block]
        self.show_rows(_headings(block, has_means=has_means), rows)

    def as_text(self) -> str:
        """Return the figures with their units, numbers in columns of their own."""
        return as_lines(figure_table(self._block))

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Make bold what is clear."""
        place = (index.row(), index.column())
        if index.isValid() and role == Qt.ItemDataRole.FontRole and place in self._clear:
            return font("strong")
        if index.isValid() and role == Qt.ItemDataRole.ForegroundRole and index.column() == 0:
            return QColor(current_theme().soft_text)
        return super().data(index, role)


class FiguresTable(NamedTable):
    """The table; Ctrl+C copies all of it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        figures = FiguresModel()
        about = "figures of the sets"
        super().__init__(figures, about, _SIDE_PX, parent)
        self.figures = figures
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)

    def show_whole(self) -> None:
        """Be as large as all rows and columns are, in the theme in force, for a picture."""
        self.wear(current_theme())
        self.verticalHeader().setDefaultSectionSize(_PICTURE_ROW_PX)
        for set_policy in (self.setHorizontalScrollBarPolicy, self.setVerticalScrollBarPolicy):
            set_policy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.ensurePolished()
        self.resizeColumnsToContents()
        top, left = self.horizontalHeader(), self.verticalHeader()
        edge = 2 * self.frameWidth()
        self.setMinimumSize(
            left.sizeHint().width() + top.length() + edge,
            top.sizeHint().height() + left.length() + edge,
        )


class FiguresPanel(LookPanel):
    """All figures of the condition and channel looked at."""

    question = "What was measured?"

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.figures = FiguresTable()
        self.thirds = QCheckBox("With third octaves")
        self.copy_button = QuietButton("Copy the table")
        self.body.addWidget(self.reading)
        self.tools.add(self.thirds)
        self.tools.add(self.copy_button)
        self._is_flat = False
        self.body.addWidget(self.figures, 1)
        self.finish()
        self.flatten(is_flat=False)
        self.thirds.toggled.connect(lambda _on: self.show_results())
        self.copy_button.clicked.connect(self._copy)

    def flatten(self, *, is_flat: bool) -> None:
        """Show all rows, or as many as there is room for."""
        self._is_flat = is_flat
        table = self.figures
        rows_px = table.verticalHeader().length() + table.horizontalHeader().sizeHint().height()
        bar_px = table.horizontalScrollBar().sizeHint().height() + 2 * table.frameWidth()
        table.setMinimumHeight(rows_px + bar_px if is_flat else _LEAST_HEIGHT_PX)

    def show_results(self) -> None:
        """Show the condition and channel looked at."""
        presenter = self.presenter
        self.set_question(f"{self.question} {presenter.channel_words(presenter.channel)}")
        block = self._block()
        self.figures.figures.show_block(block)
        self.flatten(is_flat=self._is_flat)
        self.reading.setText("No run of this condition is measured yet.")
        self.reading.setVisible(not block)
        self.caption.setText(
            "Mean ± standard deviation over the runs; difference to the control with "
            "95 % interval. Bold: clear after adjusting (Holm). Only these are "
            f"compared: {COMPARED_WORDS}."
        )

    def plot_copy(self) -> FiguresTable:
        """Return the whole table anew; the means of the sets would be too wide for a page."""
        made = FiguresTable()
        made.figures.show_block(self._block(), has_means=False)
        made.show_whole()
        return made

    def table(self) -> Table:
        """Return the figures shown."""
        return figure_table(self._block())

    def _block(self) -> list[FigureFinding]:
        is_wide = self.thirds.isChecked()
        return [
            f for f in self.presenter.block() if is_wide or not f.key.startswith("third_octave")
        ]

    def _copy(self) -> None:
        self.figures.copy()
        self.presenter.told.emit("The table is on the clipboard, ready for a spreadsheet.")


def _headings(block: Sequence[FigureFinding], *, has_means: bool) -> tuple[str, ...]:
    if not block:
        return ()
    head = ["figure", "unit", f"{block[0].control}\ncontrol"]
    for each in block[0].differences:
        head += [f"{each.set}\nmean"] * has_means + [f"{each.set}\ndifference"]
    return tuple(head)


def _cells(finding: FigureFinding, *, has_means: bool) -> tuple[str, ...]:
    cells = [title_of(finding.key), finding.unit]
    cells.append(mean_words(finding.of_set(finding.control), finding.unit))
    for each in finding.differences:
        cells += [mean_words(finding.of_set(each.set), finding.unit)] * has_means
        cells.append(difference_cell(each, finding.unit) or each.reason)
    return tuple(cells)
