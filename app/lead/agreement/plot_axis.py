"""The axis from 0 to 1 that the plots of agreement share."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from app.parts.fonts import font
from app.parts.theme import current_theme

DOT_HALF = 6.0
_ARROW = 7.0


@dataclass(frozen=True, slots=True)
class UnitAxis:
    """Where 0 and 1 lie, in pixels from the left edge."""

    left: float
    right: float

    def x(self, value: float) -> float:
        """Return where a value lies; beyond the ends it stays at the end."""
        return self.left + (self.right - self.left) * min(max(value, 0.0), 1.0)

    def draw(self, painter: QPainter, top: float, bottom: float, words: str) -> None:
        """Draw ticks and figures under a plot from `top` to `bottom`, and say what is drawn."""
        theme = current_theme()
        painter.setFont(font("small"))
        metrics = QFontMetricsF(font("small"))
        has_room = (self.right - self.left) / 5 > metrics.horizontalAdvance("0.0") + 8
        for tick in range(6):
            x = self.x(tick / 5)
            painter.setPen(QPen(QColor(theme.line), 1))
            painter.drawLine(QPointF(x, top), QPointF(x, bottom + 4))
            if not has_room and 0 < tick < 5:
                continue
            painter.setPen(QColor(theme.soft_text))
            box = QRectF(x - 24, bottom + 6, 48, metrics.height())
            painter.drawText(box, Qt.AlignmentFlag.AlignHCenter, f"{tick / 5:.1f}")
        middle = (self.left + self.right) / 2
        below = QRectF(middle - 300, bottom + 8 + metrics.height(), 600, 40)
        painter.drawText(below, Qt.AlignmentFlag.AlignHCenter, words)

    @staticmethod
    def height() -> float:
        """Room that figures and words take below a plot."""
        return 2 * QFontMetricsF(font("small")).height() + 12


def draw_dot(
    painter: QPainter,
    axis: UnitAxis,
    y: float,
    figures: tuple[float, float | None, float | None],
    *,
    is_filled: bool,
) -> None:
    """Draw a value with its interval: a filled dot for what holds, an open one for what does not.

    An interval that goes on below 0 ends in an arrow; a value below 0 is a triangle at the left
    end that points out of the axis, with its number.
    """
    value, lower, upper = figures
    theme = current_theme()
    colour = QColor(theme.accent if is_filled else theme.soft_text)
    painter.setPen(QPen(colour, 3, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    if lower is not None and upper is not None:
        painter.drawLine(QPointF(axis.x(lower), y), QPointF(axis.x(upper), y))
        if lower < 0 <= value:
            tip = axis.left - 2
            painter.drawPolyline(
                [
                    QPointF(tip + _ARROW, y - _ARROW / 1.4),
                    QPointF(tip, y),
                    QPointF(tip + _ARROW, y + _ARROW / 1.4),
                ]
            )
    painter.setPen(QPen(colour, 2.5))
    painter.setBrush(colour if is_filled else QColor(theme.panel))
    if value < 0:
        _draw_below(painter, axis.left, y, value)
        return
    painter.drawEllipse(QPointF(axis.x(value), y), DOT_HALF, DOT_HALF)


def _draw_below(painter: QPainter, left: float, y: float, value: float) -> None:
    """Draw a triangle at the left end, and the number that lies beyond it."""
    base = left + 2 * DOT_HALF
    corners = [QPointF(left, y), QPointF(base, y - DOT_HALF), QPointF(base, y + DOT_HALF)]
    painter.drawPolygon(corners)
    chosen = font("small")
    painter.setFont(chosen)
    painter.setPen(QColor(current_theme().text))
    words = f"{value:.2f}".replace("-", "−")
    high = QFontMetricsF(chosen).height()
    box = QRectF(base + 6, y - high - 2, 60, high)
    painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, words)
