"""A run brought into a study: its files copied, checked and told, whole or not at all."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import sqlalchemy as sa

from ratings.errors import RecordingError, StudyError, reason_of
from ratings.recordings.opening import open_recording, shown_name
from ratings.recordings.refusals import told_by_its_own_name
from ratings.storage import tables
from ratings.storage.file_copies import copy_checked, put_in_place
from ratings.storage.listening_rows import condition_from
from ratings.storage.row_ids import add_row
from ratings.storage.run_rows import (
    speed_columns,
    stored_name,
    write_channels,
    write_note,
    write_speed,
)
from ratings.storage.study_folder import Study
from ratings.storage.workshops import workshop_beside
from ratings.study.progress import Progress
from ratings.study.runs import NewRun, SpeedChannel, SpeedFile, SpeedPulses, SpeedSource

#: Part of the work that is copying; the rest is reading the copy through.
_COPYING = 0.6


@dataclass(frozen=True, slots=True)
class _Copied:
    """A checked copy in the workshop, and the name that it gets in the study."""

    path: Path
    name: str
    content_hash: str


def bring_run(study: Study, run: NewRun, progress: Progress, clock: Callable[[], datetime]) -> int:
    """Copy a recording into a study and keep what was said of it; return the recording's id.

    Raises
    ------
    RecordingError
        When the recording cannot be used, is in the study already, or has not as many channels as
        were told; or when its speed file holds no speed.
    StudyError
        When it cannot be kept.
    Cancelled
        When `progress` asked for it; nothing is left behind.
    """
    _refuse_read_only(study)
    with open_recording(run.path) as recording:
        refuse_unlike(recording.channels, len(run.channels), shown_name(run.path))
        _refuse_useless_speed(run.speed, recording.channels)
    with _workshop_in(study) as workshop:
        copied = _take_in(run.path, workshop / f"run{run.path.suffix.lower()}", progress)
        speed = _copy_speed(run.speed, workshop)
        progress(1.0, f"Keeping {run.path.name}")
        with _placing(study) as place, study.writing() as connection:
            _refuse_known(connection, copied.content_hash, run.path)
            recording_id = _write_run(connection, run, copied, speed, clock())
            place(copied)
            if speed is not None:
                place(speed)
    return recording_id


def bring_speed(
    study: Study, recording_id: int, source: SpeedSource | None, clock: Callable[[], datetime]
) -> None:
    """Keep where a run's speed comes from, a file as a copy; None takes back what was said.

    Raises
    ------
    RecordingError
        When the file holds no speed, or the recording has no such channel.
    StudyError
        When it cannot be kept.
    """
    _refuse_read_only(study)
    column = tables.recording.c
    query = sa.select(column.channels).where(column.recording_id == recording_id)
    with study.reading() as connection:
        channels = connection.execute(query).scalar_one()
    _refuse_useless_speed(source, channels)
    with _workshop_in(study) as workshop:
        speed = _copy_speed(source, workshop)
        with _placing(study) as place, study.writing() as connection:
            columns = speed_columns(source, speed.content_hash if speed else None)
            write_speed(connection, recording_id, columns, clock())
            if speed is not None:
                place(speed)


def refuse_unlike(channels: int, told: int, name: str) -> None:
    """Refuse settings that are not one for each channel."""
    if channels != told:
        has = "1 channel" if channels == 1 else f"{channels} channels"
        raise RecordingError(
            f"{name} has {has}, and {told} {'was' if told == 1 else 'were'} told.",
            "Say of every channel what it is; nothing was kept.",
        )


def _refuse_read_only(study: Study) -> None:
    # Before hours of copying rather than after it.
    if study.is_read_only:
        raise StudyError(
            f"The study {study.folder.name} can be read but not written.",
            "Ask for the right to write in its folder, or copy it to a folder of your own.",
        )


def _refuse_useless_speed(source: SpeedSource | None, channels: int) -> None:
    match source:
        case SpeedFile(path, offset_s):
            from ratings.recordings.speed.trace_files import read_speed_trace

            read_speed_trace(path, offset_s)
        case SpeedChannel(channel=channel) | SpeedPulses(channel=channel):
            if not 1 <= channel <= channels:
                raise RecordingError(
                    f"The recording has no channel {channel}; it has {channels}.",
                    "Choose the channel of the speed again; nothing was kept.",
                )


def _refuse_known(connection: sa.Connection, content_hash: str, original: Path) -> None:
    recording, condition = tables.recording, tables.condition
    query = (
        sa.select(recording.c.run, condition)
        .join(condition, condition.c.condition_id == recording.c.condition_id)
        .where(recording.c.content_hash == content_hash)
    )
    row = connection.execute(query).first()
    if row is not None:
        # Who brings it knows its set: told the code, they would have a piece of the key.
        raise RecordingError(
            f"{shown_name(original)} is in the study already: run {row.run} of its set, "
            f"{condition_from(row).title}.",
            "Choose the file of another run; nothing was added.",
        )


@contextmanager
def _workshop_in(study: Study) -> Iterator[Path]:
    with ExitStack() as stack:
        try:
            workshop = stack.enter_context(workshop_beside(study.folder.recordings / "run"))
        except OSError as problem:
            raise StudyError(
                f"Nothing can be put into the study {study.folder.name}: {reason_of(problem)}.",
                "Check that its folder is where it was, and that you may write there.",
            ) from problem
        yield workshop


@contextmanager
def _placing(study: Study) -> Iterator[Callable[[_Copied], None]]:
    """Give what moves copies among the recordings; when the block fails, they go again."""
    placed: list[Path] = []

    def place(copied: _Copied) -> None:
        destination = study.folder.recordings / copied.name
        if put_in_place(copied.path, destination, copied.content_hash):
            placed.append(destination)

    try:
        yield place
    except BaseException:
        # One that stays is harmless: the next to bring the same content takes it.
        with suppress(StudyError):
            _take_away(study, placed)
        raise


def _take_away(study: Study, placed: list[Path]) -> None:
    """Remove files, but for those that another program has told of since they lay there."""
    recording, speed = tables.recording, tables.speed_source
    told = sa.union(sa.select(recording.c.stored_name), sa.select(speed.c.stored_name))
    # As a writer, so that nobody can tell of one in this moment.
    with study.writing() as connection:
        needed = set(connection.execute(told).scalars())
        for destination in placed:
            if destination.name not in needed:
                destination.unlink(missing_ok=True)


def _take_in(original: Path, copy: Path, progress: Progress) -> _Copied:
    def report(part: float) -> None:
        progress(_COPYING * part, f"Copying {original.name}")

    content_hash = copy_checked(original, copy, report)
    with told_by_its_own_name(copy, original), open_recording(copy) as recording:
        done = 0
        for block in recording.blocks():
            done += len(block)
            part = done / max(1, recording.frames)
            progress(_COPYING + (1 - _COPYING) * part, f"Reading {original.name}")
    return _Copied(copy, stored_name(content_hash, original), content_hash)


def _copy_speed(source: SpeedSource | None, workshop: Path) -> _Copied | None:
    if not isinstance(source, SpeedFile):
        return None
    copy = workshop / "speed"
    content_hash = copy_checked(source.path, copy, lambda _: None)
    return _Copied(copy, stored_name(content_hash, source.path), content_hash)


def _write_run(
    connection: sa.Connection, run: NewRun, copied: _Copied, speed: _Copied | None, now: datetime
) -> int:
    recording = tables.recording
    last = sa.func.coalesce(sa.func.max(recording.c.run), 0)
    alike = sa.select(last + 1).where(
        recording.c.set_id == run.set_id, recording.c.condition_id == run.condition_id
    )
    with open_recording(copied.path) as sound:
        recording_id = add_row(
            connection,
            recording,
            set_id=run.set_id,
            condition_id=run.condition_id,
            stored_name=copied.name,
            original_name=run.path.name,
            content_hash=copied.content_hash,
            sample_rate_hz=sound.sample_rate_hz,
            channels=sound.channels,
            frames=sound.frames,
            # Told channel by channel; this column is what the clips of a plan were cut with.
            pa_per_full_scale=None,
            imported_at=now.isoformat(),
            run=connection.execute(alike).scalar_one(),
        )
    write_channels(connection, recording_id, run.channels, now)
    write_note(connection, recording_id, run.note, now)
    if run.speed is not None:
        columns = speed_columns(run.speed, speed.content_hash if speed else None)
        write_speed(connection, recording_id, columns, now)
    return recording_id
