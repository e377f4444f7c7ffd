"""What stands in place of runs or plots while there are none: what comes here, and a first step."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from app.parts.buttons import PrimaryButton
from app.parts.headings import QuestionPanel, SoftLine
from app.parts.layouts import Air, in_column


class EmptyPanel(QWidget):
    """A panel with a few words and at most one step.

    Signals
    -------
    asked()
        The lead wants to take the step.
    """

    asked = Signal()

    def __init__(self, words: str = "", step: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = SoftLine()
        self.step = PrimaryButton("")
        self.step.clicked.connect(self.asked)
        panel = QuestionPanel("What comes here?")
        panel.setMaximumWidth(720)
        panel.body.setSpacing(20)
        panel.body.addWidget(self._words)
        panel.body.addWidget(self.step, 0, Qt.AlignmentFlag.AlignLeft)
        in_column(panel, Air(share=1), of=self, margins_px=(0, 16, 0, 0))
        self.show_words(words, step)

    def show_words(self, words: str, step: str) -> None:
        """Say what comes here, and what the step is; empty for none."""
        self._words.setText(words)
        self.step.setText(step)
        self.step.setVisible(bool(step))
