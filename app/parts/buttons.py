"""Buttons: the one that leads on, the ordinary one, and the quiet word in a pill."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetrics,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractButton, QPushButton, QSizePolicy, QWidget

from app.parts.fonts import font
from app.parts.icons import TOUCH_PX
from app.parts.plain import plain_tooltip
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme

_PILL_PX = 20
_FILE_PX, _LEAST_FILE_PX = 400, 140


class OnceButton(QPushButton):
    """An ordinary button on which a double click counts once.

    For steps, and for what comes into the place of a step, such as its "Stop": the second press
    would be taken for something that nobody has read.
    """

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Take the second press of a double click for a part of the first."""
        event.accept()


class PrimaryButton(OnceButton):
    """The one button of a screen that leads on."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setProperty("look", "primary")
        self.setCursor(Qt.CursorShape.PointingHandCursor)


class FileButton(QPushButton):
    """A button that names a file; its middle is left out where it is too long."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._whole = ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def show_words(self, words: str) -> None:
        """Show what the file is for and how it is called, and tell all of it when asked."""
        self._whole = words
        self.setToolTip(plain_tooltip(words))
        self.setAccessibleName(words)
        self._fit()
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Width of the whole name, up to a line's."""
        whole = self._air_px() + self.fontMetrics().horizontalAdvance(self._whole)
        return QSize(min(whole, _FILE_PX), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """Leave a few letters of both ends."""
        return QSize(min(self.sizeHint().width(), _LEAST_FILE_PX), super().sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much of the name as the new width holds."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        middle, room = Qt.TextElideMode.ElideMiddle, self.width() - self._air_px()
        self.setText(self.fontMetrics().elidedText(self._whole, middle, room))

    def _air_px(self) -> int:
        return super().sizeHint().width() - self.fontMetrics().horizontalAdvance(self.text())


class QuietButton(QAbstractButton):
    """A word in a thin pill inside a full touch target, for what is needed now and then."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(text)
        self.setAccessibleName(text)
        self.setFont(font("small"))
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._is_low = False

    def set_low(self, is_low: bool) -> None:
        """Draw the pill at the bottom of the touch target, below a line of text."""
        self._is_low = is_low
        self.update()

    def sizeHint(self) -> QSize:
        """Width of the word in its pill, height of a touch target."""
        return QSize(QFontMetrics(self.font()).horizontalAdvance(self.text()) + 28, TOUCH_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the pill inside the touch target."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        high = max(_PILL_PX, QFontMetrics(self.font()).height() + 6)
        top = self.height() - high - 2 if self._is_low else (self.height() - high) / 2
        pill = QRectF(0, top, self.width(), high).adjusted(1, 0, -1, 0)
        raised = self.isEnabled() and (self.underMouse() or self.isDown())
        painter.setPen(QPen(QColor(theme.rail if raised else theme.tick), 1))
        painter.setBrush(QColor(theme.button) if self.isDown() else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(pill, high / 2, high / 2)
        painter.setPen(QColor(theme.text if raised else theme.soft_text))
        painter.drawText(pill, Qt.AlignmentFlag.AlignCenter, self.text())
        if self.hasFocus():
            draw_focus_ring(painter, pill, high / 2 - 1, theme.text)
        painter.end()
