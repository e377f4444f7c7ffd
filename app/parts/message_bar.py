"""The one bar in which the program says what happened and what to do."""

from typing import Literal

from PySide6.QtCore import QEvent, QMargins, QObject, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QWidget

from app.parts.fonts import font
from app.parts.icons import IconButton, draw_icon
from app.parts.layouts import Air, Stretched, in_column, in_row
from app.parts.theme import current_theme

MessageKind = Literal["note", "attention"]

#: A note that lies over a page's heading goes by itself, long after it was read (our judgement).
_NOTE_STAYS_MS = 8_000


class _Sign(QWidget):
    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._kind: MessageKind = "note"
        self.setFixedSize(28, 28)

    def show_kind(self, kind: MessageKind) -> None:
        self._kind = kind
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = theme.attention if self._kind == "attention" else theme.soft_text
        draw_icon(painter, self._kind, QRectF(self.rect()).center(), colour)
        painter.end()


class MessageBar(QFrame):
    """Says one thing at a time; hidden while there is nothing to say.

    In a layout it takes room of its own while it speaks; `hang_over` and `hang_in` let it lie over
    headings instead, so that nothing moves under the pointer.

    Signals
    -------
    action_asked()
        The offered step was chosen.
    dismissed()
        The message was sent away by its reader.
    """

    action_asked = Signal()
    dismissed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._places: tuple[QWidget, ...] = ()
        self._margins: QMargins | None = None
        self._over = QTimer(self, interval=_NOTE_STAYS_MS, singleShot=True)
        self._over.timeout.connect(self.clear)
        self._happened = self._line("strong")
        self._to_do = self._line("body")
        self._action = QPushButton(self)
        self._action.clicked.connect(self.action_asked)
        self._close = IconButton("close", "dismiss the message", self)
        self._close.clicked.connect(self._dismiss)
        # Together in the middle where the place is higher than they are.
        words = in_column(Air(share=1), self._happened, self._to_do, Air(share=1), gap_px=2)
        self._sign = _Sign(self)
        in_row(
            self._sign,
            Stretched(words),
            self._action,
            self._close,
            of=self,
            gap_px=16,
            margins_px=(16, 8, 8, 8),
        )
        self.hide()

    def hang_in(self, area: QWidget, margins: QMargins) -> None:
        """Lie over the top of an area, where its pages have their headings.

        A note that offers no step goes after a while: a heading is the finding of its page.
        """
        self.hang_over(area)
        self._margins = margins

    def hang_over(self, *places: QWidget) -> None:
        """Lie over these widgets, which hold nothing to click, instead of pushing others down."""
        self._places = places
        self.setParent(places[0].parentWidget())
        for place in places:
            place.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay where it hangs."""
        if event.type() in (QEvent.Type.Resize, QEvent.Type.Move) and self.isVisible():
            self._hang()
        return super().eventFilter(watched, event)

    def _hang(self) -> None:
        if not self._places:
            return
        box = self._places[0].geometry()
        for place in self._places[1:]:
            box = box.united(place.geometry())
        if self._margins is not None:
            box = box.marginsRemoved(self._margins)
            box.setHeight(0)
        # All of them, so that no half of a word looks out; more only for a longer message.
        high = max(self.heightForWidth(box.width()), box.height())
        self.setGeometry(box.left(), box.top(), box.width(), high)
        self.raise_()

    def tell(
        self,
        what_happened: str,
        what_to_do: str = "",
        kind: MessageKind = "note",
        action: str = "",
    ) -> None:
        """Show a message in place of the one before.

        Parameters
        ----------
        what_happened, what_to_do
            One plain sentence each.
        kind
            ``attention`` for what cannot wait; it is also spoken at once.
        action
            Words of the button that offers the next step, empty for none.
        """
        self._happened.setText(what_happened)
        self._to_do.setText(what_to_do)
        self._to_do.setVisible(bool(what_to_do))
        self._action.setText(action)
        self._action.setAccessibleName(action)
        self._action.setVisible(bool(action))
        self._sign.show_kind(kind)
        self.setProperty("look", kind)
        self.style().unpolish(self)
        self.style().polish(self)
        spoken = f"{what_happened} {what_to_do}".strip()
        self.setAccessibleName(spoken)
        self.show()
        self._hang()
        self._over.stop()
        if self._margins is not None and kind == "note" and not action:
            self._over.start()
        self._announce(spoken, kind)

    def take_keys(self) -> None:
        """Let Enter take the offered step."""
        self._action.setFocus(Qt.FocusReason.OtherFocusReason)

    def clear(self) -> None:
        """Take the message away because it no longer holds."""
        self.hide()

    def _announce(self, spoken: str, kind: MessageKind) -> None:
        event = QAccessibleAnnouncementEvent(self, spoken)
        if kind == "attention":
            event.setPoliteness(QAccessible.AnnouncementPoliteness.Assertive)
        QAccessible.updateAccessibility(event)

    def _dismiss(self) -> None:
        self.hide()
        self.dismissed.emit()

    def _line(self, role: Literal["strong", "body"]) -> QLabel:
        line = QLabel(self)
        line.setFont(font(role))
        line.setWordWrap(True)
        line.setTextFormat(Qt.TextFormat.PlainText)
        return line
