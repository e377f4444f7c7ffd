"""What stands in place of runs while there are none: what the page is for, and a first step."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.parts.buttons import PrimaryButton
from app.parts.headings import QuestionPanel, SoftLine


class NoRunsPanel(QWidget):
    """A panel with a few words and one step.

    Signals
    -------
    bring_asked()
        The lead wants to bring runs in.
    """

    bring_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.step = PrimaryButton(self.tr("Import runs"))
        self.step.clicked.connect(self.bring_asked)
        panel = QuestionPanel(self.tr("What comes here?"))
        panel.setMaximumWidth(720)
        panel.body.setSpacing(20)
        panel.body.addWidget(
            SoftLine(
                self.tr(
                    "The recorded runs of every set: what quality control says of them, their "
                    "levels, spectra and maps, and how far each set is from the control. Three "
                    "runs of each set show how far runs scatter. First step: import the files, "
                    "or drop them here."
                )
            )
        )
        panel.body.addWidget(self.step, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 16, 0, 0)
        column.addWidget(panel)
        column.addStretch(1)
