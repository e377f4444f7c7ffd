"""How consistent each evaluator is: a table with what to look at, in colour and in words."""

from collections.abc import Sequence

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QWidget

from app.parts.fonts import font
from app.parts.named_table import Index, NamedTableModel, WholeTable
from app.parts.theme import current_theme
from ratings.findings.evaluator_findings import EvaluatorFinding
from ratings.reports.figure_words import (
    FITNESS_HEADINGS,
    FITNESS_MEANINGS,
    fitness_cells,
    separation_figures,
)

_SIDES_PX, _AIR_PX, _LEAST_ROW_PX = 20, 8, 36
# The evaluators' codes are the names of the rows.
_SAYS = len(FITNESS_HEADINGS) - 2
_SEPARATES = FITNESS_HEADINGS.index("separates sets") - 1
# In two lines: the width belongs to what stands out.
_BROKEN_HEADINGS = (
    *(heading.replace(" ", "\n", 1) for heading in FITNESS_HEADINGS[:-1]),
    FITNESS_HEADINGS[-1],
)


class FitnessModel(NamedTableModel):
    """One row per evaluator."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tests: tuple[str, ...] = ()
        self._flagged: tuple[bool, ...] = ()

    def show_findings(self, findings: Sequence[EvaluatorFinding]) -> None:
        """Show these evaluators."""
        self._tests = tuple(separation_figures(finding) for finding in findings)
        self._flagged = tuple(bool(finding.reasons) for finding in findings)
        self.show_rows(_BROKEN_HEADINGS, [fitness_cells(finding) for finding in findings])

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Say what the columns are too."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.ToolTipRole:
            return FITNESS_MEANINGS[section + 1]
        return super().headerData(section, orientation, role)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Colour the rows of those to look at, and give the test behind a word."""
        if index.isValid() and role == Qt.ItemDataRole.ToolTipRole and index.column() == _SEPARATES:
            return self._tests[index.row()]
        if index.isValid() and role == Qt.ItemDataRole.ForegroundRole:
            return QColor(current_theme().attention) if self._flagged[index.row()] else None
        return super().data(index, role)


class FitnessTable(WholeTable):
    """Shows every row at once; Ctrl+C copies the whole table."""

    def __init__(self, parent: QWidget | None = None) -> None:
        findings = FitnessModel()
        about = "evaluators and what to look at"
        super().__init__(findings, about, _SIDES_PX // 4, parent)
        self.findings = findings
        self.setWordWrap(True)
        self.findings.modelReset.connect(self._fit_columns)
        self.horizontalHeader().sectionResized.connect(self._fit_rows)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give wrapped words the height they need at this width."""
        super().resizeEvent(event)
        self._fit_rows()

    def _fit_columns(self) -> None:
        # A new table forgets which column stretches.
        header = self.horizontalHeader()
        if header.count() > _SAYS:
            header.setSectionResizeMode(_SAYS, QHeaderView.ResizeMode.Stretch)
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
