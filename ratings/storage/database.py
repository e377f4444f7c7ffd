"""The database file of a study: opening it, reading and writing it, and its faults in words."""

import os
import re
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path, PurePath
from urllib.parse import quote_from_bytes

import sqlalchemy as sa
from sqlalchemy import event, exc
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry

from ratings.errors import StudyError, UnsavedError
from ratings.storage.cells import BadCellError
from ratings.storage.ledger import chain_new_rows, last_rows
from ratings.storage.patience import LONGEST_WAIT_S, when_free

_WRITES = "twinset_writes"

#: How a journal ends that names a super-journal, and how SQLite names those (pager.c and vdbeaux.c,
#: from memory).
_JOURNAL_MAGIC = b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7"
_SUPER_JOURNAL = re.compile(r"(study|lead)\.sqlite-mj[0-9A-Fa-f]+")
_JOURNAL_END_BYTES = 5_000

#: How Python says that the bytes of a text are no text; it gives this fault no name.
_NO_TEXT = "Could not decode to UTF-8"

#: Beginnings of SQLite's names for faults of the surroundings, and what to say about each; the
#: first that fits counts.
_FAULTS = {
    "SQLITE_FULL": (
        "The disk with the study {name} is full, so the last entry was not saved.",
        "Free some space and give it again. Everything before it is safe.",
    ),
    "SQLITE_READONLY_DBMOVED": (
        "The study {name} was moved or taken away while it was open.",
        "Open it from its new place; everything given so far is in it.",
    ),
    "SQLITE_READONLY_ROLLBACK": (
        "The study {name} was interrupted while writing, and may only be read here.",
        "Copy the folder to a place where you may write, and open the copy.",
    ),
    "SQLITE_READONLY": (
        "The study {name} can be read but not written.",
        "Ask for the right to write in its folder, or copy it to a folder of your own.",
    ),
    "SQLITE_BUSY": (
        "Another program holds the study {name}, so the last entry was not saved.",
        "Close the other program or wait a moment, then give it again.",
    ),
    "SQLITE_CORRUPT": (
        "The file of the study {name} is damaged.",
        "Nothing was changed. Open the last copy of the folder, and keep this one.",
    ),
    "SQLITE_NOTADB": (
        "study.sqlite in {name} is not a study of this program.",
        "Choose another folder; this one was not changed.",
    ),
    "SQLITE_CANTOPEN": (
        "The study {name} cannot be opened: its folder or file is missing or closed to you.",
        "Check that the folder is where it was and that you may read and write in it.",
    ),
    "SQLITE_IOERR": (
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
    except BadCellError as problem:
        raise damaged(name, problem.what_happened) from problem
    except UnicodeDecodeError as problem:
        # A name in the schema that is no text.
        raise damaged(name, "A text in it cannot be read.") from problem
    except (exc.DatabaseError, sqlite3.DatabaseError) as problem:
        original = getattr(problem, "orig", problem)
        if _NO_TEXT in str(original):
            raise damaged(name, "A text in it cannot be read.") from problem
        fault = getattr(original, "sqlite_errorname", "")
        for beginning, (what_happened, what_to_do) in _FAULTS.items():
            if fault.startswith(beginning):
                raise UnsavedError(what_happened.format(name=name), what_to_do) from problem
        raise


@contextmanager
def told_as_no_study(name: str) -> Iterator[None]:
    """Turn what only a foreign or patched file can bring about into a StudyError."""
    try:
        yield
    except (exc.OperationalError, exc.MultipleResultsFound, ValueError, TypeError) as problem:
        fault = getattr(getattr(problem, "orig", None), "sqlite_errorname", "SQLITE_ERROR")
        # A table or column that is missing has this name and no other.
        if fault != "SQLITE_ERROR":
            raise
        raise no_study(name) from problem


def damaged(name: str, what: str) -> StudyError:
    """Return the refusal of a study in which something stands that this program never wrote.

    Parameters
    ----------
    what
        Where and what, in a sentence.
    """
    what_happened, what_to_do = (words.format(name=name) for words in _FAULTS["SQLITE_CORRUPT"])
    return StudyError(f"{what_happened} {what}".rstrip(), what_to_do)


def no_study(name: str) -> StudyError:
    """Return the refusal of a database that was not written by this program."""
    return StudyError(*(words.format(name=name) for words in _FAULTS["SQLITE_NOTADB"]))


@contextmanager
def reading(engine: sa.Engine, name: str) -> Iterator[sa.Connection]:
    """Read from the study called `name`; its faults become a StudyError."""
    with told_in_words(name), engine.connect() as connection:
        yield connection


@contextmanager
def writing(engine: sa.Engine, name: str) -> Iterator[sa.Connection]:
    """Write to the study called `name`: all of the block or nothing.

    The block has the study to itself from its first line on, so what it reads still holds when it
    writes; others that write wait for it.
    """
    with told_in_words(name), engine.connect() as connection:
        will_write(connection)
        with connection.begin():
            before = last_rows(connection)
            yield connection
            chain_new_rows(connection, before)


def will_write(connection: sa.Connection) -> None:
    """Let the transactions to come on this connection be a writer's from their start.

    Notes
    -----
    SQLite lets a transaction that has read wait for nobody when it turns to writing ("Writing
    to the database", sqlite.org/lang_transaction.html): two such would refuse each other at once.
    """
    connection.execution_options(**{_WRITES: True})


def database_address(path: PurePath, mode: str) -> str:
    """Return the address by which SQLite opens a file.

    Parameters
    ----------
    path
        Whole, with drive or server.
    mode
        ``ro``, ``rw``, or ``rwc`` to make the file when it is missing.

    Notes
    -----
    SQLite refuses a server where an address names one (sqlite.org/uri.html, section 3.1), so that
    a network folder is written as a path that begins with two more slashes.
    """
    place = path.as_posix()
    quoted = quote_from_bytes(os.fsencode(place), safe="/:")
    return f"file://{'' if place.startswith('/') else '/'}{quoted}?mode={mode}"


def copy_database(path: Path, destination: Path) -> None:
    """Copy a database file as it was last committed, also while a writer has begun.

    Notes
    -----
    Through SQLite: to open and close the file by other means would drop the locks that this
    process holds on it (sqlite.org/howtocorrupt.html, section 2.2).
    """
    destination.unlink(missing_ok=True)
    address = database_address(path.resolve(), "ro")
    with (
        closing(sqlite3.connect(address, uri=True, timeout=LONGEST_WAIT_S)) as source,
        closing(sqlite3.connect(destination)) as copy,
    ):
        source.backup(copy)


def refuse_foreign_journal(path: Path) -> None:
    """Refuse a database whose left-over journal names a file that is not the study's own.

    Raises
    ------
    StudyError
        Nothing was touched.

    Notes
    -----
    SQLite deletes what a hot journal names as its super-journal, wherever that lies
    (sqlite.org/atomiccommit.html, section 5; the ending of the journal: pager.c, from memory).
    One of the study's own lies beside study.sqlite, which may be a folder up.
    """
    try:
        tail = _end_of(path.with_name(f"{path.name}-journal"))
    except OSError as problem:
        raise damaged(path.parent.name, "A journal beside it cannot be read.") from problem
    if not tail.endswith(_JOURNAL_MAGIC):
        return
    length = int.from_bytes(tail[-16:-12], "big")
    named = Path(os.fsdecode(tail[:-16][-length:] if length else b"").rstrip("\0"))
    places = (path.parent.resolve(), path.parent.parent.resolve())
    is_own = named.parent.resolve() in places and _SUPER_JOURNAL.fullmatch(named.name)
    # Of a study that was moved since, it names what is no longer there, and harms nothing.
    if length >= len(tail) or (os.path.lexists(named) and not is_own):
        raise damaged(path.parent.name, "A journal beside it names a file outside of the study.")


def _end_of(journal: Path) -> bytes:
    if not os.path.lexists(journal):
        return b""
    if not stat.S_ISREG(journal.lstat().st_mode):
        raise OSError("no ordinary file")
    with journal.open("rb") as stream:
        stream.seek(max(0, journal.stat().st_size - _JOURNAL_END_BYTES))
        return stream.read()


def connect(path: Path, *, read_only: bool = False, may_be_new: bool = False) -> sa.Engine:
    """Return an engine on the SQLite file at `path`; a missing file is made only if it may be new.

    Notes
    -----
    A rollback journal with full synchronisation rather than a write-ahead log: a committed score
    is in the one file on the disk, and a folder that is copied or zipped is complete.
    """
    refuse_foreign_journal(path)
    mode = "ro" if read_only else "rwc" if may_be_new else "rw"
    address = database_address(path.resolve(), mode)

    def open_file() -> sqlite3.Connection:
        # No transactions of Python's own: it would leave table changes outside of them. And no
        # waiting of SQLite's own: it is waited for between tries, which can be told.
        return sqlite3.connect(
            address, uri=True, timeout=0, check_same_thread=False, isolation_level=None
        )

    engine = sa.create_engine(
        "sqlite://",
        creator=open_file,
        poolclass=sa.pool.QueuePool,
        # What was written or asked for stands in no log of defects.
        hide_parameters=True,
    )

    @event.listens_for(engine, "connect")
    def settle(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
        cursor = connection.cursor()
        cursor.execute("PRAGMA foreign_keys = ON")
        if not read_only:
            when_free(lambda: cursor.execute("PRAGMA journal_mode = DELETE"))
            # EXTRA also waits for the folder entry when the journal is removed.
            cursor.execute("PRAGMA synchronous = EXTRA")
            # What is taken out of a page is gone from the file too.
            cursor.execute("PRAGMA secure_delete = ON")
        cursor.close()

    event.listen(engine, "begin", _begin)
    event.listen(engine, "commit", _commit)
    return engine


def _begin(connection: sa.Connection) -> None:
    """Take the lock that a transaction needs before its first line."""
    raw = _raw(connection)
    if connection.get_execution_options().get(_WRITES, False):
        when_free(lambda: raw.execute("BEGIN IMMEDIATE"))
        return
    raw.execute("BEGIN")
    try:
        for _, file, _ in raw.execute("PRAGMA database_list").fetchall():
            look = f"SELECT 1 FROM {file}.sqlite_master"
            when_free(lambda look=look: raw.execute(look).fetchone())  # type: ignore[misc]
    except sqlite3.Error:
        raw.execute("ROLLBACK")
        raise


def _commit(connection: sa.Connection) -> None:
    """Commit once nobody reads any more; what a driver does after it has nothing left to do."""
    raw = _raw(connection)
    if raw.in_transaction:
        try:
            when_free(lambda: raw.execute("COMMIT"))
        except sqlite3.Error:
            # Else the lock would be held on, and all that follows would wait for it.
            if raw.in_transaction:
                raw.execute("ROLLBACK")
            raise


def _raw(connection: sa.Connection) -> sqlite3.Connection:
    raw = connection.connection.driver_connection
    if not isinstance(raw, sqlite3.Connection):
        raise TypeError("a study is a file of SQLite's")
    return raw
