"""Who scores which set otherwise than the panel: a number and a tint in every cell."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.fonts import font
from app.parts.theme import current_theme
from ratings.reports.colours import Theme, deviation_tint
from ratings.reports.figure_words import NO_FIGURE, signed

_LEAST_ROW, _MOST_ROW = 28.0, 44.0
_LEAST_CELL, _MOST_CELL = 38.0, 150.0
_BESIDE_NAME, _WIDEST_NAME = 34.0, 180.0
_GAP = 2.0


class DeviationMap(QWidget):
    """Evaluators down, sets across."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._evaluators: tuple[str, ...] = ()
        self._sets: tuple[str, ...] = ()
        self._deviations: npt.NDArray[np.float64] = np.empty((0, 0))
        self._flagged: frozenset[str] = frozenset()
        self._left, self._top = _BESIDE_NAME, 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("deviation from the panel, evaluator by set")

    def show_map(
        self,
        evaluators: Sequence[str],
        sets: Sequence[str],
        deviations: npt.NDArray[np.float64],
        flagged: Sequence[str] = (),
    ) -> None:
        """Show a map.

        Parameters
        ----------
        deviations
            Shape (evaluators, sets), in score points; NaN where there is no score.
        flagged
            Evaluators with something to look at; they carry a mark.
        """
        self._evaluators, self._sets = tuple(evaluators), tuple(sets)
        self._deviations, self._flagged = deviations, frozenset(flagged)
        metrics = QFontMetricsF(font("body"))
        widest = max((metrics.horizontalAdvance(code) for code in self._evaluators), default=0.0)
        self._left = min(widest + _BESIDE_NAME, _WIDEST_NAME)
        self._top = QFontMetricsF(font("small")).height() + 8
        self.setAccessibleDescription(self.in_words())
        self.updateGeometry()
        self.update()

    def in_words(self) -> str:
        """Return the map row by row."""
        rows = (
            f"{evaluator}: "
            + ", ".join(
                f"{code} {signed(value)}" for code, value in zip(self._sets, row, strict=True)
            )
            for evaluator, row in zip(self._evaluators, self._deviations, strict=True)
        )
        return "; ".join(rows)

    def minimumSizeHint(self) -> QSize:
        """Room for every cell at its least size."""
        width = self._left + len(self._sets) * _LEAST_CELL
        return QSize(round(width), round(self._top + len(self._evaluators) * _LEAST_ROW))

    def sizeHint(self) -> QSize:
        """Room for every cell with some air."""
        return QSize(
            round(self._left + len(self._sets) * 80),
            round(self._top + len(self._evaluators) * 32),
        )

    def cell_box(self, row: int, column: int) -> QRectF:
        """Return where a cell is drawn."""
        room = self.height() - self._top
        high = min(max(room / max(len(self._evaluators), 1), _LEAST_ROW), _MOST_ROW)
        width = (self.width() - self._left) / max(len(self._sets), 1)
        width = min(max(width, _LEAST_CELL), _MOST_CELL)
        box = QRectF(self._left + column * width, self._top + row * high, width, high)
        return box.adjusted(_GAP, _GAP, -_GAP, -_GAP)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw codes, cells, numbers."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        centred = Qt.AlignmentFlag.AlignCenter
        painter.setFont(font("small"))
        painter.setPen(QColor(theme.soft_text))
        for column, code in enumerate(self._sets):
            box = self.cell_box(0, column)
            painter.drawText(QRectF(box.left(), 0, box.width(), self._top), centred, code)
        for row, evaluator in enumerate(self._evaluators):
            self._draw_evaluator(painter, row, evaluator)
        painter.setFont(font("small"))
        for row in range(len(self._evaluators)):
            for column in range(len(self._sets)):
                self._draw_cell(painter, theme, row, column)
        painter.end()

    def _draw_evaluator(self, painter: QPainter, row: int, evaluator: str) -> None:
        theme = current_theme()
        cell = self.cell_box(row, 0)
        box = QRectF(18, cell.top(), self._left - 24, cell.height())
        painter.setFont(font("body"))
        painter.setPen(QColor(theme.text))
        if evaluator in self._flagged:
            painter.setPen(QColor(theme.attention))
            painter.setBrush(QColor(theme.attention))
            middle = cell.center().y()
            painter.drawRect(QRectF(4, middle - 7, 2, 8))
            painter.drawRect(QRectF(4, middle + 4, 2, 2))
        name = QFontMetricsF(font("body")).elidedText(
            evaluator, Qt.TextElideMode.ElideRight, box.width()
        )
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, name)

    def _draw_cell(self, painter: QPainter, theme: Theme, row: int, column: int) -> None:
        box, value = self.cell_box(row, column), float(self._deviations[row, column])
        if np.isnan(value):
            painter.setPen(QColor(theme.soft_text))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, NO_FIGURE)
            return
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.setBrush(QColor(deviation_tint(value, theme)))
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(QColor(theme.text))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, signed(value))
