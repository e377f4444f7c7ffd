"""A line at the foot of the window that says why an entry is not saved yet."""

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QLabel, QWidget

_MARGIN = 16


class WaitingNote(QLabel):
    """Lies over the foot of a window while it waits, so that nothing moves under the pointer."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.setProperty("look", "note")
        self.setText("Another program is using the study. Saving when it is free ...")
        self.setMargin(_MARGIN // 2)
        self._window = window
        window.installEventFilter(self)
        self.hide()

    def show_waiting(self, is_waiting: bool) -> None:
        """Say it, or be gone."""
        self.setVisible(is_waiting)
        if is_waiting:
            self._place()
            self.raise_()
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, self.text()))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay at the foot when the window changes its size."""
        if event.type() == QEvent.Type.Resize:
            self._place()
        return super().eventFilter(watched, event)

    def _place(self) -> None:
        self.adjustSize()
        self.move(_MARGIN, self._window.height() - self.height() - _MARGIN)
