"""A score table from elsewhere matched to the sets, conditions and people of a study."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from ratings.errors import ScoreTableError
from ratings.storage import tables
from ratings.storage.listening_rows import condition_from
from ratings.storage.row_ids import add_row
from ratings.study.table_words import FoundWords, Words

if TYPE_CHECKING:
    import pandas as pd

_WHOLE = re.compile(r"\d{1,9}")


@dataclass(frozen=True, slots=True)
class BroughtRow:
    """One score of a table that is brought in, matched to the study's ids."""

    evaluator: str
    set_id: int
    condition_id: int
    attribute_id: int
    repeat: int
    value: float
    origin: str
    given_at: str | None
    after_opening: bool

    def as_columns(self, evaluators: dict[str, int]) -> dict[str, object]:
        """Return the row's columns in the database, given the evaluators' ids by code."""
        return {
            "evaluator_id": evaluators[self.evaluator],
            "set_id": self.set_id,
            "condition_id": self.condition_id,
            "attribute_id": self.attribute_id,
            "repeat": self.repeat,
            "value": self.value,
            "origin": self.origin,
            "given_at": self.given_at,
        }


@dataclass(frozen=True, slots=True)
class Names:
    """The words by which a table may call what is in the study."""

    sets: Words
    conditions: Words
    attributes: Words
    evaluators: dict[str, int]

    @classmethod
    def of(cls, connection: sa.Connection) -> Names:
        """Read the names of a study."""
        sets = connection.execute(sa.select(tables.tyre_set)).all()
        conditions = [condition_from(r) for r in connection.execute(sa.select(tables.condition))]
        attributes = connection.execute(sa.select(tables.attribute)).all()
        evaluators = connection.execute(sa.select(tables.evaluator)).all()
        return cls(
            # Only codes are told of the sets: the lead has not opened the key.
            sets=Words(
                "set",
                "code",
                {row.set_id: row.code for row in sets},
                {row.set_id: row.name for row in sets},
            ),
            conditions=Words("condition", "title", {c.condition_id: c.title for c in conditions}),
            attributes=Words(
                "attribute",
                "key",
                {row.attribute_id: row.key for row in attributes},
                {row.attribute_id: row.name for row in attributes},
            ),
            evaluators={row.code: row.evaluator_id for row in evaluators},
        )

    def with_new_evaluators(
        self, connection: sa.Connection, rows: list[BroughtRow]
    ) -> dict[str, int]:
        """Add the evaluators that the study does not know; return all ids by code."""
        known = dict(self.evaluators)
        for code in sorted({row.evaluator for row in rows} - known.keys()):
            known[code] = add_row(connection, tables.evaluator, code=code, name="")
        return known


def rows_to_bring(
    table: pd.DataFrame, known: pd.DataFrame, names: Names, file_name: str
) -> list[BroughtRow]:
    """Match every score of a table to the study; empty cells are passed over.

    Parameters
    ----------
    table
        As read by `read_score_table`; its index is the row that a spreadsheet shows.
    known
        The study's own score table, for cells that are there already.

    Raises
    ------
    ScoreTableError
        Naming file, row and column of the first word that the study does not know, or a score
        that it has already.
    """
    key = ["evaluator", "set", "condition", "attribute", "repeat", "origin"]
    taken = set(known[key].itertuples(index=False, name=None))
    rows = []
    found = _found(table, names)
    records: list[dict[Any, Any]] = table.to_dict("records")
    for number, cells in zip(table.index, records, strict=True):
        if cells["score"] != cells["score"]:  # not a number: an empty cell
            continue
        row = _matched(cells, found, f"{file_name}, row {number}")
        cell = (
            row.evaluator,
            names.sets.own[row.set_id],
            names.conditions.own[row.condition_id],
            names.attributes.own[row.attribute_id],
            row.repeat,
            row.origin,
        )
        if cell in taken:
            raise ScoreTableError(
                f"{file_name}, row {number}, column score: the study, or a row above, has "
                "this score already.",
                "Take the row out, or give it another repeat. Nothing was added.",
            )
        # The same cell may come back under another of its names.
        taken.add(cell)
        rows.append(row)
    if not rows:
        raise ScoreTableError(f"{file_name} holds no score.", "Nothing was added.")
    return rows


def calls_sets_by_name(table: pd.DataFrame, names: Names) -> bool:
    """Tell whether a table that is brought in calls a set by its name: codes tell nobody a name."""
    return "set" in table.columns and not names.sets.look_up(table["set"].unique()).is_own


def _found(table: pd.DataFrame, names: Names) -> dict[str, FoundWords]:
    """Look up what the table calls sets, conditions and attributes."""
    kinds = {"set": names.sets, "condition": names.conditions, "attribute": names.attributes}
    return {
        column: words.look_up(table[column].unique() if column in table.columns else [None])
        for column, words in kinds.items()
    }


def _matched(cells: dict[Any, Any], found: dict[str, FoundWords], where: str) -> BroughtRow:
    ids = {
        column: words.id_of(cells.get(column), f"{where}, column {column}")
        for column, words in found.items()
    }
    given_at = cells.get("given_at")
    return BroughtRow(
        evaluator=str(cells["evaluator"]),
        set_id=ids["set"],
        condition_id=ids["condition"],
        attribute_id=ids["attribute"],
        repeat=_repeat_of(cells.get("repeat"), f"{where}, column repeat"),
        value=float(str(cells["score"])),
        origin=str(cells.get("origin") or "driven"),
        given_at=str(given_at) if given_at else None,
        after_opening=bool(cells.get("after_opening", False)),
    )


def _repeat_of(cell: object, where: str) -> int:
    if cell is None:
        return 1
    text = str(cell)
    if not (_WHOLE.fullmatch(text) and int(text)):
        raise ScoreTableError(
            f'{where}: "{text}" does not number a repeat.',
            "Write 1 for the first score of a cell, 2 for the second. Nothing was added.",
        )
    return int(text)
