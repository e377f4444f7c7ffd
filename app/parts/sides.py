"""The two big sides: which one sounds, how much of each was heard, and a note for each."""

import math
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.parts.buttons import QuietButton
from app.parts.fonts import FontRole, font
from app.parts.icons import draw_icon
from app.parts.shapes import draw_coverage_ring, draw_focus_ring, draw_side_shape
from app.parts.theme import current_theme
from ratings.reports.colours import Theme
from ratings.study.listening import Side

SideState = Literal["sounding", "paused", "waiting"]

_RING_HALF_PX = 31.0
_LOW_RING_HALF_PX = 20.0
_MARGIN_PX = 32.0


def longer_words(side: Side, seconds: float) -> str:
    """Say how much longer a side must be heard."""
    return f"listen to {side} {math.ceil(seconds)} s longer"


class SidePanel(QAbstractButton):
    """A side of the pair as one big target.

    Signals
    -------
    clicked()
        The side was chosen, by mouse or key.
    note_asked()
        The note button was pressed.
    """

    note_asked = Signal()

    def __init__(self, side: Side, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side: Side = side
        self._state: SideState = "waiting"
        self._heard_s = 0.0
        self._length_s = 0.0
        self._times_heard = 0
        self._missing_s: float | None = None
        self._is_low = self._is_rising = False
        self._note_button = QuietButton("", self)
        self._note_button.clicked.connect(self.note_asked)
        # A click must not take the keys away from the ladder that is being scored.
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"side {side}")
        self.set_note_count(0)
        self._say()

    def set_low(self, is_low: bool) -> None:
        """Be low, for a low screen."""
        self._is_low = is_low
        self.updateGeometry()
        self._place_note_button()

    def set_state(self, state: SideState) -> None:
        """Show whether this side sounds, is the chosen one of a paused pair, or waits."""
        self._state = state
        self._say()

    def set_heard(
        self,
        heard_s: float,
        length_s: float,
        times_heard: int,
        missing_s: float | None = None,
    ) -> None:
        """Show how much was heard.

        Parameters
        ----------
        heard_s, length_s
            Seconds of the clip heard at least once, and its length.
        times_heard
            How often it was heard in full.
        missing_s
            Seconds for which it must still be heard, 0 when it was heard enough; None where nothing
            is asked.
        """
        before = self.heard_words(), self._heard_s
        self._heard_s, self._length_s, self._times_heard = heard_s, length_s, times_heard
        self._missing_s = missing_s
        if (self.heard_words(), heard_s) != before:
            self._say()

    def set_rising(self, is_rising: bool) -> None:
        """Say that the side sounds, but not yet at its level, and is not counted as heard."""
        if is_rising != self._is_rising:
            self._is_rising = is_rising
            self._say()

    def set_note_count(self, count: int) -> None:
        """Show how many notes this side has."""
        text = "note" if count == 0 else f"note ({count})"
        self._note_button.setText(text)
        self._note_button.setAccessibleName(f"note on side {self._side}")
        self._note_button.setAccessibleDescription(text)
        self._place_note_button()

    def state_words(self) -> str:
        """Say whether the side sounds."""
        if self._state == "sounding":
            return "playing"
        return "paused here" if self._state == "paused" else "silent"

    def heard_words(self) -> str:
        """Say how much longer to listen to the side, or how much of it was heard."""
        if self._is_rising and self._missing_s and self._state == "sounding":
            return "rising; counts from full level on"
        if self._missing_s and self._heard_s <= 0:
            return f"listen to {self._side} for {math.ceil(self._missing_s)} s"
        if self._missing_s:
            return longer_words(self._side, self._missing_s)
        if self._times_heard == 1:
            return "heard once"
        if self._times_heard == 2:  # English has a word for two
            return "heard twice"
        if self._times_heard:
            return f"heard {self._times_heard} times"
        if self._heard_s <= 0:
            return "not heard yet" if self._missing_s is None else "heard before"
        return f"heard {int(self._heard_s)} s of {round(self._length_s)} s"

    def sizeHint(self) -> QSize:
        """Height of ring and words with air around them; on a low screen, with little."""
        return QSize(400, 60 if self._is_low else 104)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the note button in its corner."""
        super().resizeEvent(event)
        self._place_note_button()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw panel, ring, shape, letter and words."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw_surface(painter, theme)
        half = _LOW_RING_HALF_PX if self._is_low else _RING_HALF_PX
        middle = QPointF((_MARGIN_PX / 2 if self._is_low else _MARGIN_PX) + half, self.height() / 2)
        fraction = self._heard_s / self._length_s if self._length_s > 0 else 0.0
        ring_colours = (theme.side(self._side), theme.line)
        whole = 1.0 if self._times_heard else fraction
        draw_coverage_ring(painter, middle, half, whole, ring_colours)
        draw_side_shape(painter, self._side, middle, half * 0.42, theme)
        self._draw_words(painter, theme, middle.x() + half + (12 if self._is_low else 24))
        painter.end()

    def _draw_surface(self, painter: QPainter, theme: Theme) -> None:
        box = QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5)
        chosen = self._state != "waiting"
        hovered = self.underMouse()
        edge = theme.side(self._side) if chosen else theme.tick if hovered else theme.line
        painter.setPen(QPen(QColor(edge), 3.0 if chosen else 1.0))
        sounding = self._state == "sounding"
        painter.setBrush(QColor(theme.side_tint(self._side) if sounding else theme.panel))
        painter.drawRoundedRect(box, 12, 12)
        if self.hasFocus():
            draw_focus_ring(painter, box.adjusted(4, 4, -4, -4), 8, theme.text)

    def _draw_words(self, painter: QPainter, theme: Theme, left: float) -> None:
        letter_metrics = QFontMetricsF(font("letter"))
        letter_width = letter_metrics.horizontalAdvance("B") + 18
        height = self.height()
        aligned = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.setFont(font("letter"))
        painter.setPen(QColor(theme.text))
        painter.drawText(QRectF(left, 0, letter_width, height), aligned, self._side)
        line = QFontMetricsF(font("body")).height() + 4
        top = height / 2 - line
        left += letter_width
        words = QRectF(left, top, max(self.width() - left - 16, 0), line)
        sounding = self._state == "sounding"
        role: FontRole = "strong" if sounding else "body"
        painter.setFont(font(role))
        painter.setPen(QColor(theme.text if sounding else theme.soft_text))
        painter.drawText(words, aligned, self.state_words())
        if sounding:
            right = left + QFontMetricsF(font(role)).horizontalAdvance(self.state_words())
            spot = QPointF(right + 18, words.center().y() + 1)
            draw_icon(painter, "sound", spot, theme.side(self._side), 0.8)
        painter.setFont(font("body"))
        painter.setPen(QColor(theme.soft_text))
        painter.drawText(words.translated(0, line), aligned, self.heard_words())

    def _place_note_button(self) -> None:
        size = self._note_button.sizeHint()
        corner = self.rect().bottomRight()
        low = (self.height() - size.height()) // 2
        x = corner.x() - size.width() - 14
        y = low if self._is_low else corner.y() - size.height() - 4
        self._note_button.setGeometry(x, y, size.width(), size.height())

    def _say(self) -> None:
        self.setAccessibleDescription(f"{self.state_words()}, {self.heard_words()}")
        self.update()
