"""How consistent each evaluator is: a table with what to look at, in colour and in words."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetrics,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QSizePolicy,
    QTableView,
    QWidget,
)

from app.parts.fonts import font
from app.parts.theme import current_theme
from ratings.findings.evaluator_findings import EvaluatorFinding
from ratings.reports.figure_words import (
    FITNESS_HEADINGS,
    FITNESS_MEANINGS,
    fitness_cells,
    separation_figures,
)

Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
# Lines between rows instead of a box; the frame shows only where the keys are.
_LOOK = """
QTableView { border: 2px solid transparent; background: transparent; }
QTableView:focus { border-color: palette(highlight); }
QTableView::item { padding: 0 5px; border-bottom: 1px solid palette(midlight); }
"""
_SIDES_PX, _AIR_PX, _LEAST_ROW_PX = 20, 8, 36
_SAYS = len(FITNESS_HEADINGS) - 1
_SEPARATES = FITNESS_HEADINGS.index("separates sets")
# In two lines: the width belongs to what stands out.
_BROKEN_HEADINGS = (
    *(heading.replace(" ", "\n", 1) for heading in FITNESS_HEADINGS[:_SAYS]),
    FITNESS_HEADINGS[_SAYS],
)


class FitnessModel(QAbstractTableModel):
    """One row per evaluator."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[tuple[str, ...], ...] = ()
        self._tests: tuple[str, ...] = ()
        self._flagged: tuple[bool, ...] = ()

    def show_findings(self, findings: Sequence[EvaluatorFinding]) -> None:
        """Show these evaluators."""
        rows = tuple(fitness_cells(finding) for finding in findings)
        if rows == self._rows:
            return
        self.beginResetModel()
        self._rows = rows
        self._tests = tuple(separation_figures(finding) for finding in findings)
        self._flagged = tuple(bool(finding.reasons) for finding in findings)
        self.endResetModel()

    def rowCount(self, parent: Index = _ROOT) -> int:
        """Count the evaluators."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _ROOT) -> int:
        """Count the figures."""
        return 0 if parent.isValid() else len(FITNESS_HEADINGS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name the columns and say what they are."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _BROKEN_HEADINGS[section]
        if role == Qt.ItemDataRole.ToolTipRole:
            return FITNESS_MEANINGS[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Give the words of a cell and how they look."""
        if not index.isValid():
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._rows[index.row()][index.column()]
        if role == Qt.ItemDataRole.ToolTipRole and index.column() == _SEPARATES:
            return self._tests[index.row()]
        if role == Qt.ItemDataRole.ForegroundRole and self._flagged[index.row()]:
            return QColor(current_theme().attention)
        if role == Qt.ItemDataRole.FontRole:
            return font("strong" if index.column() == 0 else "body")
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        return None

    def as_text(self) -> str:
        """Return the table as text, columns separated by tabs."""
        rows = (FITNESS_HEADINGS, *self._rows)
        return "\n".join("\t".join(row) for row in rows) + "\n"


class FitnessTable(QTableView):
    """Shows every row at once; Ctrl+C copies the whole table."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.findings = FitnessModel(self)
        self.setModel(self.findings)
        self.setAccessibleName(self.tr("evaluators and what to look at"))
        self.setAccessibleDescription(self.tr("Ctrl+C copies the table."))
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setWordWrap(True)
        self.setStyleSheet(_LOOK)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.verticalHeader().hide()
        header = self.horizontalHeader()
        header.setFont(font("small"))
        header.setHighlightSections(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(_SAYS, QHeaderView.ResizeMode.Stretch)
        self.findings.modelReset.connect(self._fit_rows)
        header.sectionResized.connect(self._fit_rows)

    def sizeHint(self) -> QSize:
        """Room for all rows: the page scrolls, not the table."""
        rows = sum(self.rowHeight(row) for row in range(self.findings.rowCount()))
        margins = 2 * self.frameWidth() + 6
        return QSize(720, self.horizontalHeader().sizeHint().height() + rows + margins)

    def minimumSizeHint(self) -> QSize:
        """Say the same: rows are never hidden."""
        return QSize(480, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy on Ctrl+C; leave everything else to the page."""
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.findings.as_text())
            return
        super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give wrapped words the height they need at this width."""
        super().resizeEvent(event)
        self._fit_rows()

    def _fit_rows(self) -> None:
        # Measured here: the style's own measure forgets the padding and cuts the last line.
        metrics = QFontMetrics(font("body"))
        room = max(self.columnWidth(_SAYS) - _SIDES_PX, 1)
        wrapped = int(Qt.TextFlag.TextWordWrap)
        for row in range(self.findings.rowCount()):
            says = self.findings.index(row, _SAYS).data()
            lines = metrics.boundingRect(QRect(0, 0, room, 4000), wrapped, says)
            self.setRowHeight(row, max(lines.height() + 2 * _AIR_PX, _LEAST_ROW_PX))
        self.updateGeometry()
