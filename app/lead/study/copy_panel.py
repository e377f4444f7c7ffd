"""The panel in which the lead saves a copy of the study."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget

from app.lead.study.copy_saving import CopySaving
from app.parts.buttons import OnceButton
from app.parts.file_asking import ask_folder
from app.parts.headings import QuestionPanel, SoftLine

_FINE_STEPS = 1000

AskFolder = Callable[[QWidget, Path], Path | None]


def ask_place(parent: QWidget, start: Path) -> Path | None:
    """Let the lead choose where the copy goes; None when they changed their mind."""
    return ask_folder(parent, "Save the copy in this folder", start)


class CopyPanel(QuestionPanel):
    """One button, what it does, and how far it is."""

    def __init__(
        self, saving: CopySaving, ask: AskFolder = ask_place, parent: QWidget | None = None
    ) -> None:
        super().__init__("", parent)
        self.set_question("Is there a copy in another place?")
        self._saving = saving
        self._ask = ask
        self.words = SoftLine()
        self.bar = QProgressBar()
        self.bar.setRange(0, _FINE_STEPS)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(8)
        self.bar.setAccessibleName("part of the copy that is done")
        self.save = QPushButton("Save a copy")
        self.save.clicked.connect(self._on_save)
        self.cancel = OnceButton("Cancel")
        self.cancel.clicked.connect(saving.cancel)
        row = QHBoxLayout()
        row.addWidget(self.save)
        row.addWidget(self.cancel)
        row.addStretch(1)
        self.body.addWidget(self.words)
        self.body.addWidget(self.bar)
        self.body.addLayout(row)
        saving.changed.connect(self.show_state)
        self.show_state()

    def show_state(self) -> None:
        """Show the presenter's state."""
        is_busy = self._saving.is_busy
        self.words.setText(self._saving.words)
        self.bar.setValue(round(self._saving.part * _FINE_STEPS))
        self.bar.setVisible(is_busy)
        self.save.setEnabled(not is_busy)
        self.cancel.setVisible(is_busy)

    def _on_save(self) -> None:
        folder = self._ask(self, self._saving.place)
        if folder is not None:
            self._saving.save_in(folder, datetime.now().astimezone().date())
