"""Kendall's W of every attribute: dot, interval, and where it means nothing yet."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.lead.agreement.plot_axis import UnitAxis, draw_dot
from app.parts.fonts import FontRole, font
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme

_LEAST_ROW, _MOST_ROW = 34.0, 52.0
_EDGE = 12.0
_FIGURE_WIDTH, _SIZE_WIDTH = 46.0, 70.0
_STEPS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}


@dataclass(frozen=True, slots=True)
class ConcordanceRow:
    """One attribute of the plot.

    Attributes
    ----------
    w, lower, upper
        None when undefined; the row then says so.
    chance_w
        Chance alone explains what lies below; None when it explains any W.
    figure, size
        W and its n as they are written at the end of the row.
    spoken
        The row as a sentence, for a screen reader.
    """

    key: str
    name: str
    w: float | None
    lower: float | None
    upper: float | None
    chance_w: float | None
    agrees: bool
    figure: str
    size: str
    spoken: str


class ConcordancePlot(QWidget):
    """One row per attribute; a click or the arrow keys choose one.

    Signals
    -------
    attribute_chosen(str)
        Key of the attribute that was clicked.
    step_asked(int)
        The arrow keys ask for the next (1) or the one before (-1).
    """

    attribute_chosen = Signal(str)
    step_asked = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[ConcordanceRow, ...] = ()
        self._chosen = -1
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Kendall's W per attribute")

    def show_rows(self, rows: Sequence[ConcordanceRow], chosen_key: str) -> None:
        """Show these rows, one of them chosen."""
        self._rows = tuple(rows)
        keys = [row.key for row in self._rows]
        self._chosen = keys.index(chosen_key) if chosen_key in keys else -1
        self.setAccessibleDescription(" ".join(row.spoken for row in self._rows))
        self.updateGeometry()
        self.update()

    def row_box(self, place: int) -> QRectF:
        """Return where a row is drawn."""
        high = self._row_height()
        return QRectF(0, self._top() + place * high, self.width(), high)

    def minimumSizeHint(self) -> QSize:
        """Room for every row at its least height."""
        return QSize(440, round(self._top() + len(self._rows) * _LEAST_ROW + UnitAxis.height()))

    def sizeHint(self) -> QSize:
        """Room for every row with some air."""
        return QSize(540, round(self._top() + len(self._rows) * 36 + UnitAxis.height()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go up and down the attributes."""
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
            return
        self.step_asked.emit(step)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        for place, row in enumerate(self._rows):
            if self.row_box(place).contains(event.position()):
                self.attribute_chosen.emit(row.key)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw shade, axis, rows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        axis = self._axis()
        for place, row in enumerate(self._rows):
            self._draw_shade(painter, axis, self.row_box(place), row)
        bottom = self._top() + len(self._rows) * self._row_height()
        axis.draw(painter, self._top(), bottom, "0 no common order, 1 the same order")
        self._draw_thresholds(painter, axis)
        self._draw_headings(painter)
        for place, row in enumerate(self._rows):
            self._draw_row(painter, axis, self.row_box(place), row, place == self._chosen)
        painter.end()

    def _axis(self) -> UnitAxis:
        names = QFontMetricsF(font("strong"))
        widest = max((names.horizontalAdvance(row.name) for row in self._rows), default=0.0)
        left = min(widest + 3 * _EDGE, self.width() * 0.4)
        return UnitAxis(left, self.width() - _FIGURE_WIDTH - _SIZE_WIDTH - 2 * _EDGE)

    def _top(self) -> float:
        return QFontMetricsF(font("small")).height() + 6

    def _row_height(self) -> float:
        room = self.height() - self._top() - UnitAxis.height()
        return min(max(room / max(len(self._rows), 1), _LEAST_ROW), _MOST_ROW)

    def _draw_shade(
        self, painter: QPainter, axis: UnitAxis, box: QRectF, row: ConcordanceRow
    ) -> None:
        if row.w is None:
            return
        right = axis.x(1.0 if row.chance_w is None else row.chance_w)
        shade = QRectF(axis.left, box.top(), right - axis.left, box.height())
        painter.fillRect(shade, QColor(current_theme().ground))

    def _draw_thresholds(self, painter: QPainter, axis: UnitAxis) -> None:
        pen = QPen(QColor(current_theme().attention), 1.5)
        pen.setDashPattern([3, 3])
        painter.setPen(pen)
        for place, row in enumerate(self._rows):
            if row.w is not None and row.chance_w is not None:
                box, x = self.row_box(place), axis.x(row.chance_w)
                painter.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom()))

    def _draw_headings(self, painter: QPainter) -> None:
        painter.setFont(font("small"))
        painter.setPen(QColor(current_theme().soft_text))
        head = QRectF(0, 0, self.width(), self._top())
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop
        painter.drawText(head.adjusted(0, 0, -_SIZE_WIDTH - _EDGE, 0), right, "W")
        painter.drawText(head.adjusted(0, 0, -_EDGE, 0), right, "n")

    def _draw_row(
        self, painter: QPainter, axis: UnitAxis, box: QRectF, row: ConcordanceRow, is_chosen: bool
    ) -> None:
        theme = current_theme()
        if is_chosen:
            self._draw_choice(painter, box)
        role: FontRole = "strong" if is_chosen else "body"
        painter.setFont(font(role))
        painter.setPen(QColor(theme.text))
        middle = Qt.AlignmentFlag.AlignVCenter
        name = QFontMetricsF(font(role)).elidedText(
            row.name, Qt.TextElideMode.ElideRight, axis.left - 2 * _EDGE
        )
        painter.drawText(box.adjusted(_EDGE, 0, 0, 0), middle, name)
        if row.w is None:
            painter.setPen(QColor(theme.soft_text))
            words = "cannot be told yet"
            painter.drawText(box.adjusted(axis.left + 6, 0, 0, 0), middle, words)
            return
        right = middle | Qt.AlignmentFlag.AlignRight
        painter.drawText(box.adjusted(0, 0, -_SIZE_WIDTH - _EDGE, 0), right, row.figure)
        painter.setFont(font("small"))
        painter.setPen(QColor(theme.soft_text))
        painter.drawText(box.adjusted(0, 0, -_EDGE, 0), right, row.size)
        figures = row.w, row.lower, row.upper
        draw_dot(painter, axis, box.center().y(), figures, is_filled=row.agrees)

    def _draw_choice(self, painter: QPainter, box: QRectF) -> None:
        theme = current_theme()
        bar = QRectF(0, box.top() + 5, 4, box.height() - 10)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.accent))
        painter.drawRoundedRect(bar, 2, 2)
        if self.hasFocus():
            draw_focus_ring(painter, box.adjusted(0, 1, 0, -1), 6, theme.text)
