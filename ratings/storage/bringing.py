"""A score table from elsewhere matched to the sets, conditions and people of a study."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from ratings.errors import ScoreTableError
from ratings.storage import tables
from ratings.storage.listening_rows import condition_from

if TYPE_CHECKING:
    import pandas as pd


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
    """The words by which a table may call what is in the study, in lower case, with their ids."""

    sets: dict[str, int]
    conditions: dict[str, int]
    attributes: dict[str, int]
    evaluators: dict[str, int]
    set_codes: dict[int, str]
    titles: dict[int, str]
    attribute_keys: dict[int, str]

    @classmethod
    def of(cls, connection: sa.Connection) -> Names:
        """Read the names of a study."""
        sets = connection.execute(sa.select(tables.tyre_set)).all()
        conditions = [condition_from(r) for r in connection.execute(sa.select(tables.condition))]
        attributes = connection.execute(sa.select(tables.attribute)).all()
        evaluators = connection.execute(sa.select(tables.evaluator)).all()
        by_name = {_word(row.name): row.set_id for row in sets}
        return cls(
            # A code is what the study itself writes, so it goes before a name that looks like one.
            sets=by_name | {_word(row.code): row.set_id for row in sets},
            conditions={_word(c.title): c.condition_id for c in conditions},
            attributes={_word(a.name): a.attribute_id for a in attributes}
            | {_word(a.key): a.attribute_id for a in attributes},
            evaluators={row.code: row.evaluator_id for row in evaluators},
            set_codes={row.set_id: row.code for row in sets},
            titles={c.condition_id: c.title for c in conditions},
            attribute_keys={a.attribute_id: a.key for a in attributes},
        )

    def with_new_evaluators(
        self, connection: sa.Connection, rows: list[BroughtRow]
    ) -> dict[str, int]:
        """Add the evaluators that the study does not know; return all ids by code."""
        known = dict(self.evaluators)
        next_id = max(known.values(), default=0) + 1
        for code in sorted({row.evaluator for row in rows} - known.keys()):
            connection.execute(
                tables.evaluator.insert().values(evaluator_id=next_id, code=code, name="")
            )
            known[code] = next_id
            next_id += 1
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
    records: list[dict[Any, Any]] = table.to_dict("records")
    for number, cells in zip(table.index, records, strict=True):
        if cells["score"] != cells["score"]:  # not a number: an empty cell
            continue
        row = _matched(cells, names, f"{file_name}, row {number}")
        cell = (
            row.evaluator,
            names.set_codes[row.set_id],
            names.titles[row.condition_id],
            names.attribute_keys[row.attribute_id],
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


def _matched(cells: dict[Any, Any], names: Names, where: str) -> BroughtRow:
    condition = cells.get("condition")
    if condition is None and len(names.conditions) == 1:
        condition = next(iter(names.conditions))
    given_at = cells.get("given_at")
    return BroughtRow(
        evaluator=str(cells["evaluator"]),
        # Only codes are told of the sets: the lead has not opened the key.
        set_id=_id_of(cells["set"], names.sets, names.set_codes, f"{where}, column set"),
        condition_id=_id_of(
            condition, names.conditions, names.titles, f"{where}, column condition"
        ),
        attribute_id=_id_of(
            cells["attribute"],
            names.attributes,
            names.attribute_keys,
            f"{where}, column attribute",
        ),
        repeat=int(str(cells.get("repeat") or 1)),
        value=float(str(cells["score"])),
        origin=str(cells.get("origin") or "driven"),
        given_at=str(given_at) if given_at else None,
    )


def _id_of(word: object, ids: dict[str, int], told: dict[int, str], where: str) -> int:
    found = ids.get(_word(word))
    if found is None:
        raise ScoreTableError(
            f"{where}: {'nothing' if word is None else word} is not in the study.",
            f"Write one of: {'; '.join(sorted(told.values()))}. Nothing was added.",
        )
    return found


def _word(word: object) -> str:
    return " ".join(str(word).split()).lower()
