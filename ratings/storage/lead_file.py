"""The lead's file of a study, where the key of the blind codes lies: the one place that opens it.

Everything that says which set a clip is of stands in this file, see `tables.IDENTIFYING`. It is
attached beside the file that everybody reads, so that what is written to both is written whole or
not at all (super-journal, sqlite.org/atomiccommit.html, section 5). A seal by passphrase belongs
here.
"""

import itertools
import sqlite3

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry

from ratings.errors import StudyError, reason_of
from ratings.storage import tables
from ratings.storage.blind_study import StudyFolder, may_write
from ratings.storage.database import connect, database_address, refuse_foreign_journal
from ratings.storage.patience import when_free

#: What lay beside the file of a study before the lead had a folder.
_ONCE_AT_THE_TOP = ("recordings", "measurements", "equalisers")


class NoLeadFileError(StudyError):
    """The lead's file is missing or closed to this account; listening works without it."""


def connect_both(folder: StudyFolder, *, read_only: bool, may_be_new: bool = False) -> sa.Engine:
    """Return an engine on the study's file with the lead's file beside it as schema ``lead``.

    Parameters
    ----------
    may_be_new
        Make files that are missing.

    Raises
    ------
    NoLeadFileError
        When the lead's file cannot be read.
    """
    refuse_foreign_journal(folder.lead_database)
    mode = "ro" if read_only else "rwc" if may_be_new else "rw"
    address = database_address(folder.lead_database.resolve(), mode)
    engine = connect(folder.database, read_only=read_only, may_be_new=may_be_new)

    @event.listens_for(engine, "connect")
    def attach(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
        cursor = connection.cursor()
        cursor.execute("ATTACH DATABASE ? AS lead", (address,))
        if not read_only:
            when_free(lambda: cursor.execute("PRAGMA lead.journal_mode = DELETE"))
            cursor.execute("PRAGMA lead.synchronous = EXTRA")
        cursor.close()

    return engine


def has_lead_file(folder: StudyFolder) -> bool:
    """Tell whether there is a lead's file that this account may read."""
    try:
        with folder.lead_database.open("rb"):
            return True
    except OSError:
        return False


def refuse_without_lead_file(folder: StudyFolder) -> None:
    """Refuse a study whose lead's file is missing or closed to this account.

    Raises
    ------
    NoLeadFileError
        In words.
    """
    if not has_lead_file(folder):
        raise NoLeadFileError(
            f"The lead's part of the study {folder.name} (its folder lead) is missing or closed "
            "to you.",
            "Listening works without it. To lead the study, ask whoever made it for the right to "
            "read that folder, or bring it back from where the study was copied.",
        )


def refuse_foreign_lead_file(connection: sa.Connection, folder: StudyFolder) -> None:
    """Refuse a lead's file that was not made together with the study's file.

    Raises
    ------
    StudyError
        In words; nothing was changed.
    """
    link = connection.execute(sa.select(tables.study.c.link)).scalar_one()
    if connection.execute(sa.select(tables.design.c.link)).scalar_one_or_none() != link:
        raise _foreign_lead_file(folder)


def refuse_filled_lead_file(connection: sa.Connection, folder: StudyFolder) -> None:
    """Refuse a lead's file that holds something beside a study from before there were two files.

    Raises
    ------
    StudyError
        In words; nothing was changed.
    """
    if sa.inspect(connection).get_table_names(schema=tables.LEAD_SCHEMA):
        raise _foreign_lead_file(folder)


def _foreign_lead_file(folder: StudyFolder) -> StudyError:
    return StudyError(
        f"The folder lead in {folder.name} belongs to another study.",
        "Bring back the folder lead that was copied with study.sqlite. Nothing was changed.",
    )


def make_lead_folder(folder: StudyFolder) -> None:
    """Make the lead's folder of a study that has none yet, as open as the study is.

    Raises
    ------
    StudyError
        When it cannot be made.
    """
    try:
        folder.lead.mkdir(exist_ok=True)
    except OSError as problem:
        raise StudyError(
            f"No folder for the lead can be made in {folder.name}: {reason_of(problem)}.",
            "Check the right to write in the study's folder, then open it again.",
        ) from problem


def move_to_lead(folder: StudyFolder) -> None:
    """Move what identifies from the top of an older study into the lead's folder; again is safe.

    Copies kept from before a step hold everything, so they go there too.

    Raises
    ------
    StudyError
        When something cannot be moved; what was not moved stays where it was.
    """
    try:
        for path in (folder.path / name for name in _ONCE_AT_THE_TOP):
            if path.exists() and not (folder.lead / path.name).exists():
                path.rename(folder.lead / path.name)
        for kept in folder.path.glob("study.before-step-*"):
            places = (folder.lead / f"{'earlier-' * n}{kept.name}" for n in itertools.count())
            kept.rename(next(place for place in places if not place.exists()))
    except OSError as problem:
        raise StudyError(
            f"The recordings of {folder.name} cannot be moved into its folder lead: "
            f"{reason_of(problem)}.",
            "Check the right to write in the study's folder, then open it again.",
        ) from problem


def may_write_both(folder: StudyFolder) -> bool:
    """Tell whether this account may write in both parts of a study."""
    own = [path for path in (folder.lead, folder.lead_database) if path.exists()]
    return may_write(folder.path, folder.database, *own)


def wipe_free_pages(connection: sa.Connection) -> None:
    """Write the study's file anew when pages are free in it: these hold what stood there before.

    When another program reads the file, it is left to the next opening.

    Parameters
    ----------
    connection
        Outside a transaction.
    """
    raw = connection.connection.cursor()
    try:
        if raw.execute("PRAGMA main.freelist_count").fetchone()[0]:
            raw.execute("VACUUM main")
    except sqlite3.OperationalError as problem:
        if problem.sqlite_errorname not in ("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_FULL"):
            raise
    finally:
        raw.close()
