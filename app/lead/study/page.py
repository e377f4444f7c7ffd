"""The study page: what is in the study, on blind codes, and saving a copy of it."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QPushButton, QVBoxLayout, QWidget

from app.lead.study.copy_saving import CopySaving
from app.lead.study.presenter import StudyPresenter
from app.parts.buttons import OnceButton
from app.parts.file_asking import ask_folder
from app.parts.headings import FindingHeading, PlainLine, QuestionPanel, SoftLine, plain_label
from app.parts.layouts import PAGE_MARGINS, Air, Stretched, in_column, in_row
from app.parts.sheet import SheetScroll
from app.parts.thin_bar import ThinBar

AskFolder = Callable[[QWidget, Path], Path | None]


class StudyPage(QWidget):
    """Shows vehicle, conditions, codes, attributes, and how the clips were made."""

    def __init__(self, presenter: StudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        columns = in_row(
            Stretched(self._build_left(), 9), Stretched(self._build_right(), 11), gap_px=16
        )
        lines = [presenter.standing_line(), presenter.note()]
        column = in_column(
            FindingHeading(presenter.heading()),
            *(SoftLine(line) for line in lines if line),
            of=self,
            gap_px=8,
            margins_px=PAGE_MARGINS,
        )
        if presenter.is_invented:
            column.addWidget(_invented_notice())
        column.addSpacing(8)
        column.addWidget(SheetScroll(columns), 1)

    def _build_left(self) -> QVBoxLayout:
        presenter = self._presenter
        heard = QuestionPanel("What is heard?")
        heard.body.addWidget(SoftLine("Sets, under their blind codes"))
        codes = plain_label("   ".join(presenter.codes), "name")
        codes.setAccessibleName(f"blind codes {', '.join(presenter.codes)}")
        heard.body.addWidget(codes)
        heard.body.addWidget(PlainLine(presenter.control_words()))
        heard.body.addSpacing(8)
        heard.body.addWidget(SoftLine("Conditions"))
        for title in presenter.conditions():
            heard.body.addWidget(PlainLine(title))
        heard.body.addStretch(1)
        made = _lines_panel("How were the clips made?", presenter.clip_lines())
        made.body.addStretch(1)
        return in_column(heard, made, CopyPanel(presenter.saving), Air(share=1), gap_px=16)

    def _build_right(self) -> QVBoxLayout:
        session = _lines_panel("What is a session?", self._presenter.session_lines())
        return in_column(self._attributes_panel(), session, Air(share=1), gap_px=16)

    def _attributes_panel(self) -> QWidget:
        panel = QuestionPanel("What is rated?")
        panel.body.addWidget(SoftLine(self._presenter.scale_words()))
        grid = QGridLayout()
        grid.setHorizontalSpacing(20)
        grid.setVerticalSpacing(10)
        grid.setColumnStretch(1, 1)
        for row, (name, card) in enumerate(self._presenter.attributes()):
            grid.addWidget(plain_label(name, "strong"), row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(PlainLine(card), row, 1)
        panel.body.addLayout(grid)
        panel.body.addStretch(1)
        return panel


def _lines_panel(question: str, lines: list[str]) -> QuestionPanel:
    panel = QuestionPanel(question)
    for line in lines:
        panel.body.addWidget(PlainLine(line))
    return panel


def _invented_notice() -> QWidget:
    frame = QFrame()
    frame.setProperty("look", "attention")
    words = PlainLine("Invented data: vehicle, sets, evaluators and scores do not exist.")
    in_row(words, of=frame, margins_px=(16, 8, 16, 8))
    return frame


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
        self.bar = ThinBar("part of the copy that is done")
        self.save = QPushButton("Save a copy")
        self.save.clicked.connect(self._on_save)
        self.cancel = OnceButton("Cancel")
        self.cancel.clicked.connect(saving.cancel)
        self.body.addWidget(self.words)
        self.body.addWidget(self.bar)
        self.body.addLayout(in_row(self.save, self.cancel, Air(share=1)))
        saving.changed.connect(self.show_state)
        self.show_state()

    def show_state(self) -> None:
        """Show the presenter's state."""
        is_busy = self._saving.is_busy
        self.words.setText(self._saving.words)
        self.bar.show_part(self._saving.part)
        self.bar.setVisible(is_busy)
        self.save.setEnabled(not is_busy)
        self.cancel.setVisible(is_busy)

    def _on_save(self) -> None:
        folder = self._ask(self, self._saving.place)
        if folder is not None:
            self._saving.save_in(folder, datetime.now().astimezone().date())
