"""Whether a study's file is whole: what SQLite finds, and what the tables of today ask for."""

import functools

import sqlalchemy as sa

from ratings.storage.database import damaged
from ratings.storage.migrations import migrate


def refuse_broken_pages(connection: sa.Connection, name: str) -> None:
    """Refuse a file whose pages do not fit together, such as one copied while it was written.

    Raises
    ------
    StudyError
        Saying that it is damaged.
    """
    found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
    if found != "ok":
        raise damaged(name, "Its parts do not fit together, as after copying it while it was used.")


def refuse_unlike_tables(connection: sa.Connection, name: str) -> None:
    """Refuse a file of today whose tables, columns or triggers are not those of today.

    Rows that point at rows that are not there are refused too.
    """
    missing = _outline_of_today() - _outline(connection)
    if missing:
        raise damaged(name, f"It lacks {_words(min(missing))}.")
    try:
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    except sa.exc.OperationalError as problem:
        raise damaged(name, "Its tables do not belong to each other.") from problem
    if broken is not None:
        raise damaged(name, f"A row of {broken[0]} belongs to a row of {broken[2]} that is gone.")


@functools.cache
def _outline_of_today() -> frozenset[tuple[str, str]]:
    engine = sa.create_engine("sqlite://")
    try:
        with engine.connect() as connection:
            migrate(connection)
            return _outline(connection)
    finally:
        engine.dispose()


def _outline(connection: sa.Connection) -> frozenset[tuple[str, str]]:
    """Give the kinds and names of what the schema holds, columns among them."""
    things = connection.exec_driver_sql("SELECT type, name FROM sqlite_master").all()
    columns = connection.exec_driver_sql(
        "SELECT 'column', thing.name || '.' || info.name FROM sqlite_master AS thing, "
        "pragma_table_info(thing.name) AS info WHERE thing.type = 'table'"
    ).all()
    return frozenset((str(kind), str(name)) for kind, name in (*things, *columns))


def _words(thing: tuple[str, str]) -> str:
    kind, name = thing
    return f"the {kind} {name}"
