"""A study on disk: one folder that can be moved, zipped and opened again."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from ratings.errors import StudyError, reason_of
from ratings.storage import tables
from ratings.storage.database import (
    connect,
    copy_database,
    no_study,
    reading,
    told_as_no_study,
    told_in_words,
    will_write,
    writing,
)
from ratings.storage.migrations import STEPS, migrate, refuse_newer, version_of
from ratings.storage.soundness import refuse_broken_pages, refuse_unlike_tables
from ratings.study.attributes import Attribute, Scale


def utc_now() -> datetime:
    """Return the time now, in UTC; the clock that desks use unless given another."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class StudyFacts:
    """What stands on a study's cover."""

    name: str
    vehicle: str
    note: str
    is_invented: bool
    scale: Scale
    seed: int
    created_at: datetime


@dataclass(frozen=True, slots=True)
class StudyFolder:
    """Where the parts of a study lie."""

    path: Path

    @property
    def name(self) -> str:
        """The folder's name, for messages."""
        return self.path.name

    @property
    def database(self) -> Path:
        """The one file with plan, clips, scores."""
        return self.path / "study.sqlite"

    @property
    def recordings(self) -> Path:
        """Originals, never edited, named by their content."""
        return self.path / "recordings"

    @property
    def clips(self) -> Path:
        """What is played; the file names are blind codes."""
        return self.path / "clips"

    @property
    def measurements(self) -> Path:
        """Spectra and maps, a file for each measuring; made with the first."""
        return self.path / "measurements"

    @property
    def equalisers(self) -> Path:
        """What the clips were run through, named by its content; made with the first."""
        return self.path / "equalisers"

    def equaliser_file(self, equaliser_id: str) -> Path | None:
        """Return the file of the equaliser with this SHA-256; None when it is not there."""
        found = next(iter(sorted(self.equalisers.glob(f"{equaliser_id[:20]}*"))), None)
        return found and self._inside(found)

    def clip_file(self, code: str) -> Path:
        """Return the file of the clip with this blind code."""
        return self._inside(self.clips / f"{code}.wav")

    def recording_file(self, stored_name: str) -> Path:
        """Return the file of a recording, or of a speed trace, with this name."""
        return self._inside(self.recordings / stored_name)

    def arrays_file(self, name: str) -> Path:
        """Return the file of a measuring's arrays with this name."""
        return self._inside(self.measurements / name)

    def refuse_links_out(self) -> None:
        """Refuse a study of which a part is a link to somewhere else.

        Raises
        ------
        StudyError
            Naming the part.
        """
        parts = (self.recordings, self.clips, self.measurements, self.equalisers)
        for part in (self.database, *parts):
            self._inside(part)

    def _inside(self, place: Path) -> Path:
        """Return a place of the study; a link there would let it read or write files of others."""
        if not _leads_to(place).is_relative_to(_leads_to(self.path)):
            raise StudyError(
                f"In the study {self.name}, {place.name} is a link to a place outside of its "
                "folder.",
                "Put the file or folder itself there. Nothing was changed.",
            )
        return place


def _leads_to(place: Path) -> Path:
    try:
        return place.resolve()
    except (OSError, RuntimeError):
        # Links in a circle lead nowhere, which is outside too.
        return Path(place.anchor)


class Study:
    """An open study: its folder, its database and its cover.

    Attributes
    ----------
    folder, engine, facts, attributes, is_read_only
    """

    def __init__(self, folder: StudyFolder, engine: sa.Engine, *, is_read_only: bool) -> None:
        self.folder = folder
        self.engine = engine
        self.is_read_only = is_read_only
        with self.reading() as connection, told_as_no_study(folder.name):
            self.facts = _facts(connection, folder)
            self.attributes = read_attributes(connection)

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """Read from the database; its faults become a StudyError."""
        with reading(self.engine, self.folder.name) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """Write to the database, all of the block or nothing; its faults become a StudyError."""
        with writing(self.engine, self.folder.name) as connection:
            yield connection

    def close(self) -> None:
        """Let go of the database file."""
        self.engine.dispose()


def _facts(connection: sa.Connection, folder: StudyFolder) -> StudyFacts:
    row = connection.execute(sa.select(tables.study)).one_or_none()
    if row is None:
        raise StudyError(
            f"The study {folder.name} was never finished: it has no cover.",
            "Make it again; this folder was not changed.",
        )
    scale = Scale(
        # A patched file may hold text where the table asks for numbers.
        float(row.scale_low),
        float(row.scale_high),
        float(row.scale_step),
        anchors_version=int(row.anchors_version),
    )
    return StudyFacts(
        name=row.name,
        vehicle=row.vehicle,
        note=row.note,
        is_invented=bool(row.is_invented),
        scale=scale,
        seed=int(row.seed),
        created_at=datetime.fromisoformat(row.created_at),
    )


def read_attributes(connection: sa.Connection) -> tuple[Attribute, ...]:
    """Return the study's attributes in the order of the form."""
    columns = tables.attribute.c
    rows = connection.execute(sa.select(tables.attribute).order_by(columns.position))
    return tuple(
        Attribute(r.key, r.name, r.definition, r.low_hz, r.high_hz, r.manoeuvre) for r in rows
    )


def open_study(path: Path | str) -> Study:
    """Open the study in a folder, bringing an older one up to date first.

    A study that may only be read is opened for reading.

    Raises
    ------
    StudyError
        For a folder that is missing, is no study, is damaged, or is from a newer program.
    """
    folder = StudyFolder(Path(path))
    if not folder.path.is_dir():
        raise StudyError(
            f"There is no study folder {folder.name} where it was looked for ({folder.path}).",
            "If it was moved, open it from its new place; everything of it is in that folder.",
        )
    if not folder.database.is_file():
        raise StudyError(
            f"The folder {folder.name} holds no study: study.sqlite is missing.",
            "Choose the folder that contains study.sqlite.",
        )
    folder.refuse_links_out()
    is_read_only = not (os.access(folder.path, os.W_OK) and os.access(folder.database, os.W_OK))
    engine = connect(folder.database, read_only=is_read_only)
    try:
        _bring_up_to_date(engine, folder, is_read_only=is_read_only)
        return Study(folder, engine, is_read_only=is_read_only)
    except BaseException:
        engine.dispose()
        raise


def _bring_up_to_date(engine: sa.Engine, folder: StudyFolder, *, is_read_only: bool) -> None:
    with told_in_words(folder.name), engine.connect() as connection:
        with told_as_no_study(folder.name):
            version = version_of(connection)
            if version:
                # Another program's file may count its steps in the same way.
                connection.execute(sa.select(tables.study.c.name)).first()
        connection.rollback()
        refuse_newer(version, folder.name)
        if version == 0:
            raise no_study(folder.name)
        refuse_broken_pages(connection, folder.name)
        connection.rollback()
        if version < len(STEPS):
            _take_steps(connection, folder, version, is_read_only=is_read_only)
        refuse_unlike_tables(connection, folder.name)


def _take_steps(
    connection: sa.Connection, folder: StudyFolder, version: int, *, is_read_only: bool
) -> None:
    if is_read_only:
        raise StudyError(
            f"The study {folder.name} is from an older Twinset and may only be read here.",
            "Copy the folder to a place where you may write, and open the copy.",
        )
    will_write(connection)
    _keep_old(connection, folder, version)
    migrate(connection)


def _keep_old(connection: sa.Connection, folder: StudyFolder, version: int) -> None:
    """Copy a study file before its steps; nothing when another program has just taken them.

    An older program may still want it, and a step could meet what nobody thought of.
    """
    kept = folder.path / f"study.before-step-{version + 1}.sqlite"
    partial = kept.with_suffix(".partial")
    with connection.begin():
        if version_of(connection) != version:
            return
        try:
            copy_database(folder.database, partial)
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
        folder.recordings.mkdir(parents=True, exist_ok=True)
        folder.clips.mkdir(exist_ok=True)
    except OSError as problem:
        raise StudyError(
            f"The folder {folder.name} cannot be made: {reason_of(problem)}.",
            "Choose a place where you may write and that has space.",
        ) from problem
    engine = connect(folder.database, may_be_new=True)
    try:
        with told_in_words(folder.name), engine.connect() as connection:
            will_write(connection)
            migrate(connection)
    finally:
        engine.dispose()
    return folder
