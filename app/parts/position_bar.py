"""The play position that both sides share, with the loop marked on it."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.fonts import font
from app.parts.icons import TOUCH_PX
from app.parts.shapes import draw_focus_ring, stroke
from app.parts.theme import current_theme
from ratings.reports.colours import Theme
from ratings.study.listening import Side

_MARGIN_PX = 8.0
_BAR_Y = 13.0
_BAR_HALF_PX = 4.0
_KEY_STEP_S = 0.5


class PositionBar(QWidget):
    """Where both sides are in their clips.

    Signals
    -------
    seek_asked(float)
        The position in seconds that a press, a drag's end or a key asked for.
    """

    seek_asked = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._length_s = 0.0
        self._position_s = 0.0
        self._loop_s: tuple[float, float] | None = None
        self._dragged_s: float | None = None
        self._spoken = ""
        self._unheard: tuple[Side, tuple[tuple[float, float], ...]] | None = None
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("position in both clips")
        self._say()

    @property
    def position_s(self) -> float:
        """Shown position in seconds."""
        return self._position_s if self._dragged_s is None else self._dragged_s

    def set_length(self, length_s: float) -> None:
        """Show clips of this length, from the start."""
        self._length_s = max(length_s, 0.0)
        self._position_s = 0.0
        self._dragged_s = None
        self._say()
        self.update()

    def set_position(self, position_s: float) -> None:
        """Show the play position; a call that moves nothing on the screen repaints nothing."""
        before = round(self._x(self._position_s)), self._time_words(self._position_s)
        self._position_s = min(max(position_s, 0.0), self._length_s)
        if before != (round(self._x(self._position_s)), self._time_words(self._position_s)):
            self._say()
            self.update()

    def set_unheard(
        self, side: Side | None, stretches_s: Sequence[tuple[float, float]] = ()
    ) -> None:
        """Underline what must still be heard of a side, starts and stops in s; None for none."""
        unheard = None if side is None else (side, tuple(stretches_s))
        if unheard != self._unheard:
            self._unheard = unheard
            self._say()
            self.update()

    def set_loop(self, start_s: float | None, stop_s: float | None = None) -> None:
        """Mark the part that is looped; None when nothing is."""
        self._loop_s = None if start_s is None or stop_s is None else (start_s, stop_s)
        self.update()

    def sizeHint(self) -> QSize:
        """Height of a touch target."""
        return QSize(400, TOUCH_PX)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Ask for the place pressed."""
        if event.button() == Qt.MouseButton.LeftButton and self._length_s > 0:
            self._dragged_s = self._time_at(event.position().x())
            self.seek_asked.emit(self._dragged_s)
            self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show the place under the mouse while it is held."""
        if self._dragged_s is not None:
            self._dragged_s = self._time_at(event.position().x())
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Ask for the place where a drag ended."""
        if self._dragged_s is None or event.button() != Qt.MouseButton.LeftButton:
            return
        ended_s, self._dragged_s = self._dragged_s, None
        moved = abs(self._x(ended_s) - self._x(self._position_s)) >= 1
        self._position_s = ended_s
        if moved:
            self.seek_asked.emit(ended_s)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move by half a second with the arrows, to the start with Home."""
        wanted = {
            Qt.Key.Key_Left: self._position_s - _KEY_STEP_S,
            Qt.Key.Key_Right: self._position_s + _KEY_STEP_S,
            Qt.Key.Key_Home: 0.0,
        }.get(Qt.Key(event.key()))
        if wanted is None or self._length_s <= 0:
            super().keyPressEvent(event)
            return
        self.seek_asked.emit(min(max(wanted, 0.0), self._length_s))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw bar, loop marks, playhead and times."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw_bar(painter, theme)
        self._draw_times(painter, theme)
        if self.hasFocus():
            draw_focus_ring(painter, QRectF(self.rect()), 6, theme.text)
        painter.end()

    def _draw_bar(self, painter: QPainter, theme: Theme) -> None:
        left, right, here = self._x(0), self._x(self._length_s), self._x(self.position_s)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.line))
        bar = QRectF(left, _BAR_Y - _BAR_HALF_PX, right - left, 2 * _BAR_HALF_PX)
        painter.drawRoundedRect(bar, _BAR_HALF_PX, _BAR_HALF_PX)
        painter.setBrush(QColor(theme.rail))
        bar.setRight(here)
        painter.drawRoundedRect(bar, _BAR_HALF_PX, _BAR_HALF_PX)
        if self._unheard is not None:
            side, stretches_s = self._unheard
            painter.setBrush(QColor(theme.side(side)))
            for start_s, stop_s in stretches_s:
                box = QRectF(self._x(start_s), _BAR_Y + 7, self._x(stop_s) - self._x(start_s), 3)
                painter.drawRect(box)
        if self._loop_s is not None:
            painter.setPen(stroke(theme.soft_text, 1.5))
            for at_s, inward in ((self._loop_s[0], 5), (self._loop_s[1], -5)):
                x = self._x(at_s)
                top, bottom = QPointF(x, _BAR_Y - 10), QPointF(x, _BAR_Y + 10)
                inside = QPointF(inward, 0)
                painter.drawPolyline([top + inside, top, bottom, bottom + inside])
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.text))
        painter.drawRoundedRect(QRectF(here - 2.5, _BAR_Y - 11, 5, 22), 2.5, 2.5)

    def _draw_times(self, painter: QPainter, theme: Theme) -> None:
        metrics = QFontMetricsF(font("small"))
        painter.setFont(font("small"))
        row = QRectF(0, self.height() - metrics.height() - 1, self.width(), metrics.height())
        start, end, here = self._times()
        half = metrics.horizontalAdvance(here) / 2
        centre = min(max(self._x(self.position_s), half), self.width() - half)
        painter.setPen(QColor(theme.text))
        centred = Qt.AlignmentFlag.AlignCenter
        painter.drawText(QRectF(centre - 60, row.top(), 120, row.height()), centred, here)
        painter.setPen(QColor(theme.soft_text))
        row.adjust(_MARGIN_PX - 2, 0, 2 - _MARGIN_PX, 0)
        if centre - half > row.left() + metrics.horizontalAdvance(start) + 12:
            painter.drawText(row, Qt.AlignmentFlag.AlignLeft, start)
        if centre + half < row.right() - metrics.horizontalAdvance(end) - 12:
            painter.drawText(row, Qt.AlignmentFlag.AlignRight, end)

    def _times(self) -> tuple[str, str, str]:
        end = self._time_words(self._length_s)
        if self._loop_s is not None:
            end = f"{end}, looping"
        return self._time_words(0.0), end, self._time_words(self.position_s)

    def _time_words(self, at_s: float) -> str:
        return f"{at_s:.1f} s"

    def _x(self, at_s: float) -> float:
        share = at_s / self._length_s if self._length_s > 0 else 0.0
        return _MARGIN_PX + share * (self.width() - 2 * _MARGIN_PX)

    def _time_at(self, x_px: float) -> float:
        share = (x_px - _MARGIN_PX) / max(self.width() - 2 * _MARGIN_PX, 1.0)
        return min(max(share, 0.0), 1.0) * self._length_s

    def _say(self) -> None:
        """Tell screen readers the position once a second, not at every frame."""
        spoken = f"{int(self._position_s)} s of {self._length_s:.1f} s"
        if self._unheard is not None and self._unheard[1]:
            told = ", ".join(
                f"{start_s:.0f}-{stop_s:.0f} s" for start_s, stop_s in self._unheard[1]
            )
            spoken += f"; not heard of {self._unheard[0]}: {told}"
        if spoken != self._spoken:
            self._spoken = spoken
            self.setAccessibleDescription(spoken)
