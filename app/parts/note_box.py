"""A small editor for the note on one side."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPlainTextEdit, QVBoxLayout, QWidget

from app.parts.fonts import font
from app.parts.icons import IconButton
from app.parts.tokens import Side


class NoteBox(QFrame):
    """An inline editor that keeps what was written when it is closed, by whatever way.

    Signals
    -------
    note_written(str, str)
        The side and its new text, only when the text changed.
    closed()
        The box was put away.
    """

    note_written = Signal(str, str)
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side: Side = "A"
        self._text_before = ""
        self.setProperty("look", "panel")
        self._heading = QLabel(self)
        self._heading.setFont(font("strong"))
        self._close_button = IconButton("close", self.tr("keep the note and close"), self)
        self._close_button.clicked.connect(self.put_away)
        self._editor = QPlainTextEdit(self)
        self._editor.setAccessibleName(self.tr("note"))
        self._editor.setTabChangesFocus(True)
        self._editor.setPlaceholderText(self.tr("What you hear, in your own words"))
        self._editor.setFixedHeight(96)
        hint = QLabel(self.tr("Esc keeps the note and closes."), self)
        hint.setProperty("look", "soft")
        hint.setFont(font("small"))
        top = QHBoxLayout()
        top.addWidget(self._heading, 1)
        top.addWidget(self._close_button)
        inside = QVBoxLayout(self)
        inside.setContentsMargins(20, 8, 12, 12)
        inside.setSpacing(6)
        inside.addLayout(top)
        inside.addWidget(self._editor)
        inside.addWidget(hint)
        self.hide()

    def open(self, side: Side, text: str = "") -> None:
        """Edit the note of a side, keeping first what was written on another."""
        if not self.isHidden():
            self._keep()
        self._side, self._text_before = side, text
        self._heading.setText(self.tr("Note on side {0}").format(side))
        self._editor.setAccessibleName(self._heading.text())
        self._editor.setPlainText(text)
        self._editor.moveCursor(self._editor.textCursor().MoveOperation.End)
        self.show()
        self.raise_()
        self._editor.setFocus(Qt.FocusReason.PopupFocusReason)

    def put_away(self) -> None:
        """Keep what was written and close."""
        if self.isHidden():
            return
        self._keep()
        focused = self.focusWidget()
        if focused is not None:
            # Hiding what has the focus would send it on as Tab does.
            focused.clearFocus()
        self.hide()
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Esc and on Ctrl+Enter; keep all other keys from the screen behind."""
        with_control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        is_enter = event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}
        if event.key() == Qt.Key.Key_Escape or (is_enter and with_control):
            self.put_away()
        event.accept()

    def _keep(self) -> None:
        text = self._editor.toPlainText().strip()
        if text != self._text_before:
            self._text_before = text
            self.note_written.emit(self._side, text)
