"""What evaluators wrote while they listened, for the screen and for the written page."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

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


def notes_section(notes: Sequence[WrittenNote]) -> str:
    """Return all notes as a section of an HTML page."""
    rows = "".join(
        f'<tr><th scope="row">{escape(note.evaluator)}</th><td>{escape(note.set_code)}</td>'
        f"<td>{escape(note.side)}</td><td>{escape(note.condition)}</td>"
        f'<td class="text">{escape(note.text)}</td></tr>'
        for note in notes
    )
    head = "".join(
        f'<th scope="col">{words}</th>'
        for words in ("evaluator", "set", "side", "condition", "note")
    )
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    answer = f'<div class="wide">{table}</div>' if notes else "<p>No notes yet.</p>"
    return f'<section class="notes"><h2>What did they write?</h2>{answer}</section>'
