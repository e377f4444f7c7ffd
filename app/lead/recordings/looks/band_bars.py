"""Differences to the control, band by band: a mark, its interval, and the number."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.lead.recordings.looks.set_keys import draw_mark
from app.parts.fonts import font
from app.parts.picture import LegendKey
from app.parts.theme import current_theme
from ratings.findings.measured_axes import Axis, difference_step
from ratings.reports.set_marks import SetMark

_ROW_PX, _GAP_PX = 27.0, 9.0
_LEAST_WORDS_PX, _MOST_WORDS_SHARE = 214.0, 0.45
_CODE_PX = 64.0
#: Below this width a band's name stands above its rows.
_NARROW_PX = 820


@dataclass(frozen=True, slots=True)
class BarRow:
    """One set in one band.

    Attributes
    ----------
    band
        Empty on all rows of a band but the first.
    difference, low, high
        In dB; None when missing.
    words
        The number with its interval, or why there is none.
    is_clear
        Whether the difference can be claimed.
    """

    band: str
    mark: SetMark
    difference: float | None
    low: float | None
    high: float | None
    words: str
    is_clear: bool


def _draw_dot(painter: QPainter, middle: QPointF, colour: str, *, is_clear: bool) -> None:
    painter.setPen(QPen(QColor(colour), 2.5))
    painter.setBrush(QColor(colour if is_clear else current_theme().panel))
    painter.drawEllipse(middle, 5.5, 5.5)


def bar_keys(control: str) -> tuple[LegendKey, ...]:
    """Return what the zero line, a filled and an open dot mean."""
    theme = current_theme()

    def zero(painter: QPainter, middle: QPointF) -> None:
        painter.setPen(QPen(QColor(theme.rail), 2))
        painter.drawLine(middle - QPointF(0, 9), middle + QPointF(0, 9))

    def dot(words: str, *, is_clear: bool) -> LegendKey:
        def draw(painter: QPainter, middle: QPointF) -> None:
            painter.setPen(QPen(QColor(theme.text), 3, c=Qt.PenCapStyle.FlatCap))
            painter.drawLine(middle - QPointF(16, 0), middle + QPointF(16, 0))
            _draw_dot(painter, middle, theme.text, is_clear=is_clear)

        return LegendKey(words, draw)

    return (
        LegendKey(f"{control}, control", zero, 8.0),
        dot("clear, 95 % interval", is_clear=True),
        dot("not clear", is_clear=False),
    )


class BandBars(QWidget):
    """Rows of bands; the zero line in the middle is the control."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[BarRow, ...] = ()
        self._axis = Axis(-4.0, 4.0)
        self._control = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("differences to the control by band")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def show_rows(self, rows: Sequence[BarRow], axis: Axis, control: str) -> None:
        """Show these rows on this axis."""
        self._rows, self._axis, self._control = tuple(rows), axis, control
        self.setAccessibleDescription("; ".join(self.in_words()))
        self.updateGeometry()
        self.update()

    def axis_words(self) -> str:
        """Say what lies on either side of zero, in what."""
        return "← quieter      dB, bands and cavity line unweighted      louder →"

    def in_words(self) -> list[str]:
        """Return the rows one by one."""
        band, words = "", []
        for row in self._rows:
            band = row.band or band
            words.append(f"{band}, {row.mark.code}: {row.words}")
        return words

    def room_for_words(self) -> float:
        """Return how many pixels the number of a row has, or why there is none."""
        return self._words_px() - 16

    def sizeHint(self) -> QSize:
        """Room for every row."""
        bands = sum(bool(row.band) for row in self._rows)
        band_px = _GAP_PX + (_ROW_PX if self._is_narrow() else 0.0)
        height = self._top() + len(self._rows) * _ROW_PX + bands * band_px + 8
        return QSize(640, round(height))

    def minimumSizeHint(self) -> QSize:
        """Room for every row: the panel scrolls."""
        return QSize(560, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw axis and rows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(current_theme().panel))
        self._draw_axis(painter)
        y = self._top()
        for row in self._rows:
            if row.band:
                y = self._draw_band(painter, row, y)
            self._draw_row(painter, row, QRectF(0, y, self.width(), _ROW_PX))
            y += _ROW_PX
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for the height of the other form."""
        super().resizeEvent(event)
        self.updateGeometry()

    def _is_narrow(self) -> bool:
        return self.width() < _NARROW_PX

    def _names_px(self) -> float:
        if self._is_narrow():
            return 12.0
        metrics = QFontMetricsF(font("strong"))
        widest = max((metrics.horizontalAdvance(row.band) for row in self._rows), default=0.0)
        return min(widest + 20, self.width() * 0.3)

    def _words_px(self) -> float:
        """Room for the numbers, and for why there are none."""
        metrics = QFontMetricsF(font("strong"))
        widest = max((metrics.horizontalAdvance(row.words) for row in self._rows), default=0.0)
        return max(_LEAST_WORDS_PX, min(widest + 24, self.width() * _MOST_WORDS_SHARE))

    def _top(self) -> float:
        return QFontMetricsF(font("small")).height() * 2 + 12

    def _x(self, value: float) -> float:
        left, right = self._names_px() + _CODE_PX + 12, self.width() - self._words_px()
        span = self._axis.high - self._axis.low
        held = min(max(value, self._axis.low), self._axis.high)
        return left + (right - left) * (held - self._axis.low) / span

    def _draw_axis(self, painter: QPainter) -> None:
        theme, metrics = current_theme(), QFontMetricsF(font("small"))
        painter.setFont(font("small"))
        step = difference_step(self._axis)
        count = int(self._axis.high // step)
        for place in range(-count, count + 1):
            value, x = place * step, self._x(place * step)
            pen = QPen(QColor(theme.rail if value == 0 else theme.line), 2 if value == 0 else 1)
            painter.setPen(pen)
            painter.drawLine(QPointF(x, self._top() - 2), QPointF(x, self.height()))
            painter.setPen(QColor(theme.soft_text))
            text = f"{value:+g}".replace("-", "−") if value else self._control
            box = QRectF(x - 40, metrics.height() + 4, 80, metrics.height())
            painter.drawText(box, Qt.AlignmentFlag.AlignHCenter, text)
        middle = self._x(0.0)
        words = QRectF(middle - 220, 0, 440, metrics.height())
        painter.drawText(words, Qt.AlignmentFlag.AlignHCenter, self.axis_words())

    def _draw_band(self, painter: QPainter, row: BarRow, y: float) -> float:
        theme = current_theme()
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.drawLine(QPointF(0, y + _GAP_PX / 2), QPointF(self.width(), y + _GAP_PX / 2))
        y += _GAP_PX
        metrics = QFontMetricsF(font("strong"))
        width = self.width() if self._is_narrow() else self._names_px() - 10
        painter.setFont(font("strong"))
        painter.setPen(QColor(theme.text))
        name = metrics.elidedText(row.band, Qt.TextElideMode.ElideRight, width)
        painter.drawText(QPointF(0, y + (_ROW_PX + metrics.ascent()) / 2 - 2), name)
        return y + _ROW_PX if self._is_narrow() else y

    def _draw_cut(self, painter: QPainter, end: QPointF, inwards: float) -> None:
        """Draw an arrow where an interval goes on beyond the axis."""
        for side in (-5.0, 5.0):
            painter.drawLine(end, end + QPointF(inwards, side))

    def _draw_row(self, painter: QPainter, row: BarRow, box: QRectF) -> None:
        theme, middle = current_theme(), box.center().y()
        left = self._names_px()
        centred = Qt.AlignmentFlag.AlignVCenter
        painter.setFont(font("body"))
        painter.setPen(QColor(theme.text))
        draw_mark(painter, row.mark, QPointF(left + 6, middle), 10.0)
        painter.drawText(box.adjusted(left + 18, 0, 0, 0), centred, row.mark.code)
        if row.low is not None and row.high is not None:
            painter.setPen(QPen(QColor(row.mark.colour), 3, c=Qt.PenCapStyle.FlatCap))
            painter.drawLine(QPointF(self._x(row.low), middle), QPointF(self._x(row.high), middle))
            for end, inwards in ((row.low, 6.0), (row.high, -6.0)):
                if not self._axis.low <= end <= self._axis.high:
                    self._draw_cut(painter, QPointF(self._x(end), middle), inwards)
        if row.difference is not None:
            at = QPointF(self._x(row.difference), middle)
            _draw_dot(painter, at, row.mark.colour, is_clear=row.is_clear)
        room_px = self.room_for_words()
        words = QRectF(self.width() - room_px, box.top(), room_px, box.height())
        chosen = font("strong" if row.is_clear else "body")
        painter.setFont(chosen)
        painter.setPen(QColor(theme.text if row.difference is not None else theme.soft_text))
        text = QFontMetricsF(chosen).elidedText(
            row.words, Qt.TextElideMode.ElideRight, words.width()
        )
        painter.drawText(words, centred, text)
