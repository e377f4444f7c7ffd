"""Whether a study's file is whole: what SQLite finds, and what the tables of today ask for."""

import functools

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage.database import damaged
from ratings.storage.migrations import migrate
from ratings.storage.tables import LEAD_SCHEMA

#: Table and column of the lead's file, and the table and key of the other that it names: SQLite
#: knows no references between files.
_BETWEEN_FILES = (
    ("recording", "condition_id", "condition", "condition_id"),
    ("clip_source", "clip_id", "clip", "clip_id"),
    ("comparison", "condition_id", "condition", "condition_id"),
    ("pair_role", "pair_id", "pair", "pair_id"),
    ("brought_score", "evaluator_id", "evaluator", "evaluator_id"),
    ("brought_score", "condition_id", "condition", "condition_id"),
    ("brought_score", "attribute_id", "attribute", "attribute_id"),
    ("measuring", "band_version", "band_table", "version"),
)


#: Some 400,000 scores, which take about a second; above it the quick check has to do.
_FULLY_CHECKED_BYTES = 2**26


def refuse_broken_pages(connection: sa.Connection, name: str) -> None:
    """Refuse a file whose pages do not fit together, such as one copied while it was written.

    Raises
    ------
    StudyError
        Saying that it is damaged.
    """
    pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
    page_bytes = connection.exec_driver_sql("PRAGMA page_size").scalar_one()
    # The quick check does not compare indexes with their tables: rows would be missed by queries.
    check = "integrity_check" if pages * page_bytes <= _FULLY_CHECKED_BYTES else "quick_check"
    found = connection.exec_driver_sql(f"PRAGMA {check}(1)").scalar()
    if found != "ok":
        raise damaged(name, "Its parts do not fit together, as after copying it while it was used.")


def refuse_unlike_tables(connection: sa.Connection, name: str, *, with_lead: bool = False) -> None:
    """Refuse a file of today whose tables, columns or triggers are not those of today.

    Rows that point at rows that are not there are refused too.

    Parameters
    ----------
    with_lead
        Look at the lead's file as well, which is attached then.
    """
    for file in ("main", LEAD_SCHEMA) if with_lead else ("main",):
        _refuse_foreign_acts(connection, name, file)
        missing = _outline_of_today(file)[0] - _outline(connection, file)
        if missing:
            raise damaged(name, f"It lacks {_words(min(missing))}.")
        try:
            broken = connection.exec_driver_sql(f"PRAGMA {file}.foreign_key_check").first()
        except sa.exc.OperationalError as problem:
            raise damaged(name, "Its tables do not belong to each other.") from problem
        if broken is not None:
            raise _widowed(name, broken[0], broken[2])
    for table, column, other, key in _BETWEEN_FILES if with_lead else ():
        query = (
            f"SELECT 1 FROM lead.{table} WHERE {column} NOT IN (SELECT {key} FROM main.{other}) "
            "LIMIT 1"
        )
        if connection.exec_driver_sql(query).first() is not None:
            raise _widowed(name, table, other)


def _widowed(name: str, table: str, other: str) -> StudyError:
    return damaged(name, f"A row of {table} belongs to a row of {other} that is gone.")


def _refuse_foreign_acts(connection: sa.Connection, name: str, file: str) -> None:
    """Refuse triggers and views that are not those of today: they act when a score is written."""
    foreign = _acts(connection, file) - _outline_of_today(file)[1]
    if foreign:
        raise damaged(name, f"It holds {_words(min(foreign)[:2])}, which is not this program's.")


@functools.cache
def _outline_of_today(
    file: str,
) -> tuple[frozenset[tuple[str, str]], frozenset[tuple[str, str, str]]]:
    engine = sa.create_engine("sqlite://")
    try:
        with engine.connect() as connection:
            connection.exec_driver_sql(f"ATTACH DATABASE ':memory:' AS {LEAD_SCHEMA}")
            connection.rollback()
            migrate(connection)
            return _outline(connection, file), _acts(connection, file)
    finally:
        engine.dispose()


def _outline(connection: sa.Connection, file: str) -> frozenset[tuple[str, str]]:
    """Give the kinds and names of what the schema of a file holds, columns among them."""
    things = connection.exec_driver_sql(f"SELECT type, name FROM {file}.sqlite_master").all()
    columns = connection.exec_driver_sql(
        f"SELECT 'column', thing.name || '.' || info.name FROM {file}.sqlite_master AS thing, "
        f"pragma_table_info(thing.name, '{file}') AS info WHERE thing.type = 'table'"
    ).all()
    return frozenset((str(kind), str(name)) for kind, name in (*things, *columns))


def _acts(connection: sa.Connection, file: str) -> frozenset[tuple[str, str, str]]:
    """Give the triggers and views of a file by kind, name and text."""
    things = connection.exec_driver_sql(
        f"SELECT type, name, sql FROM {file}.sqlite_master WHERE type IN ('trigger', 'view')"
    ).all()
    return frozenset((str(kind), str(thing), str(text)) for kind, thing, text in things)


def _words(thing: tuple[str, str]) -> str:
    kind, name = thing
    return f"the {kind} {name}"
