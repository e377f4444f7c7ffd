"""A chain of hashes over what is only ever added to: an answer that was changed is noticed.

Every row gets an entry with the SHA-256 of the entry before it and of its own content. Each file
of a study has a chain of its own. There is no secret in it: it shows what a slip, another program
or a disk has changed, not what somebody rewrote together with the whole chain behind it.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.cells import BadCellError
from ratings.study.progress import Progress, quiet

_ROWS_AT_ONCE = 2_000
_NOTHING_BEFORE = ""

#: Tables of each file whose rows are chained, in the order of one transaction, with the columns
#: that count. A column that comes later gets an entry of its own kind: these stay as they are.
_MAIN = {
    "attribute": "attribute_id position key name definition low_hz high_hz manoeuvre",
    "condition": "condition_id position surface manoeuvre speed_km_h end_speed_km_h",
    "evaluator": "evaluator_id code name",
    "clip": "clip_id condition_id code content_hash sample_rate_hz frames pa_per_full_scale",
    "session": "session_id ordinal design_version created_at",
    "pair": "pair_id session_id position condition_id clip_a clip_b",
    "pair_event": "pair_event_id pair_id kind happened_at",
    "score": "score_id pair_id side attribute_id value said_equal given_at",
    "note": "note_id pair_id side text given_at",
    "exposure": "exposure_id evaluator_id clip_id began_at seconds level_db_a",
}
_LEAD = {
    "tyre_set": "set_id position name size note is_control code",
    "recording": "recording_id set_id condition_id stored_name content_hash run",
    "clip_source": "clip_id recording_id left_channel right_channel start_s stop_s gain_db "
    "equaliser",
    "comparison": "comparison_id condition_id set_id role clip_id control_clip_id",
    "pair_role": "pair_id role",
    "brought_score": "brought_score_id evaluator_id set_id condition_id attribute_id repeat value "
    "origin given_at file_hash",
    "setting": "setting_id name value score_count set_at",
    "key_opening": "key_opening_id who why last_score_id last_brought_score_id opened_at",
    "score_import": "score_import_id file_hash sets_by_name imported_at",
    "brought_mark": "brought_mark_id brought_score_id",
}
CHAINED = {"main": _MAIN, tables.LEAD_SCHEMA: _LEAD}

_WORDS = {
    "attribute": "Attribute",
    "condition": "Condition",
    "evaluator": "Evaluator",
    "clip": "Clip",
    "tyre_set": "Set",
    "session": "Session",
    "pair": "Pair",
    "pair_event": "Event of a pair",
    "score": "Score",
    "note": "Note",
    "exposure": "Listening time",
    "recording": "Recording",
    "clip_source": "Origin of clip",
    "comparison": "Comparison",
    "pair_role": "Role of pair",
    "brought_score": "Imported score",
    "setting": "Setting",
    "key_opening": "Opening of the key",
    "score_import": "Import of scores",
    "brought_mark": "Mark of an imported score",
}


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A row that is not what was written.

    Attributes
    ----------
    table, row_id
        Which row.
    number
        Its place among the chained rows of its table, from 1; None for a row without an entry.
    what
        ``changed``, ``missing``, or ``added`` past the chain.
    """

    table: str
    row_id: int
    number: int | None
    what: str

    @property
    def words(self) -> str:
        """The row and what became of it."""
        was = {"changed": "was changed", "missing": "was taken out", "added": "was put in"}
        which = "" if self.number is None else f" {self.number}"
        return f"{_WORDS[self.table]}{which} {was[self.what]}"


_Row = tuple[int, str]
#: Blobs are refused where cells are read.
_content = json.JSONEncoder(default=repr).encode


#: The highest id of each table, by file and table.
LastRows = dict[tuple[str, str], int]


def last_rows(connection: sa.Connection) -> LastRows:
    """Return the highest id of every chained table; the first act of each writing transaction."""
    found: LastRows = {}
    for file in _files(connection):
        kept = connection.exec_driver_sql(
            f"SELECT name FROM {file}.sqlite_master WHERE type = 'table'"
        )
        # In a study that is being brought up to date some are still to come.
        names = sorted(CHAINED[file].keys() & set(kept.scalars()), key=list(CHAINED[file]).index)
        highest = ", ".join(
            f"(SELECT MAX({CHAINED[file][table].split()[0]}) FROM {file}.{table})"
            for table in names
        )
        row = connection.exec_driver_sql(f"SELECT {highest}").one()
        found |= {(file, table): id_ or 0 for table, id_ in zip(names, row, strict=True)}
    return found


def chain_new_rows(connection: sa.Connection, before: LastRows) -> None:
    """Add an entry for every row that came in a transaction; its last act.

    Parameters
    ----------
    before
        As `last_rows` gave it at its start: what another program has put in gets no entry, ever.
    """
    grown = [key for key, last in last_rows(connection).items() if last > before.get(key, 0)]
    for file in dict.fromkeys(file for file, _ in grown):
        number, digest = connection.exec_driver_sql(
            f"SELECT number, digest FROM {file}.ledger ORDER BY number DESC LIMIT 1"
        ).first() or (0, _NOTHING_BEFORE)
        entries = []
        for table in (table for grown_file, table in grown if grown_file == file):
            for row_id, content in _rows(connection, file, table, before.get((file, table), 0)):
                number, digest = number + 1, _digest(digest, table, content)
                entries.append((number, table, row_id, digest))
        connection.exec_driver_sql(
            f"INSERT INTO {file}.ledger (number, table_name, row_id, digest) VALUES (?, ?, ?, ?)",
            entries,
        )


def mismatches(
    connection: sa.Connection, progress: Progress = quiet, most: int = 100
) -> tuple[Mismatch, ...]:
    """Compare every row with its entry; return the first `most` that differ.

    Raises
    ------
    Cancelled
        When `progress` asked for it.
    """
    found: list[Mismatch] = []
    for file in _files(connection):
        for each in _differing(connection, file, progress):
            found.append(each)
            if len(found) == most:
                return tuple(found)
    return tuple(found)


def refuse_changed_rows(connection: sa.Connection, name: str, progress: Progress = quiet) -> None:
    """Refuse a study in which an answer is not what was given.

    Raises
    ------
    StudyError
        Saying which, and what is safe.
    Cancelled
        When `progress` asked for it.
    """
    most = 100
    found = mismatches(connection, progress, most)
    if not found:
        return
    others = len(found) - 1
    more = "" if not others else f" (and {others}{' or more' if len(found) == most else ''} others)"
    raise StudyError(
        f"The study {name} is not what was written: {found[0].words}{more}, by another program or "
        "a damaged disk.",
        "All other answers match. Do not report from it: open the last copy of the folder, and "
        "keep this one to compare.",
    )


def _differing(connection: sa.Connection, file: str, progress: Progress) -> Iterator[Mismatch]:
    rows = {table: _rows(connection, file, table, 0) for table in CHAINED[file]}
    total = connection.exec_driver_sql(f"SELECT COUNT(*) FROM {file}.ledger").scalar_one() or 1
    entries = connection.exec_driver_sql(
        f"SELECT table_name, row_id, digest FROM {file}.ledger ORDER BY number"
    )
    before, waiting = _NOTHING_BEFORE, {table: next(rows[table], None) for table in rows}
    numbers: Counter[str] = Counter()
    for count, (table, row_id, digest) in enumerate(entries):
        if count % _ROWS_AT_ONCE == 0:
            progress(count / total, "Comparing answers with their chain")
        numbers[table] += 1
        if not isinstance(row_id, int):
            raise BadCellError("ledger.row_id holds what is no number.")
        row = waiting.get(table)
        while row is not None and row[0] < row_id:
            yield Mismatch(table, row[0], None, "added")
            row = next(rows[table], None)
        if row is None or row[0] != row_id:
            yield Mismatch(table if table in rows else "score", row_id, numbers[table], "missing")
        else:
            if _digest(before, table, row[1]) != digest:
                yield Mismatch(table, row_id, numbers[table], "changed")
            row = next(rows[table], None)
        waiting[table] = row
        # As it is kept, so that what follows one that differs is still compared.
        before = digest
    for table, row in waiting.items():
        if row is not None:
            yield Mismatch(table, row[0], None, "added")


def _digest(before: str, table: str, content: str) -> str:
    return hashlib.sha256(f"{before}\n{table}\n{content}".encode()).hexdigest()


def _rows(connection: sa.Connection, file: str, table: str, after: int) -> Iterator[_Row]:
    """Give the rows of a table behind an id, by id, each with its content in one form."""
    columns = CHAINED[file][table].split()
    found = connection.exec_driver_sql(
        f"SELECT {', '.join(columns)} FROM {file}.{table} WHERE {columns[0]} > ? "
        f"ORDER BY {columns[0]}",
        (after,),
    )
    for row in found:
        yield row[0], _content(tuple(row))


def _files(connection: sa.Connection) -> tuple[str, ...]:
    attached = {row[1] for row in connection.exec_driver_sql("PRAGMA database_list")}
    return tuple(file for file in CHAINED if file in attached)
