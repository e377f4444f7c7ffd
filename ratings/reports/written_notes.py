"""What evaluators wrote while they listened, for the screen and for the written page."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ratings.reports.document import Cell, Column, Paragraph, Section, Table

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """One note on one side of a pair.

    Attributes
    ----------
    set_code
        Blind code of the set that played on that side.
    condition
        Title of the condition.
    text
        As it was written: plain text, never markup.
    """

    evaluator: str
    set_code: str
    condition: str
    side: str
    text: str


def written_notes(table: "pd.DataFrame") -> tuple[WrittenNote, ...]:
    """Return the notes of a table with columns ``evaluator, set, condition, side, text``."""
    columns = ["evaluator", "set", "condition", "side", "text"]
    rows = table[columns].astype(str).itertuples(index=False, name=None)
    return tuple(WrittenNote(*row) for row in rows)


def notes_section(notes: Sequence[WrittenNote]) -> Section:
    """Return all notes as a section of a document."""
    headings = ("evaluator", "set", "side", "condition", "note")
    rows = tuple(
        tuple(map(Cell, (note.evaluator, note.set_code, note.side, note.condition, note.text)))
        for note in notes
    )
    answer = Table(tuple(map(Column, headings)), rows) if notes else Paragraph("No notes yet.")
    return Section("What did they write?", (answer,))
