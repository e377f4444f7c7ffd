"""What evaluators wrote, of the condition looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from app.lead.agreement.presenter import AgreementPresenter
from app.parts.fonts import FontRole
from app.parts.headings import PlainLine, QuestionPanel, SoftLine, plain_label

if TYPE_CHECKING:
    from ratings.reports.written_notes import WrittenNote

_LONGEST_WORD = 24


class NotesPanel(QuestionPanel):
    """One row for each note: who, which set on which side, where, and the words."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("")
        self.set_question("What did they write?")
        self._presenter = presenter
        self._shown: tuple[WrittenNote, ...] | None = None
        self._empty = SoftLine("No notes yet.")
        self._rows: QWidget | None = None
        self.body.addWidget(self._empty)

    def show_results(self) -> None:
        """Show the notes of the presenter's condition."""
        notes = self._presenter.notes
        if notes == self._shown:
            return
        self._shown = notes
        if self._rows is not None:
            self.body.removeWidget(self._rows)
            self._rows.hide()
            self._rows.deleteLater()
        self._rows = _rows_of(notes) if notes else None
        if self._rows is not None:
            self.body.addWidget(self._rows)
        self._empty.setVisible(not notes)


def _rows_of(notes: tuple[WrittenNote, ...]) -> QWidget:
    rows = QWidget()
    grid = QGridLayout(rows)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(20)
    grid.setVerticalSpacing(8)
    grid.setColumnStretch(4, 1)
    for row, note in enumerate(notes):
        cells = (note.evaluator, note.set_code, f"side {note.side}", note.condition)
        for column, words in enumerate(cells):
            role: FontRole = "strong" if column == 0 else "body"
            cell = plain_label(words, role, "soft" if column >= 2 else "")
            grid.addWidget(cell, row, column, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(PlainLine(breakable(note.text)), row, 4)
    return rows


def breakable(text: str) -> str:
    """Let a word longer than a column be broken, at zero-width spaces."""
    return " ".join(
        "\u200b".join(word[at : at + _LONGEST_WORD] for at in range(0, len(word), _LONGEST_WORD))
        for word in text.split(" ")
    )
