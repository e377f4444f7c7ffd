"""The card that shows the keys of a screen."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QVBoxLayout, QWidget
from shiboken6 import isValid

from app.parts.fonts import font
from app.parts.theme import current_theme

_VEIL = 215  # of 255: the screen behind stays in sight


class KeysCard(QWidget):
    """A card over its parent, opened by ``?``; Esc, ``?`` or a click closes it.

    Signals
    -------
    closed()
        The card was closed and the keys are back where they were.
    """

    closed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._focus_before: QWidget | None = None
        self._card = QFrame(self)
        self._card.setProperty("look", "panel")
        self._rows = QGridLayout()
        self._rows.setHorizontalSpacing(20)
        self._rows.setVerticalSpacing(8)
        heading = QLabel(self.tr("Keys of this screen"))
        heading.setFont(font("heading"))
        footing = QLabel(self.tr("Esc, ? or a click closes this card."))
        footing.setProperty("look", "soft")
        inside = QVBoxLayout(self._card)
        inside.setContentsMargins(32, 24, 32, 24)
        inside.setSpacing(20)
        inside.addWidget(heading)
        inside.addLayout(self._rows)
        inside.addWidget(footing)
        outer = QVBoxLayout(self)
        outer.addWidget(self._card, 0, Qt.AlignmentFlag.AlignCenter)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(heading.text())
        parent.installEventFilter(self)
        self.hide()

    def set_keys(self, keys: Sequence[tuple[str, str]]) -> None:
        """Show these keys, each with what it does."""
        while (item := self._rows.takeAt(0)) is not None:
            label = item.widget()
            if label is not None:
                label.deleteLater()
        for row, (key, what) in enumerate(keys):
            cap = QLabel(key)
            cap.setProperty("look", "key")
            cap.setAlignment(Qt.AlignmentFlag.AlignCenter)
            cap.setFont(font("strong"))
            self._rows.addWidget(cap, row, 0)
            self._rows.addWidget(QLabel(what), row, 1)
        self.setAccessibleDescription(". ".join(f"{key}: {what}" for key, what in keys))

    def open(self) -> None:
        """Lay the card over its parent and take the keys."""
        self._focus_before = self.window().focusWidget()
        self._cover()
        self.show()
        self.raise_()
        self.setFocus(Qt.FocusReason.PopupFocusReason)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the parent."""
        if event.type() == QEvent.Type.Resize and watched is self.parentWidget():
            self._cover()
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Esc and ``?``; no other key reaches the screen behind."""
        if event.key() == Qt.Key.Key_Escape or event.text() == "?":
            self._put_away()
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Close on a click anywhere."""
        event.accept()
        self._put_away()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw a veil over the screen behind."""
        veil = QColor(current_theme().ground)
        veil.setAlpha(_VEIL)
        painter = QPainter(self)
        painter.fillRect(self.rect(), veil)
        painter.end()

    def _cover(self) -> None:
        screen = self.parentWidget()
        if screen is not None:
            self.setGeometry(screen.rect())

    def _put_away(self) -> None:
        self.hide()
        if self._focus_before is not None and isValid(self._focus_before):
            self._focus_before.setFocus(Qt.FocusReason.PopupFocusReason)
        self.closed.emit()
