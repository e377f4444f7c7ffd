"""The question before the key is opened: who, why, and what it means."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QFrame, QPushButton, QWidget

from app.parts.buttons import PrimaryButton
from app.parts.fields import text_field
from app.parts.headings import PageHeading, PlainLine, SoftLine, plain_label
from app.parts.layouts import Air, in_column, in_row
from app.parts.overlay import Overlay
from ratings.errors import RatingsError

_WIDTH_PX = 600


class _Panel(QFrame):
    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setProperty("look", "panel")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the press: only one beside the question puts it away."""
        event.accept()


class KeyQuestion(Overlay):
    """Asks who opens the key and why.

    Signals
    -------
    key_asked(str, str)
        Who opens it, and why.
    """

    key_asked = Signal(str, str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, veil=200)
        self._unfinished = PlainLine(parent=self)
        self._unfinished.setProperty("look", "attention")
        self._refusal = PlainLine(parent=self)
        self._refusal.setProperty("look", "refusal")
        self.who = text_field("who opens the key", "name")
        self.why = text_field("why", "all sessions are finished")
        self.open_button = PrimaryButton("Open the key for good")
        self.open_button.clicked.connect(self._ask)
        self.stay = QPushButton("Keep it closed")
        self.stay.clicked.connect(self.put_away)
        self.why.returnPressed.connect(self._ask)
        self.who.returnPressed.connect(self.why.setFocus)
        panel = _Panel(self)
        panel.setFixedWidth(_WIDTH_PX)
        in_column(
            PageHeading("Open the key?"),
            self._unfinished,
            SoftLine(
                "The names of the sets appear in place of the codes, here and in the report. The "
                "opening is logged for good with name, reason and time, and printed in the report. "
                "Scores given after it are marked as not blind. It cannot be taken back."
            ),
            plain_label("Who opens it"),
            self.who,
            plain_label("Why"),
            self.why,
            self._refusal,
            in_row(self.open_button, Air(share=1), self.stay, gap_px=12),
            of=panel,
            gap_px=10,
            margins_px=(28, 24, 28, 24),
        )
        in_column(
            Air(share=1),
            in_row(Air(share=1), panel, Air(share=1)),
            Air(share=2),
            of=self,
            margins_px=(16, 16, 16, 16),
        )

    def ask(self, unfinished: str) -> None:
        """Ask; say first which sessions have not finished."""
        self._unfinished.setText(unfinished)
        self._unfinished.setVisible(bool(unfinished))
        self._refusal.hide()
        self.open()
        self.who.setFocus(Qt.FocusReason.PopupFocusReason)

    def tell(self, problem: RatingsError) -> None:
        """Say why the key stays closed."""
        self._refusal.setText(f"{problem.what_happened} {problem.what_to_do}")
        self._refusal.show()

    def _ask(self) -> None:
        self.key_asked.emit(self.who.text(), self.why.text())
