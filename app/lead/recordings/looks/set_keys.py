"""The sets of a plot with their marks, each a switch that shows or hides it."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QWidget

from app.parts.fonts import font
from app.parts.icons import TOUCH_PX
from app.parts.picture import LegendKey
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme
from ratings.reports.set_marks import LineStyle, MarkShape, SetMark

MARK_PX = 11.0

#: The names by which pyqtgraph knows the shapes.
PLOT_SYMBOLS: dict[MarkShape, str] = {
    "disc": "o",
    "square": "s",
    "triangle": "t1",
    "diamond": "d",
    "star": "star",
    "cross": "+",
    "pentagon": "p",
    "drop": "t",
}
PEN_STYLES: dict[LineStyle, Qt.PenStyle] = {
    "solid": Qt.PenStyle.SolidLine,
    "dashed": Qt.PenStyle.DashLine,
    "dotted": Qt.PenStyle.DotLine,
    "dash-dotted": Qt.PenStyle.DashDotLine,
}
_LINE_PX = 34.0


def mark_path(shape: MarkShape) -> QPainterPath:
    """Return a shape one unit wide around the origin, the one that plots draw."""
    from pyqtgraph.graphicsItems.ScatterPlotItem import Symbols

    path: QPainterPath = Symbols[PLOT_SYMBOLS[shape]]
    return path


def draw_mark(painter: QPainter, mark: SetMark, middle: QPointF, size: float = MARK_PX) -> None:
    """Draw the mark of a set."""
    painter.save()
    painter.translate(middle)
    painter.scale(size, size)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(mark.colour))
    painter.drawPath(mark_path(mark.shape))
    painter.restore()


def draw_line_and_mark(painter: QPainter, mark: SetMark, middle: QPointF, length: float) -> None:
    """Draw a piece of the line of a set with its mark."""
    half = QPointF(length / 2, 0)
    painter.setPen(QPen(QColor(mark.colour), 2, PEN_STYLES[mark.line], Qt.PenCapStyle.FlatCap))
    painter.drawLine(middle - half, middle + half)
    draw_mark(painter, mark, middle)


def line_key(mark: SetMark) -> LegendKey:
    """Return the entry of a set in a legend of lines."""
    return LegendKey(
        mark.words, lambda painter, middle: draw_line_and_mark(painter, mark, middle, 34.0)
    )


def mark_key(mark: SetMark) -> LegendKey:
    """Return the entry of a set in a legend of marks."""
    return LegendKey(mark.words, lambda painter, middle: draw_mark(painter, mark, middle), MARK_PX)


class SetKey(QAbstractButton):
    """One set: a piece of its line with its mark, and its code."""

    def __init__(self, mark: SetMark, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._mark = mark
        self.setCheckable(True)
        self.setChecked(True)
        self.setText(mark.words)
        self.setAccessibleName(f"show set {mark.words}")
        self.setToolTip("Show or hide this set")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def sizeHint(self) -> QSize:
        """Room for line and code, as high as a finger."""
        words = QFontMetricsF(font("strong")).horizontalAdvance(self.text())
        return QSize(round(words + _LINE_PX + 24), TOUCH_PX)

    def show_mark(self, mark: SetMark) -> None:
        """Draw the mark in the colours of the theme."""
        self._mark = mark
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw line, mark and code; a hidden set is struck through."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box, middle = QRectF(self.rect()), self.height() / 2
        if self.underMouse():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.ground))
            painter.drawRoundedRect(box.adjusted(0, 4, 0, -4), 8, 8)
        if self.isChecked():
            at = QPointF((8 + _LINE_PX) / 2, middle)
            draw_line_and_mark(painter, self._mark, at, _LINE_PX - 8)
        chosen = font("strong" if self.isChecked() else "body")
        chosen.setStrikeOut(not self.isChecked())
        painter.setFont(chosen)
        painter.setPen(QColor(theme.text if self.isChecked() else theme.soft_text))
        painter.drawText(
            box.adjusted(_LINE_PX + 8, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, self.text()
        )
        if self.hasFocus():
            draw_focus_ring(painter, box.adjusted(0, 4, 0, -4), 7, theme.text)
        painter.end()


class SetKeys(QWidget):
    """A row of sets.

    Signals
    -------
    set_switched(str, bool)
        Code of the set, and whether it is to be shown.
    """

    set_switched = Signal(str, bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._keys: dict[str, SetKey] = {}
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(4)
        self.setAccessibleName("sets shown")

    def show_marks(self, marks: Sequence[SetMark], hidden: frozenset[str]) -> None:
        """Show these sets."""
        if [mark.code for mark in marks] != list(self._keys):
            self._rebuild(marks)
        for mark in marks:
            key = self._keys[mark.code]
            key.show_mark(mark)
            key.setChecked(mark.code not in hidden)

    def key(self, code: str) -> SetKey:
        """Return the switch of a set."""
        return self._keys[code]

    def _rebuild(self, marks: Sequence[SetMark]) -> None:
        for key in self._keys.values():
            self._row.removeWidget(key)
            key.hide()
            key.deleteLater()
        self._keys = {}
        for mark in marks:
            key = SetKey(mark)
            key.toggled.connect(lambda is_on, code=mark.code: self.set_switched.emit(code, is_on))
            self._row.addWidget(key)
            self._keys[mark.code] = key
