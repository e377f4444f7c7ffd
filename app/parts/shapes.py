"""The shapes that stand for the sides, the ring that shows where the keys go, a line of text."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from app.parts.fonts import FontRole, font
from ratings.reports.colours import Theme
from ratings.study.listening import Side

_FULL_CIRCLE = 5760  # Qt counts arcs in sixteenths of a degree
_TWELVE_O_CLOCK = 1440


def square_around(centre: QPointF, half: float) -> QRectF:
    """Square with this centre, `half` pixels to each edge."""
    return QRectF(centre.x() - half, centre.y() - half, 2 * half, 2 * half)


def stroke(colour: str, width: float) -> QPen:
    """Pen of one colour and width with sharp corners and flat ends."""
    pen = QPen(QColor(colour), width)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


def draw_side_shape(
    painter: QPainter, side: Side, centre: QPointF, half: float, theme: Theme
) -> None:
    """Draw A's filled disc or B's open square, `half` pixels from centre to edge."""
    if side == "A":
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.side_a))
        painter.drawEllipse(centre, half, half)
        return
    width = max(2.0, half * 0.28)
    painter.setPen(stroke(theme.side_b, width))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(square_around(centre, half - width / 2))


def draw_coverage_ring(
    painter: QPainter, centre: QPointF, half: float, fraction: float, colours: tuple[str, str]
) -> None:
    """Draw a ring of which `fraction` (0 to 1) is filled clockwise from the top.

    `colours` are the colour of the filled part and of the rest.
    """
    filled, rest = colours
    box = square_around(centre, half)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(stroke(rest, 5.0))
    painter.drawEllipse(box)
    painter.setPen(stroke(filled, 5.0))
    share = min(max(fraction, 0.0), 1.0)
    painter.drawArc(box, _TWELVE_O_CLOCK, -round(_FULL_CIRCLE * share))


def draw_focus_ring(painter: QPainter, box: QRectF, radius: float, colour: str) -> None:
    """Draw the ring that shows where the keys go, inside `box`."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor(colour), 2.0))
    painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), radius, radius)


def draw_line(
    painter: QPainter,
    box: QRectF,
    text: str,
    role: FontRole,
    colour: str,
    elided_at: Qt.TextElideMode = Qt.TextElideMode.ElideRight,
) -> None:
    """Draw one line at the left of `box`, half way down; what finds no room is left out."""
    chosen = font(role)
    painter.setFont(chosen)
    painter.setPen(QColor(colour))
    aligned = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
    elided = QFontMetricsF(chosen).elidedText(text, elided_at, box.width())
    painter.drawText(box, aligned, elided)
