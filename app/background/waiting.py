"""A window that lives on while another program holds the study."""

import time

from PySide6.QtCore import QEvent, QEventLoop, QObject, QThread, QTimer, Signal
from shiboken6 import isValid

from ratings.storage.patience import let_pass_by

#: A shorter wait is not worth a word.
TOLD_AFTER_MS = 100
_MS = 1000


class Waiting(QObject):
    """Lets the window paint, play and count while its thread waits for a study to be free.

    What is typed or clicked meanwhile is kept in order and comes after the entry that waits, so
    that nothing is given to another pair than the one in sight. Only one wait in a row is told.

    Signals
    -------
    changed(bool)
        Whether the window has been waiting for longer than a moment.
    """

    changed = Signal(bool)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._tell = QTimer(self, interval=TOLD_AFTER_MS, singleShot=True)
        self._tell.timeout.connect(self._set_waiting)
        self._over = QTimer(self, interval=TOLD_AFTER_MS, singleShot=True)
        self._over.timeout.connect(self._set_over)
        self.is_waiting = False
        let_pass_by(self.let_pass)

    def let_pass(self, seconds: float) -> None:
        """Let time pass between two tries; on another thread than the window's, asleep."""
        if not isValid(self) or QThread.currentThread() is not self.thread():
            time.sleep(seconds)
            return
        self._over.stop()
        if not self.is_waiting and not self._tell.isActive():
            self._tell.start()
        loop = QEventLoop()
        QTimer.singleShot(round(seconds * _MS), loop.quit)
        application = self.parent()
        if application is not None:
            application.installEventFilter(self)
        try:
            loop.exec(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
        finally:
            if application is not None:
                application.removeEventFilter(self)
        self._over.start()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep the window open until what is being written is on the disk or refused."""
        if event.type() == QEvent.Type.Close:
            event.ignore()
            return True
        return super().eventFilter(watched, event)

    def _set_waiting(self) -> None:
        self.is_waiting = True
        self.changed.emit(True)

    def _set_over(self) -> None:
        self._tell.stop()
        if self.is_waiting:
            self.is_waiting = False
            self.changed.emit(False)
