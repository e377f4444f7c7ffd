"""A plot with fixed axes, a line that reads values, and the colours of the theme."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QGraphicsView, QVBoxLayout, QWidget

from app.lead.recordings.looks.set_keys import PEN_STYLES, PLOT_SYMBOLS
from app.parts.fonts import font
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme
from ratings.findings.measured_axes import Axis
from ratings.reports.set_marks import SetMark

Floats = npt.NDArray[np.float64]
#: Where an axis is labelled, and with what.
Ticks = Sequence[tuple[float, str]]

_STEPS_OVER_AXIS = 200
_MARKS_PER_CURVE = 9
_COPY_HEIGHT_PX = 440
#: Wide, smooth lines of more points take too long to draw.
_MOST_SMOOTH = 1000
_RESET_KEYS = {Qt.Key.Key_Home, Qt.Key.Key_0}
_FREQUENCIES = (
    (20, "20"), (50, "50"), (100, "100"), (200, "200"), (500, "500"), (1000, "1k"),
    (2000, "2k"), (5000, "5k"), (10000, "10k"),
)  # fmt: skip
FREQUENCY_TICKS: Ticks = tuple((math.log10(hz), name) for hz, name in _FREQUENCIES)


@dataclass(frozen=True, slots=True, eq=False)
class DrawnCurve:
    """A line and the mark on it; x and y of shape (points,)."""

    mark: SetMark
    x: Floats
    y: Floats


class PlotFrame(QFrame):
    """Holds one plot; arrow keys or the pointer move the line that reads it.

    The mouse drags and zooms; Home shows the whole axes again.

    Signals
    -------
    pointed(float, float)
        Where the reading line and the pointer are, in the units of the axes.
    clicked(float, float)
    """

    pointed = Signal(float, float)
    clicked = Signal(float, float)

    def __init__(self, spoken_name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        # Loading it takes longer than showing the first window.
        import pyqtgraph as pg

        self._pg = pg
        self.setAccessibleName(spoken_name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(320, 220)
        self.plot: Any = pg.PlotWidget()
        self.plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.plot.setMenuEnabled(False)
        self.plot.hideButtons()
        self.plot.setFrameShape(QFrame.Shape.NoFrame)
        self._x_axis, self._y_axis = Axis(0, 1), Axis(0, 1)
        self._words = ("", "")
        self._items: list[Any] = []
        #: A window draws no more points than it has pixels.
        self._draws_all = False
        #: Scale of the colours of a map, where there is one.
        self.bar: Any = None
        self.reader: Any = pg.InfiniteLine(angle=90)
        self.reader.hide()
        self.plot.addItem(self.reader, ignoreBounds=True)
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.addWidget(self.plot)
        self.plot.scene().sigMouseMoved.connect(self._follow)
        self.plot.scene().sigMouseClicked.connect(self._click)
        self._wear_theme()

    def set_axes(
        self,
        x_axis: Axis,
        y_axis: Axis,
        words: tuple[str, str],
        x_ticks: Ticks | None = None,
    ) -> None:
        """Fix the axes and say what they are; the view goes back to the whole of them."""
        if (x_axis, y_axis) == (self._x_axis, self._y_axis) and words == self._words:
            return
        self._x_axis, self._y_axis, self._words = x_axis, y_axis, words
        for side, text in zip(("bottom", "left"), words, strict=True):
            self.plot.setLabel(side, text)
        self.plot.getAxis("bottom").setTicks(None if x_ticks is None else [list(x_ticks)])
        self.plot.getViewBox().setLimits(
            xMin=x_axis.low, xMax=x_axis.high, yMin=y_axis.low, yMax=y_axis.high
        )
        self.show_whole()

    def show_whole(self) -> None:
        """Show the axes from end to end."""
        self.plot.setRange(
            xRange=(self._x_axis.low, self._x_axis.high),
            yRange=(self._y_axis.low, self._y_axis.high),
            padding=0.0,
        )

    @property
    def is_whole(self) -> bool:
        """Whether the axes are seen from end to end."""
        ranges = np.array(self.plot.getViewBox().viewRange())
        whole = [[axis.low, axis.high] for axis in (self._x_axis, self._y_axis)]
        return bool(np.allclose(ranges, whole))

    def copied(self, fill: Callable[[PlotFrame], None]) -> PlotFrame:
        """Return another one for a picture, that shows the same part of the axes.

        Parameters
        ----------
        fill
            Draws what this one shows.
        """
        made = PlotFrame(self.accessibleName())
        made.setMinimumHeight(_COPY_HEIGHT_PX)
        made._draws_all = True
        # A ground that is kept as an image would lie in every drawing.
        made.plot.setCacheMode(QGraphicsView.CacheModeFlag.CacheNone)
        fill(made)
        if not self.is_whole:
            x_range, y_range = self.plot.getViewBox().viewRange()
            made.plot.setRange(xRange=x_range, yRange=y_range, padding=0.0)
        return made

    def top_of_axis(self) -> float:
        """Return the upper end of the level axis."""
        return self._y_axis.high

    def show_curves(
        self, curves: Sequence[DrawnCurve], draw_more: Callable[[], None] | None = None
    ) -> None:
        """Draw these curves in place of what was there.

        Parameters
        ----------
        draw_more
            Adds further items by `add`.
        """
        for item in self._items:
            self.plot.removeItem(item)
        self._items = []
        for place, curve in enumerate(curves):
            self._draw_curve(curve, place, len(curves))
        if draw_more is not None:
            draw_more()

    def add(self, item: Any, *, is_below: bool = False) -> None:
        """Put an item into the plot until the next drawing."""
        if is_below:
            item.setZValue(-10)
        self.plot.addItem(item, ignoreBounds=True)
        self._items.append(item)

    def read_at(self, x: float) -> None:
        """Put the reading line at x and tell."""
        held = min(max(x, self._x_axis.low), self._x_axis.high)
        self.reader.setPos(held)
        self.reader.show()
        self.pointed.emit(held, float("nan"))

    def changeEvent(self, event: Any) -> None:
        """Take on the colours of a new theme."""
        super().changeEvent(event)
        if event.type() == event.Type.PaletteChange and hasattr(self, "plot"):
            self._wear_theme()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the reading line; with Shift in larger steps."""
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if event.key() in _RESET_KEYS:
            self.show_whole()
        elif step is None:
            super().keyPressEvent(event)
        else:
            size = (self._x_axis.high - self._x_axis.low) / _STEPS_OVER_AXIS
            far = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
            middle = (self._x_axis.high + self._x_axis.low) / 2
            start = float(self.reader.value()) if self.reader.isVisible() else middle
            self.read_at(start + step * far * size)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the ring that shows where the keys go."""
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            draw_focus_ring(painter, QRectF(self.rect()), 6, current_theme().text)
            painter.end()

    def _wear_theme(self) -> None:
        theme = current_theme()
        self.plot.setBackground(QColor(theme.panel))
        self.reader.setPen(self._pg.mkPen(theme.text, width=1))
        for side in ("bottom", "left"):
            axis = self.plot.getAxis(side)
            axis.setPen(self._pg.mkPen(theme.tick))
            axis.setTextPen(self._pg.mkPen(theme.soft_text))
            axis.setTickFont(font("small"))
            axis.label.setFont(font("small"))
            axis.enableAutoSIPrefix(False)
            axis.tickStrings = partial(_with_true_minus, type(axis).tickStrings, axis)
        self.plot.showGrid(x=True, y=True, alpha=0.25)

    def _draw_curve(self, curve: DrawnCurve, place: int, count: int) -> None:
        is_short = self._draws_all or curve.x.size < _MOST_SMOOTH
        style = PEN_STYLES[curve.mark.line]
        pen = self._pg.mkPen(
            curve.mark.colour, width=2 if curve.x.size < _MOST_SMOOTH else 1, style=style
        )
        line = self._pg.PlotDataItem(
            curve.x, curve.y, pen=pen, connect="finite", antialias=is_short
        )
        self.add(line)
        if not self._draws_all:
            # Only now: the item must know its plot to draw no more points than there are pixels.
            line.setDownsampling(auto=True, method="peak")
        line.setClipToView(True)
        x, y = _marked_points(curve, place, count, self._x_axis)
        self.add(
            self._pg.ScatterPlotItem(
                x=x,
                y=y,
                symbol=PLOT_SYMBOLS[curve.mark.shape],
                size=10,
                brush=curve.mark.colour,
                pen=self._pg.mkPen(current_theme().panel, width=1),
                # What is kept as an image is one in a drawing, too.
                useCache=not self._draws_all,
            )
        )

    def _follow(self, position: QPointF) -> None:
        box = self.plot.getViewBox()
        if box.sceneBoundingRect().contains(position):
            point = box.mapSceneToView(position)
            self.reader.setPos(point.x())
            self.reader.show()
            self.pointed.emit(float(point.x()), float(point.y()))

    def _click(self, event: Any) -> None:
        box = self.plot.getViewBox()
        if box.sceneBoundingRect().contains(event.scenePos()):
            point = box.mapSceneToView(event.scenePos())
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.clicked.emit(float(point.x()), float(point.y()))


def _with_true_minus(ticks: Callable[..., list[str]], *args: Any) -> list[str]:
    return [words.replace("-", "−") for words in ticks(*args)]


def _marked_points(curve: DrawnCurve, place: int, count: int, axis: Axis) -> tuple[Floats, Floats]:
    """Choose where a curve carries its mark: every point of a short one, else a few, apart."""
    if curve.x.size <= 40:
        return curve.x, curve.y
    offset = (place + 0.5) / max(count, 1)
    wanted = np.linspace(axis.low, axis.high, _MARKS_PER_CURVE + 1)[:-1]
    wanted = wanted + offset * (axis.high - axis.low) / _MARKS_PER_CURVE
    wanted = wanted[(wanted >= curve.x[0]) & (wanted <= curve.x[-1])]
    at = np.clip(np.searchsorted(curve.x, wanted), 0, curve.x.size - 1)
    return curve.x[at], curve.y[at]
