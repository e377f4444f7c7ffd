"""A study as its lead opens it: both files, brought up to date; one folder that can be moved."""

from pathlib import Path

import sqlalchemy as sa

from ratings.errors import StudyError, reason_of
from ratings.storage import tables
from ratings.storage.blind_study import (
    BlindStudy,
    StudyFolder,
    known_version,
    may_write,
    study_folder_at,
)
from ratings.storage.database import (
    connect,
    copy_database,
    reading,
    told_as_no_study,
    told_in_words,
    will_write,
)
from ratings.storage.lead_file import (
    connect_both,
    make_lead_folder,
    may_write_both,
    move_to_lead,
    refuse_filled_lead_file,
    refuse_foreign_lead_file,
    refuse_without_lead_file,
    wipe_free_pages,
)
from ratings.storage.ledger import refuse_changed_rows
from ratings.storage.migrations import STEPS, migrate, version_of
from ratings.storage.soundness import refuse_broken_pages, refuse_unlike_tables
from ratings.study.progress import Progress, quiet

#: From this step on a study has a lead's file.
_LEAD_FILE_STEP = 3


class Study(BlindStudy):
    """An open study with all that its lead may know: the lead's file is attached.

    Attributes
    ----------
    seed
        What orders and codes were drawn from; an old one may be short.
    """

    def __init__(self, folder: StudyFolder, engine: sa.Engine, *, is_read_only: bool) -> None:
        super().__init__(folder, engine, is_read_only=is_read_only)
        with self.reading() as connection, told_as_no_study(folder.name):
            refuse_foreign_lead_file(connection, folder)
            self.seed = int(connection.execute(sa.select(tables.design.c.seed)).scalar_one())

    def refuse_changed_rows(self, progress: Progress = quiet) -> None:
        """Refuse to stand for answers that are not what was written; the study stays open.

        Raises
        ------
        StudyError
            Saying which answers, and what is safe.
        Cancelled
            When `progress` asked for it.
        """
        with self.reading() as connection:
            refuse_changed_rows(connection, self.folder.name, progress)


def open_study(path: Path | str, *, only_read: bool = False) -> Study:
    """Open the study in a folder as its lead, bringing an older one up to date first.

    A study that may only be read is opened for reading.

    Parameters
    ----------
    only_read
        Write nothing into the folder, whatever this account may do; an older study is refused.

    Raises
    ------
    NoLeadFileError
        When the lead's file is missing or closed to this account.
    StudyError
        For a folder that is missing, is no study, is damaged, or is from a newer program.
    """
    folder = study_folder_at(path)
    is_read_only = only_read or not may_write_both(folder)
    version = _version_at(folder)
    if version < len(STEPS) and only_read:
        raise StudyError(
            f"The study {folder.name} is from an older Twinset: open it once in the window, which "
            "brings it up to date.",
            "Then try again.",
        )
    if version < len(STEPS) and is_read_only:
        raise StudyError(
            f"The study {folder.name} is from an older Twinset and may only be read here.",
            "Copy the folder to a place where you may write, and open the copy.",
        )
    if version < _LEAD_FILE_STEP:
        make_lead_folder(folder)
    else:
        refuse_without_lead_file(folder)
    engine = connect_both(folder, read_only=is_read_only, may_be_new=version < _LEAD_FILE_STEP)
    try:
        if not is_read_only:
            _bring_up_to_date(engine, folder, version)
        _refuse_unsound(engine, folder)
        return Study(folder, engine, is_read_only=is_read_only)
    except BaseException:
        engine.dispose()
        raise


def _version_at(folder: StudyFolder) -> int:
    """Return the version of a study's file, before anything is made beside it."""
    engine = connect(folder.database, read_only=not may_write(folder.path, folder.database))
    try:
        with reading(engine, folder.name) as connection:
            version = known_version(connection, folder.name)
            refuse_broken_pages(connection, folder.name)
            return version
    finally:
        engine.dispose()


def _bring_up_to_date(engine: sa.Engine, folder: StudyFolder, version: int) -> None:
    with told_in_words(folder.name), engine.connect() as connection:
        if version < len(STEPS):
            will_write(connection)
            _keep_old(connection, folder, version)
            migrate(connection)
        # A program that was killed behind the step may have left these two.
        move_to_lead(folder)
        wipe_free_pages(connection)


def _refuse_unsound(engine: sa.Engine, folder: StudyFolder) -> None:
    with told_in_words(folder.name), engine.connect() as connection:
        refuse_broken_pages(connection, folder.name)
        refuse_unlike_tables(connection, folder.name, with_lead=True)


def _keep_old(connection: sa.Connection, folder: StudyFolder, version: int) -> None:
    """Copy a study's files before its steps; nothing when another program has just taken them.

    An older program may still want them, and a step could meet what nobody thought of. They hold
    everything, so they lie in the lead's folder.
    """
    with connection.begin():
        if version_of(connection) != version:
            return
        if version < _LEAD_FILE_STEP:
            refuse_filled_lead_file(connection, folder)
            files = [folder.database]
        else:
            files = [folder.database, folder.lead_database]
        for file in files:
            _keep(file, folder.lead / f"{file.stem}.before-step-{version + 1}.sqlite", folder)


def _keep(file: Path, kept: Path, folder: StudyFolder) -> None:
    partial = kept.with_suffix(".partial")
    try:
        copy_database(file, partial)
        partial.replace(kept)
    except OSError as problem:
        raise StudyError(
            f"The study {folder.name} is from an older Twinset and cannot be kept as it is: "
            f"{reason_of(problem)}.",
            "Make room or check the right to write in its folder, then open it again. It was "
            "not changed.",
        ) from problem
    finally:
        partial.unlink(missing_ok=True)


def new_study_folder(path: Path) -> StudyFolder:
    """Make an empty study folder with the tables of today; `path` must not exist or be empty.

    Raises
    ------
    StudyError
        When the folder holds something already, or cannot be made.
    """
    folder = StudyFolder(path)
    try:
        if path.exists() and any(path.iterdir()):
            raise StudyError(
                f"The folder {folder.name} is not empty.",
                "Choose a new folder for the study; this one was not changed.",
            )
        folder.clips.mkdir(parents=True, exist_ok=True)
        # For nobody but this account, until its owner opens it to others.
        folder.lead.mkdir(mode=0o700)
        folder.recordings.mkdir()
    except OSError as problem:
        raise StudyError(
            f"The folder {folder.name} cannot be made: {reason_of(problem)}.",
            "Choose a place where you may write and that has space.",
        ) from problem
    engine = connect_both(folder, read_only=False, may_be_new=True)
    try:
        with told_in_words(folder.name), engine.connect() as connection:
            will_write(connection)
            migrate(connection)
            wipe_free_pages(connection)
    finally:
        engine.dispose()
    return folder
