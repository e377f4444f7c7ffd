"""Every figure of the sets, as a table that a spreadsheet takes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor, QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QCheckBox, QHeaderView, QTableView, QWidget

from app.lead.recordings.looks.exporting import Exporter, Table, as_lines
from app.lead.recordings.looks.figure_words import difference_cell, figure_table, mean_words
from app.lead.recordings.looks.look_panel import LookPanel
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath
from app.parts.fonts import font
from app.parts.theme import current_theme
from ratings.findings.measured_figures import FigureFinding, is_clear
from ratings.study.figures import title_of

Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
_LOOK = """
QTableView { border: 2px solid transparent; }
QTableView:focus { border-color: palette(highlight); }
QTableView::item { padding: 0 8px; border-bottom: 1px solid palette(midlight); }
"""


class FiguresModel(QAbstractTableModel):
    """Figures down; unit, then a column for each set's mean and one for its difference."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._headings: tuple[str, ...] = ()
        self._rows: tuple[tuple[str, ...], ...] = ()
        self._clear: frozenset[tuple[int, int]] = frozenset()

    def show_block(self, block: Sequence[FigureFinding]) -> None:
        """Show these figures."""
        self.beginResetModel()
        self._headings = _headings(block)
        self._rows = tuple(_cells(finding) for finding in block)
        self._clear = frozenset(
            (row, 4 + 2 * place)
            for row, finding in enumerate(block)
            for place, each in enumerate(finding.differences)
            if is_clear(finding, each)
        )
        self.endResetModel()

    def rowCount(self, parent: Index = _ROOT) -> int:
        """Count the figures."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _ROOT) -> int:
        """Count the columns."""
        return 0 if parent.isValid() else len(self._headings)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Name the columns."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._headings[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Give the words of a cell and how they look."""
        if not index.isValid():
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._rows[index.row()][index.column()]
        if role == Qt.ItemDataRole.FontRole:
            is_strong = index.column() == 0 or (index.row(), index.column()) in self._clear
            return font("strong" if is_strong else "body")
        if role == Qt.ItemDataRole.ForegroundRole and index.column() == 1:
            return QColor(current_theme().soft_text)
        return None


_LEAST_HEIGHT_PX = 240


class FiguresTable(QTableView):
    """The table; Ctrl+C copies all of it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.figures = FiguresModel(self)
        self.copied: Table = ()
        self.setModel(self.figures)
        self.setAccessibleName(self.tr("figures of the sets"))
        self.setAccessibleDescription(self.tr("Ctrl+C copies the table."))
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setStyleSheet(_LOOK)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(34)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        header = self.horizontalHeader()
        header.setFont(font("small"))
        header.setHighlightSections(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)

    def copy(self) -> None:
        """Put the table on the clipboard, columns separated by tabs, units with it."""
        QGuiApplication.clipboard().setText(as_lines(self.copied))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy on Ctrl+C."""
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
            return
        super().keyPressEvent(event)


class FiguresPanel(LookPanel):
    """All figures of the condition and channel looked at."""

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.figures = FiguresTable()
        self.picture = self.figures
        self.thirds = QCheckBox(self.tr("With third octaves"))
        self.copy_button = QuietButton(self.tr("Copy the table"))
        self.body.addWidget(self.reading)
        self.tools.addWidget(self.thirds)
        self.tools.addWidget(self.copy_button)
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
        self.set_question(
            self.tr("What was measured? {0}").format(presenter.channel_words(presenter.channel))
        )
        block = self._block()
        self.figures.figures.show_block(block)
        self.flatten(is_flat=self._is_flat)
        self.figures.copied = figure_table(block)
        self.reading.setText("" if block else self.tr("No run of this condition is measured yet."))
        self.caption.setText(
            self.tr(
                "Mean ± standard deviation over the runs; difference to the control with 95 % "
                "interval. Bold differences are clear after adjusting (Holm)."
            )
        )

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
        self.presenter.told.emit(self.tr("The table is on the clipboard, ready for a spreadsheet."))


def _headings(block: Sequence[FigureFinding]) -> tuple[str, ...]:
    if not block:
        return ()
    head = ["figure", "unit", f"{block[0].control}\ncontrol"]
    for each in block[0].differences:
        head += [f"{each.set}\nmean", f"{each.set}\ndifference"]
    return tuple(head)


def _cells(finding: FigureFinding) -> tuple[str, ...]:
    cells = [title_of(finding.key), finding.unit]
    cells.append(mean_words(finding.of_set(finding.control), finding.unit))
    for each in finding.differences:
        cells += [
            mean_words(finding.of_set(each.set), finding.unit),
            difference_cell(each, finding.unit) or each.reason,
        ]
    return tuple(cells)
