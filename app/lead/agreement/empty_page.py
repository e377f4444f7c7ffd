"""What stands in place of results while there are none: what the page is for, and a first step."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.parts.buttons import PrimaryButton
from app.parts.headings import QuestionPanel, SoftLine


class EmptyPanel(QWidget):
    """A panel with a few words and one step.

    Signals
    -------
    panel_asked()
        The lead wants to see the seats of the panel.
    """

    panel_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = SoftLine()
        self.step = PrimaryButton("See who takes part")
        self.step.clicked.connect(self.panel_asked)
        panel = QuestionPanel("What comes here?")
        panel.setMaximumWidth(720)
        panel.body.setSpacing(20)
        panel.body.addWidget(self._words)
        panel.body.addWidget(self.step, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 16, 0, 0)
        column.addWidget(panel)
        column.addStretch(1)

    def set_words(self, words: str) -> None:
        """Say what the page is for and what to do first."""
        self._words.setText(words)
