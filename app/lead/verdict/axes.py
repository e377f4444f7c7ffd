"""Axes of the verdict's plots: where values lie, and ticks that read well."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from app.parts.fonts import font
from app.parts.theme import current_theme

_STEPS = (1.0, 2.0, 5.0)
_TICK_ROOM_PX = 62.0
_LEFT_PX, _ABOVE_PX, _BELOW_PX, _RIGHT_PX = 58.0, 12.0, 48.0, 16.0


@dataclass(frozen=True, slots=True)
class Axis:
    """Values from `low` to `high`, from pixel `start` to pixel `end`."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return where a value lies; beyond the ends it stays at the end."""
        part = (value - self.low) / (self.high - self.low)
        return self.start + (self.end - self.start) * min(max(part, 0.0), 1.0)

    def ticks(self, room_px: float = _TICK_ROOM_PX) -> list[float]:
        """Return round values that have so much room for their figures."""
        count = max(abs(self.end - self.start) / room_px, 1.0)
        least = (self.high - self.low) / count
        power = 10.0 ** math.floor(math.log10(least))
        step = next((each * power for each in _STEPS if each * power >= least), 10 * power)
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return [n * step for n in range(first, last + 1)]


def spanned(values: list[float], least: float) -> tuple[float, float]:
    """Return the ends of an axis that holds values with some air, at least so wide."""
    low, high = min(values, default=0.0), max(values, default=0.0)
    air = max((high - low) * 0.12, (least - (high - low)) / 2, 1e-9)
    return low - air, high + air


@dataclass(frozen=True, slots=True)
class Frame:
    """A plot with an axis each way."""

    x: Axis
    y: Axis

    @classmethod
    def within(cls, size: QRectF, across: tuple[float, float], up: tuple[float, float]) -> Frame:
        """Return the frame that a widget of this size holds."""
        return cls(
            Axis(*across, size.left() + _LEFT_PX, size.right() - _RIGHT_PX),
            Axis(*up, size.bottom() - _BELOW_PX, size.top() + _ABOVE_PX),
        )

    @property
    def inside(self) -> QRectF:
        """The part between the axes."""
        return QRectF(QPointF(self.x.start, self.y.end), QPointF(self.x.end, self.y.start))

    def point(self, x: float, y: float) -> QPointF:
        """Return where a pair of values lies."""
        return QPointF(self.x.at(x), self.y.at(y))

    def draw(self, painter: QPainter, x_words: str, y_words: str, *, counts: bool = False) -> None:
        """Draw grid, figures and what the axes are; `counts` puts no tick between whole numbers."""
        theme, metrics = current_theme(), QFontMetricsF(font("small"))
        painter.setFont(font("small"))
        centre = Qt.AlignmentFlag.AlignHCenter
        across = self.x.ticks()
        for value in (tick for tick in across if not counts or abs(tick - round(tick)) < 1e-9):
            x = self.x.at(value)
            painter.setPen(QPen(QColor(theme.line), 1))
            painter.drawLine(QPointF(x, self.y.end), QPointF(x, self.y.start))
            painter.setPen(QColor(theme.soft_text))
            box = QRectF(x - 40, self.y.start + 4, 80, metrics.height())
            painter.drawText(box, centre, tick_words(value))
        for value in self.y.ticks():
            y = self.y.at(value)
            painter.setPen(QPen(QColor(theme.line), 1))
            painter.drawLine(QPointF(self.x.start, y), QPointF(self.x.end, y))
            painter.setPen(QColor(theme.soft_text))
            box = QRectF(self.x.start - 50, y - 12, 44, 24)
            painter.drawText(
                box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, tick_words(value)
            )
        below = QRectF(0, self.y.start + 6 + metrics.height(), self.x.end + _RIGHT_PX, 24)
        painter.drawText(below, centre, x_words)
        painter.save()
        painter.translate(metrics.height(), (self.y.start + self.y.end) / 2)
        painter.rotate(-90)
        painter.drawText(QRectF(-200, -metrics.height(), 400, metrics.height()), centre, y_words)
        painter.restore()


def tick_words(value: float) -> str:
    """Write the figure of a tick."""
    return f"{round(value, 6) + 0.0:g}".replace("-", "−")
