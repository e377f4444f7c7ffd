"""Scores against a measured figure: each set with its name, and the line with its interval."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.lead.verdict.axes import Frame, spanned
from app.parts.fonts import font
from app.parts.theme import current_theme

_HALF, _NEAR = 5.0, 12.0
#: How far a name may be led away from its dot, in lines of text.
_RINGS = 14


@dataclass(frozen=True, slots=True)
class EarPlotPoint:
    """A set where its figure and its mean score lie."""

    name: str
    figure: float
    score: float
    is_control: bool


@dataclass(frozen=True, slots=True)
class EarPlotData:
    """What is drawn.

    Attributes
    ----------
    slope
        Points per unit of the figure, with its interval; None without a line.
    x_words, y_words
        What the axes are.
    """

    points: tuple[EarPlotPoint, ...]
    slope: tuple[float, float | None, float | None] | None
    x_words: str
    y_words: str
    spoken: str


class EarPlot(QWidget):
    """A scatter plot in which every set is named."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._data: EarPlotData | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("scores against the measured figure")

    def show_data(self, data: EarPlotData | None) -> None:
        """Show these points."""
        self._data = data
        self.setAccessibleDescription("" if data is None else data.spoken)
        self.update()

    def minimumSizeHint(self) -> QSize:
        """Room for axes and names."""
        return QSize(360, 260)

    def sizeHint(self) -> QSize:
        """Ask for a little more."""
        return QSize(460, 300)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw axes, line, sets and names."""
        data = self._data
        if data is None or not data.points:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = Frame.within(
            QRectF(self.rect()),
            spanned([each.figure for each in data.points], 1.0),
            spanned([each.score for each in data.points], 1.0),
        )
        frame.draw(painter, data.x_words, data.y_words)
        self._draw_line(painter, frame, data)
        self._draw_points(painter, frame, data.points)
        painter.end()

    def _draw_line(self, painter: QPainter, frame: Frame, data: EarPlotData) -> None:
        if data.slope is None:
            return
        theme, count = current_theme(), len(data.points)
        x0 = sum(each.figure for each in data.points) / count
        y0 = sum(each.score for each in data.points) / count
        slope, low, high = data.slope
        painter.save()
        painter.setClipRect(frame.inside)
        ends = frame.x.low, frame.x.high
        scale = (frame.y.end - frame.y.start) / (frame.y.high - frame.y.low)

        def at(x: float, steepness: float) -> QPointF:
            return QPointF(
                frame.x.at(x), frame.y.start + (y0 + steepness * (x - x0) - frame.y.low) * scale
            )

        if low is not None and high is not None:
            shade = QColor(theme.tick)
            shade.setAlphaF(0.3)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(shade)
            middle = at(x0, 0.0)
            for end in ends:
                painter.drawPolygon(QPolygonF([middle, at(end, low), at(end, high)]))
        painter.setPen(QPen(QColor(theme.rail), 2))
        painter.drawLine(at(ends[0], slope), at(ends[1], slope))
        painter.restore()

    def _draw_points(
        self, painter: QPainter, frame: Frame, points: tuple[EarPlotPoint, ...]
    ) -> None:
        theme = current_theme()
        metrics = QFontMetricsF(font("small"))
        painter.setFont(font("small"))
        taken: list[QRectF] = []
        for each in points:
            centre = frame.point(each.figure, each.score)
            taken.append(QRectF(centre.x() - _HALF, centre.y() - _HALF, 2 * _HALF, 2 * _HALF))
        # Names first: a line that leads to one passes under the dots.
        for each, dot in zip(points, tuple(taken), strict=True):
            size = QRectF(0, 0, metrics.horizontalAdvance(each.name) + 2, metrics.height())
            box = free_place(size, dot.center(), taken, frame.inside)
            if box is None:
                continue
            taken.append(box)
            if not box.adjusted(-_NEAR, -_NEAR, _NEAR, _NEAR).contains(dot.center()):
                painter.setPen(QPen(QColor(theme.tick), 1))
                painter.drawLine(dot.center(), _nearest(box, dot.center()))
            painter.setPen(QColor(theme.text))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, each.name)
        for each, dot in zip(points, tuple(taken), strict=False):
            painter.setPen(QPen(QColor(theme.accent), 2))
            painter.setBrush(QColor(theme.panel if each.is_control else theme.accent))
            painter.drawEllipse(dot)


def free_place(
    size: QRectF, point: QPointF, taken: Sequence[QRectF], inside: QRectF
) -> QRectF | None:
    """Return the nearest place for a name of this size where it covers nothing; None without one.

    Beside the point first, then on rings around it.
    """
    wide, high, gap = size.width(), size.height(), _HALF + 3
    corners = [
        (gap, -high / 2),
        (-gap - wide, -high / 2),
        (-wide / 2, -gap - high),
        (-wide / 2, gap),
        (gap, -gap - high),
        (gap, gap),
        (-gap - wide, -gap - high),
        (-gap - wide, gap),
    ]
    for ring in range(2, _RINGS):
        reach = ring * high
        angles = (2 * math.pi * n / (8 * ring) for n in range(8 * ring))
        corners += [
            (reach * math.cos(a) - wide / 2, reach * math.sin(a) - high / 2) for a in angles
        ]
    for dx, dy in corners:
        box = QRectF(point + QPointF(dx, dy), size.size())
        if inside.contains(box) and not any(box.intersects(each) for each in taken):
            return box
    return None


def _nearest(box: QRectF, point: QPointF) -> QPointF:
    """Return the point of a box's edge that is nearest to another."""
    return QPointF(
        min(max(point.x(), box.left()), box.right()), min(max(point.y(), box.top()), box.bottom())
    )
