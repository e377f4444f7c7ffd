"""A small editor for the note on one side."""

from PySide6.QtCore import QRect, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QPlainTextEdit, QWidget

from app.parts.fonts import font
from app.parts.icons import IconButton
from app.parts.layouts import Stretched, in_column, in_row
from app.parts.overlay import Overlay
from ratings.study.listening import Side

#: A pause in typing, and the longest time for which nothing is kept (our judgement): what was
#: written 0.3 s ago outlives a kill.
_PAUSE_MS = 300
_LATEST_MS = 5000


class NoteBox(Overlay):
    """An inline editor that keeps what was written at every pause in typing, and when it is closed.

    Signals
    -------
    note_written(str, str)
        The side and its new text, only when the text changed. Who keeps it says with `take_answer`
        whether it could be kept; until then nothing else is written, and the box stays open.
    closed()
        The box was put away.
    """

    note_written = Signal(str, str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._side: Side = "A"
        self._text_kept = ""
        #: What is being kept; None while nothing is.
        self._text_sent: str | None = None
        self._is_closing = False
        self._pause = QTimer(self, singleShot=True, interval=_PAUSE_MS)
        self._latest = QTimer(self, singleShot=True, interval=_LATEST_MS)
        self._pause.timeout.connect(self._keep)
        self._latest.timeout.connect(self._keep)
        self._panel = QFrame(self)
        self._panel.setProperty("look", "panel")
        self._heading = QLabel(self)
        self._heading.setFont(font("strong"))
        self._close_button = IconButton("close", "keep the note and close", self)
        self._close_button.clicked.connect(self.put_away)
        self._editor = QPlainTextEdit(self)
        self._editor.setAccessibleName("note")
        self._editor.setTabChangesFocus(True)
        self._editor.setPlaceholderText("What you hear, in your own words")
        self._editor.setFixedHeight(96)
        self._editor.textChanged.connect(self._on_typed)
        hint = QLabel("Kept while you type. Esc or a click beside it closes.", self)
        hint.setProperty("look", "soft")
        hint.setFont(font("small"))
        in_column(
            in_row(Stretched(self._heading), self._close_button),
            self._editor,
            hint,
            of=self._panel,
            gap_px=6,
            margins_px=(20, 8, 12, 12),
        )
        QWidget.setTabOrder(self._editor, self._close_button)

    def write(self, side: Side, text: str = "", below: QRect | None = None) -> None:
        """Edit the note of a side, keeping first what was written on another.

        Parameters
        ----------
        below
            What the editor stands below, in the parent's pixels; None for its top.
        """
        if not self.isHidden():
            self._keep()
            if self._text_kept != self._editor.toPlainText().strip():
                return
        self._is_closing = False
        self._side, self._text_kept = side, text
        self._heading.setText(f"Note on side {side}")
        self._editor.setAccessibleName(self._heading.text())
        self._editor.setPlainText(text)
        self._editor.moveCursor(self._editor.textCursor().MoveOperation.End)
        self._pause.stop()
        self._latest.stop()
        place = QRect(0, 0, 480, 0) if below is None else below
        high = self._panel.sizeHint().height()
        self._panel.setGeometry(place.left(), place.bottom() + 8, place.width(), high)
        self.open()
        self._editor.setFocus(Qt.FocusReason.PopupFocusReason)

    def put_away(self) -> None:
        """Keep what was written and close; stay open until it is kept."""
        if not self.isHidden():
            self._is_closing = True
            self._keep()

    def take_answer(self, is_kept: bool) -> None:  # the answer to a question
        """Take it whether the note that was written last could be kept."""
        text, self._text_sent = self._text_sent, None
        if not is_kept or text is None:
            self._is_closing = False
            return
        self._text_kept = text
        # More may have been typed meanwhile.
        if self._is_closing or not self._latest.isActive():
            self._keep()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Ctrl+Enter as on Esc."""
        with_control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and with_control:
            self.put_away()
        super().keyPressEvent(event)

    def _on_typed(self) -> None:
        self._pause.start()
        if not self._latest.isActive():
            self._latest.start()

    def _keep(self) -> None:
        """Have the text kept if it changed, one text after another; close when it is to be."""
        self._pause.stop()
        self._latest.stop()
        if self._text_sent is not None:
            return
        text = self._editor.toPlainText().strip()
        if text != self._text_kept:
            self._text_sent = text
            self.note_written.emit(self._side, text)
        elif self._is_closing:
            self._is_closing = False
            super().put_away()
