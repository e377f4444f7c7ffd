"""The database file of a study: opening it, and its faults in words."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import event, exc
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry

from ratings.errors import StudyError

#: Parts of SQLite's messages for faults of the surroundings, and what to say about each.
_FAULTS = {
    "disk is full": (
        "The disk with the study {name} is full, so the last entry was not saved.",
        "Free some space and give it again. Everything before it is safe.",
    ),
    "readonly": (
        "The study {name} can be read but not written.",
        "Ask for the right to write in its folder, or copy it to a folder of your own.",
    ),
    "locked": (
        "Another program holds the study {name}, so the last entry was not saved.",
        "Close the other program or wait a moment, then give it again.",
    ),
    "malformed": (
        "The file of the study {name} is damaged.",
        "Nothing was changed. Open the last copy of the folder, and keep this one.",
    ),
    "not a database": (
        "study.sqlite in {name} is not a study.",
        "Choose another folder; this one was not changed.",
    ),
    "unable to open": (
        "The study {name} cannot be opened: its folder or file is missing or closed to you.",
        "Check that the folder is where it was and that you may read and write in it.",
    ),
    "disk i/o error": (
        "The disk with the study {name} does not answer, so the last entry was not saved.",
        "Check the disk or network, then give it again. Everything before it is safe.",
    ),
}


@contextmanager
def told_in_words(name: str) -> Iterator[None]:
    """Turn the database's complaints about its surroundings into a StudyError.

    Anything else, such as a broken rule of the tables, is a defect of ours and passes through.
    """
    try:
        yield
    except (exc.OperationalError, exc.DatabaseError, sqlite3.DatabaseError) as problem:
        message = str(getattr(problem, "orig", None) or problem).lower()
        for part, (what_happened, what_to_do) in _FAULTS.items():
            if part in message:
                raise StudyError(what_happened.format(name=name), what_to_do) from problem
        raise


def connect(path: Path, *, read_only: bool = False) -> sa.Engine:
    """Return an engine on the SQLite file at `path`; the file is made when missing and writable.

    Notes
    -----
    A rollback journal with full synchronisation rather than a write-ahead log: a committed score
    is in the one file on the disk, and a folder that is copied or zipped is complete.
    """
    mode = "ro" if read_only else "rwc"
    address = f"{path.resolve().as_uri()}?mode={mode}"

    def open_file() -> sqlite3.Connection:
        # No transactions of Python's own: it would leave table changes outside of them.
        return sqlite3.connect(
            address, uri=True, timeout=5.0, check_same_thread=False, isolation_level=None
        )

    engine = sa.create_engine("sqlite://", creator=open_file, poolclass=sa.pool.QueuePool)

    @event.listens_for(engine, "connect")
    def settle(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
        cursor = connection.cursor()
        cursor.execute("PRAGMA foreign_keys = ON")
        if not read_only:
            cursor.execute("PRAGMA journal_mode = DELETE")
            # EXTRA also waits for the folder entry when the journal is removed.
            cursor.execute("PRAGMA synchronous = EXTRA")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine
