"""The rail of stations down the left side, in the order of the job."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QSizePolicy, QVBoxLayout, QWidget

from app.parts.fonts import font
from app.parts.icons import TOUCH_PX
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme
from app.station import State, Station

_MARK_X = 30.0
_MARK_HALF = 7.0
_TEXT_X = 50.0
_INSET = 12.0


class StationButton(QAbstractButton):
    """One station: its mark on the line, its name, and what is missing."""

    def __init__(self, station: Station, place: int, count: int, parent: QWidget) -> None:
        super().__init__(parent)
        self._is_first, self._is_last = place == 0, place == count - 1
        self._state = State()
        self.setText(station.name)
        self.setAccessibleName(station.name)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        # Lower in a low window, never higher.
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)

    def show_state(self, state: State) -> None:
        """Say how things stand at the station."""
        self._state = state
        done = "done" if state.is_done else "not done yet"
        self.setAccessibleDescription(f"{state.words}, {done}")
        self.update()

    def sizeHint(self) -> QSize:
        """Two lines of text with air around them."""
        return QSize(200, round(max(60.0, self._lines_px() + 26)))

    def minimumSizeHint(self) -> QSize:
        """Two lines of text, and a touch target."""
        return QSize(200, round(max(float(TOUCH_PX), self._lines_px() + 8)))

    def _lines_px(self) -> float:
        return QFontMetricsF(font("name")).height() + QFontMetricsF(font("small")).height()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw line, mark and words."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(_INSET, 3, -_INSET, -3)
        if self.isChecked() or self.underMouse():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.side_a_tint if self.isChecked() else theme.ground))
            painter.drawRoundedRect(box, 8, 8)
        self._draw_mark(painter)
        self._draw_words(painter)
        if self.hasFocus():
            draw_focus_ring(painter, box, 7, theme.text)
        painter.end()

    def _draw_mark(self, painter: QPainter) -> None:
        theme, middle = current_theme(), self.height() / 2
        painter.setPen(QPen(QColor(theme.line), 2))
        if not self._is_first:
            painter.drawLine(QPointF(_MARK_X, 0), QPointF(_MARK_X, middle - _MARK_HALF - 3))
        if not self._is_last:
            painter.drawLine(
                QPointF(_MARK_X, middle + _MARK_HALF + 3), QPointF(_MARK_X, self.height())
            )
        is_done = self._state.is_done
        ring = theme.done if is_done else theme.accent if self.isChecked() else theme.rail
        painter.setPen(QPen(QColor(ring), 2.5))
        painter.setBrush(QColor(theme.done) if is_done else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QPointF(_MARK_X, middle), _MARK_HALF, _MARK_HALF)

    def _draw_words(self, painter: QPainter) -> None:
        theme = current_theme()
        title = font("strong" if self.isChecked() else "body")
        upper, lower = QFontMetricsF(title), QFontMetricsF(font("small"))
        width = self.width() - _TEXT_X - _INSET - 4
        top = (self.height() - upper.height() - lower.height()) / 2
        elide = Qt.TextElideMode.ElideRight
        painter.setFont(title)
        painter.setPen(QColor(theme.text))
        painter.drawText(
            QPointF(_TEXT_X, top + upper.ascent()),
            upper.elidedText(self.text(), elide, width),
        )
        painter.setFont(font("small"))
        painter.setPen(QColor(theme.soft_text))
        painter.drawText(
            QPointF(_TEXT_X, top + upper.height() + lower.ascent()),
            lower.elidedText(self._state.words, elide, width),
        )


class StationRail(QWidget):
    """Shows stations and how things stand at each, and tells which one was chosen.

    Signals
    -------
    station_chosen(Station)
    """

    station_chosen = Signal(object)  # Station

    def __init__(self, stations: Sequence[Station], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("stations")
        self._stations = {station.key: station for station in stations}
        self._buttons: dict[str, StationButton] = {}
        group = QButtonGroup(self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for place, station in enumerate(stations):
            button = StationButton(station, place, len(stations), self)
            button.clicked.connect(lambda _checked=False, key=station.key: self.choose(key))
            group.addButton(button)
            column.addWidget(button)
            self._buttons[station.key] = button

    def refresh(self) -> None:
        """Ask each station how things stand there."""
        for key, button in self._buttons.items():
            button.show_state(self._stations[key].state())

    def choose(self, key: str) -> None:
        """Go to a station."""
        self._buttons[key].setChecked(True)
        self.station_chosen.emit(self._stations[key])
