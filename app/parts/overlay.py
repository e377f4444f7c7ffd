"""What is laid over a screen and takes its keys until it is put away."""

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from app.parts.theme import current_theme


def is_covered(part: QWidget) -> bool:
    """Tell whether an overlay lies over a part of a screen, and has its keys."""
    overlays = part.window().findChildren(Overlay)
    return any(
        overlay.isVisible() and overlay.screen_behind.isAncestorOf(part) for overlay in overlays
    )


class Overlay(QWidget):
    """Covers its parent; while it is open no key and no press reaches what is behind.

    Tab stays inside, a focus that something behind takes is brought back, shortcuts of the window
    rest. Esc or a press beside the contents puts it away and nothing else; the keys are then back
    where they were.

    Parameters
    ----------
    veil
        How much of the screen behind is covered, 0 (nothing) to 255 (all).

    Signals
    -------
    closed()
        The overlay was put away and the keys are back where they were.
    """

    closed = Signal()

    def __init__(self, parent: QWidget, veil: int = 0) -> None:
        super().__init__(parent)
        self.screen_behind = parent
        self._veil = veil
        self._focus_before: QWidget | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        parent.installEventFilter(self)
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._keep_focus)
        self.hide()

    def open(self) -> None:
        """Lay it over its parent and take the keys."""
        if self.isHidden():
            self._focus_before = self.window().focusWidget()
        self._cover()
        self.show()
        self.raise_()
        self._first_inside().setFocus(Qt.FocusReason.PopupFocusReason)

    def put_away(self) -> None:
        """Close it and give the keys back."""
        if self.isHidden():
            return
        before, self._focus_before = self._focus_before, None
        focused = self.focusWidget()
        if focused is not None:
            # Hiding what has the focus would send it on as Tab does.
            focused.clearFocus()
        self.hide()
        if before is not None and isValid(before):
            before.setFocus(Qt.FocusReason.PopupFocusReason)
        self.closed.emit()

    def event(self, event: QEvent) -> bool:
        """Let no shortcut of the window take a key."""
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the parent."""
        if event.type() == QEvent.Type.Resize and watched is self.screen_behind:
            self._cover()
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Esc; no other key reaches the screen behind."""
        if event.key() == Qt.Key.Key_Escape and not event.isAutoRepeat():
            self.put_away()
        event.accept()

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go round inside."""
        stops = self._stops()
        if stops:
            here = self.focusWidget()
            place = stops.index(here) if here in stops else -1 if forward else 0
            following = stops[(place + (1 if forward else -1)) % len(stops)]
            following.setFocus(
                Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
            )
        return True

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Close on a press beside the contents."""
        event.accept()
        self.put_away()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the veil over the screen behind."""
        if not self._veil:
            return
        veil = QColor(current_theme().ground)
        veil.setAlpha(self._veil)
        painter = QPainter(self)
        painter.fillRect(self.rect(), veil)
        painter.end()

    def _cover(self) -> None:
        self.setGeometry(self.screen_behind.rect())

    def _stops(self) -> list[QWidget]:
        """Return what takes the keys inside, in the order in which Tab reaches it."""
        stops: list[QWidget] = []
        stop = self.nextInFocusChain()
        while stop is not None and stop is not self:
            takes_tab = stop.focusPolicy() & Qt.FocusPolicy.TabFocus
            if self.isAncestorOf(stop) and takes_tab and stop.isVisible() and stop.isEnabled():
                stops.append(stop)
            stop = stop.nextInFocusChain()
        return stops

    def _first_inside(self) -> QWidget:
        return next(iter(self._stops()), self)

    def _keep_focus(self, old: QWidget | None, new: QWidget | None) -> None:
        if not self.isVisible() or new is None or new is self or new.window() is not self.window():
            return
        if not self.isAncestorOf(new):
            inside = old if old is not None and self.isAncestorOf(old) else self._first_inside()
            inside.setFocus(Qt.FocusReason.PopupFocusReason)
