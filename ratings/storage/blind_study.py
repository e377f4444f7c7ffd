"""A study as its listeners see it: its folder, its cover, and the file of blind tables alone."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.database import connect, no_study, reading, told_as_no_study, writing
from ratings.storage.migrations import STEPS, refuse_newer, version_of
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
    created_at: datetime

    @property
    def cover_words(self) -> str:
        """The name, and that the study is invented where the name does not say so."""
        is_said = not self.is_invented or "invented" in self.name.casefold()
        return self.name if is_said else f"{self.name} (invented)"


@dataclass(frozen=True, slots=True)
class StudyFolder:
    """Where the parts of a study lie.

    What a listener needs lies at the top: `database` and `clips`. All that tells which set a clip
    is of lies in one folder, `lead`, so that a site can close it by the rights of one folder.
    """

    path: Path

    @property
    def name(self) -> str:
        """The folder's name, for messages."""
        return self.path.name

    @property
    def database(self) -> Path:
        """The file that everybody reads: plan, blind clips, scores."""
        return self.path / "study.sqlite"

    @property
    def clips(self) -> Path:
        """What is played; the file names are blind codes."""
        return self.path / "clips"

    @property
    def lead(self) -> Path:
        """What only the lead's side reads."""
        return self.path / "lead"

    @property
    def lead_database(self) -> Path:
        """The file that ties clips, pairs and measurements to sets."""
        return self.lead / "lead.sqlite"

    @property
    def recordings(self) -> Path:
        """Originals, never edited, named by their content."""
        return self.lead / "recordings"

    @property
    def measurements(self) -> Path:
        """Spectra and maps, a file for each measuring; made with the first."""
        return self.lead / "measurements"

    @property
    def equalisers(self) -> Path:
        """What the clips were run through, named by its content; made with the first."""
        return self.lead / "equalisers"

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
        parts = (self.lead_database, self.recordings, self.measurements, self.equalisers)
        for part in (self.database, self.clips, self.lead, *parts):
            self._inside(part)

    def _inside(self, place: Path) -> Path:
        """Return a place of the study; a link there would let it read or write files of others.

        What is neither file nor folder, such as a pipe, would be waited for without an end.
        """
        if not _leads_to(place).is_relative_to(_leads_to(self.path)):
            raise StudyError(
                f"In the study {self.name}, {place.name} is a link to a place outside of its "
                "folder.",
                "Put the file or folder itself there. Nothing was changed.",
            )
        if place.exists() and not (place.is_file() or place.is_dir()):
            raise StudyError(
                f"In the study {self.name}, {place.name} is neither a file nor a folder.",
                "Take it away, and look after whoever gave you this study.",
            )
        return place


def _leads_to(place: Path) -> Path:
    try:
        return place.resolve()
    except (OSError, RuntimeError):
        # Links in a circle lead nowhere, which is outside too.
        return Path(place.anchor)


class BlindStudy:
    """An open study without anything that identifies: its folder, its blind tables, its cover.

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
        """Let go of the database files."""
        self.engine.dispose()


def open_blind_study(path: Path | str) -> BlindStudy:
    """Open a study for listening; the lead's file is neither needed nor touched.

    A study that may only be read is opened for reading.

    Raises
    ------
    StudyError
        For a folder that is missing, is no study, is damaged, or is from an older or a newer
        program.
    """
    folder = study_folder_at(path)
    is_read_only = not may_write(folder.path, folder.database)
    engine = connect(folder.database, read_only=is_read_only)
    try:
        with reading(engine, folder.name) as connection:
            version = known_version(connection, folder.name)
            refuse_broken_pages(connection, folder.name)
            _refuse_older(version, folder.name)
            refuse_unlike_tables(connection, folder.name)
        return BlindStudy(folder, engine, is_read_only=is_read_only)
    except BaseException:
        engine.dispose()
        raise


def _refuse_older(version: int, name: str) -> None:
    if version < len(STEPS):
        raise StudyError(
            f"The study {name} is from an older Twinset.",
            "Let its lead open it once with this version; nothing was changed.",
        )


def study_folder_at(path: Path | str) -> StudyFolder:
    """Return the study folder at a place; StudyError when there is none."""
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
    return folder


def may_write(*paths: Path) -> bool:
    """Tell whether this account may write in all of these."""
    return all(os.access(path, os.W_OK) for path in paths)


def known_version(connection: sa.Connection, name: str) -> int:
    """Return how many steps a study has been through; a foreign or newer file is refused."""
    with told_as_no_study(name):
        version = version_of(connection)
        if version:
            # Another program's file may count its steps in the same way.
            connection.execute(sa.select(tables.study.c.name)).first()
    refuse_newer(version, name)
    if version == 0:
        raise no_study(name)
    return version


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
        created_at=datetime.fromisoformat(row.created_at),
    )


def read_attributes(connection: sa.Connection) -> tuple[Attribute, ...]:
    """Return the study's attributes in the order of the form: overall last, whatever was added."""
    columns = tables.attribute.c
    overall_last = columns.key == "overall"
    rows = connection.execute(sa.select(tables.attribute).order_by(overall_last, columns.position))
    return tuple(
        Attribute(r.key, r.name, r.definition, r.low_hz, r.high_hz, r.manoeuvre) for r in rows
    )
