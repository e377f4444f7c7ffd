"""The panel that shows what each evaluator was played."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.lead.panel.exposure import HEADINGS, RULES, PanelExposure
from app.parts.fonts import FontRole, font
from app.parts.headings import QuestionPanel, SoftLine

_ROW_PX = 32
_HALF = len(HEADINGS) // 2


class ExposurePanel(QuestionPanel):
    """The finding, a line of figures for each evaluator, and the rules that they stand on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("How much sound has each been played?", parent)
        self._shown: PanelExposure | None = None
        self._finding = QLabel()
        self._finding.setWordWrap(True)
        self._finding.setTextFormat(Qt.TextFormat.PlainText)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        for column in range(1, len(HEADINGS) + 1):
            self._grid.setColumnStretch(column, 1)
        rules = SoftLine(RULES)
        rules.setFont(font("small"))
        self.body.addWidget(self._finding)
        self.body.addLayout(self._grid)
        self.body.addWidget(rules)

    def show_exposure(self, exposure: PanelExposure) -> None:
        """Show these figures, unless they are shown already."""
        if exposure == self._shown:
            return
        self._shown = exposure
        self._finding.setText(exposure.finding)
        while (item := self._grid.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        if exposure.rows:
            self._add_headings()
        for line, row in enumerate(exposure.rows, start=2):
            self._add(line, 0, row.evaluator, "strong").setMinimumHeight(_ROW_PX)
            for column, cell in enumerate(row.cells, start=1):
                label = self._add(line, column, cell, "body")
                if row.is_over:
                    label.setProperty("look", "attention")

    def _add_headings(self) -> None:
        self._add(0, 1, "today", "strong", _HALF)
        self._add(0, _HALF + 1, "last 7 days", "strong", _HALF)
        for column, heading in enumerate(HEADINGS, start=1):
            self._add(1, column, heading, "small").setProperty("look", "soft")

    def _add(self, line: int, column: int, text: str, role: FontRole, span: int = 1) -> QLabel:
        label = QLabel(text)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setFont(font(role))
        self._grid.addWidget(label, line, column, 1, span)
        return label
