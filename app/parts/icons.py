"""Drawn icons and the square button that carries one; no glyph of a font is needed."""

from collections.abc import Callable
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QAbstractButton, QWidget

from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme

IconName = Literal[
    "play", "pause", "to_start", "loop", "sound", "close", "note", "attention", "keys"
]

TOUCH_PX = 44


def _play(painter: QPainter) -> None:
    painter.drawPolygon(QPolygonF([QPointF(-5, -8), QPointF(9, 0), QPointF(-5, 8)]))


def _pause(painter: QPainter) -> None:
    painter.drawRect(QRectF(-7, -8, 5, 16))
    painter.drawRect(QRectF(2, -8, 5, 16))


def _to_start(painter: QPainter) -> None:
    painter.drawRect(QRectF(-8, -7, 3, 14))
    painter.drawPolygon(QPolygonF([QPointF(8, -7), QPointF(-4, 0), QPointF(8, 7)]))


def _loop(painter: QPainter) -> None:
    fill = painter.brush()
    _thin(painter)
    painter.drawPolyline([QPointF(-9, 1), QPointF(-9, -5), QPointF(4, -5)])
    painter.drawPolyline([QPointF(9, -1), QPointF(9, 5), QPointF(-4, 5)])
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(fill)
    painter.drawPolygon(QPolygonF([QPointF(4, -9), QPointF(10, -5), QPointF(4, -1)]))
    painter.drawPolygon(QPolygonF([QPointF(-4, 9), QPointF(-10, 5), QPointF(-4, 1)]))


def _sound(painter: QPainter) -> None:
    mouth = [(-9, -3), (-5, -3), (0, -7.5), (0, 7.5), (-5, 3), (-9, 3)]
    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in mouth]))
    _thin(painter)
    for reach in (4.0, 8.0):
        painter.drawArc(QRectF(-reach, -reach, 2 * reach, 2 * reach), -42 * 16, 84 * 16)


def _close(painter: QPainter) -> None:
    _thin(painter)
    painter.drawLine(QPointF(-5, -5), QPointF(5, 5))
    painter.drawLine(QPointF(-5, 5), QPointF(5, -5))


def _note(painter: QPainter) -> None:
    _thin(painter)
    painter.drawEllipse(QRectF(-9, -9, 18, 18))
    painter.drawLine(QPointF(0, -0.5), QPointF(0, 4.5))
    painter.drawLine(QPointF(0, -4.5), QPointF(0, -4.4))


def _attention(painter: QPainter) -> None:
    _thin(painter)
    painter.drawPolygon(QPolygonF([QPointF(0, -9), QPointF(10, 8), QPointF(-10, 8)]))
    painter.drawLine(QPointF(0, -2.5), QPointF(0, 1.5))
    painter.drawLine(QPointF(0, 4.9), QPointF(0, 5))


def _keys(painter: QPainter) -> None:
    _thin(painter)
    painter.drawRoundedRect(QRectF(-10, -7, 20, 14), 3, 3)
    painter.drawLine(QPointF(-4, 3), QPointF(4, 3))
    for x in (-5, 0, 5):
        painter.drawLine(QPointF(x - 0.8, -2), QPointF(x + 0.8, -2))


_ICONS: dict[IconName, Callable[[QPainter], None]] = {
    "play": _play,
    "pause": _pause,
    "to_start": _to_start,
    "loop": _loop,
    "sound": _sound,
    "close": _close,
    "note": _note,
    "attention": _attention,
    "keys": _keys,
}


def _thin(painter: QPainter) -> None:
    pen = QPen(painter.brush().color(), 2.0)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_icon(
    painter: QPainter, name: IconName, centre: QPointF, colour: str, scale: float = 1.0
) -> None:
    """Draw an icon, about 20 pixels across at scale 1."""
    painter.save()
    painter.translate(centre)
    painter.scale(scale, scale)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colour))
    _ICONS[name](painter)
    painter.restore()


class IconButton(QAbstractButton):
    """A square touch target with a drawn icon; its text is its name and its tooltip."""

    def __init__(self, icon_name: IconName, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._icon_name: IconName = icon_name
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFixedSize(self.sizeHint())
        self.show_icon(icon_name, text)

    def show_icon(self, icon_name: IconName, text: str) -> None:
        """Change what the button shows and is called."""
        self._icon_name = icon_name
        self.setAccessibleName(text)
        self.setToolTip(text)
        self.update()

    def sizeHint(self) -> QSize:
        """Size of one touch target."""
        return QSize(TOUCH_PX, TOUCH_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the icon, its surface when hovered, held or checked, and the focus ring."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(2, 2, -2, -2)
        if self.isDown() or self.isChecked() or (self.underMouse() and self.isEnabled()):
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.line if self.isDown() else theme.button))
            painter.drawRoundedRect(box, 8, 8)
        colour = theme.text if self.isEnabled() else theme.rail
        draw_icon(painter, self._icon_name, QRectF(self.rect()).center(), colour)
        if self.hasFocus():
            draw_focus_ring(painter, box, 8, theme.text)
        painter.end()
