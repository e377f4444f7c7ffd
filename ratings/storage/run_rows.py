"""Rows about runs: what was said of a recording last, and a new saying of it."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import datetime
from pathlib import Path
from typing import get_args

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.cells import BadCellError
from ratings.storage.listening_rows import condition_from
from ratings.storage.row_ids import add_row, add_rows
from ratings.study.figures import Severity
from ratings.study.runs import (
    ChannelSetting,
    ConstantSpeed,
    Run,
    RunNote,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
    SpeedSource,
    Tread,
    is_level_true,
)

_Row = sa.Row[tuple[object]]
#: What is kept of an original's name: nothing that a disk, or a person, could misunderstand.
_PLAIN_SUFFIX = re.compile(r"\.[\w~+-]{1,30}")
_GRAVEST_FIRST: tuple[Severity, ...] = get_args(Severity)


def latest(table: sa.TableClause, key: str, *by: str) -> sa.Subquery:
    """Give the highest `key` of each group of rows: what was said last counts."""
    columns = [table.c[name] for name in by]
    return sa.select(sa.func.max(table.c[key]).label(key), *columns).group_by(*columns).subquery()


def write_channels(
    connection: sa.Connection,
    recording_id: int,
    settings: Sequence[ChannelSetting],
    now: datetime,
) -> None:
    """Add what every channel of a recording is."""
    add_rows(
        connection,
        tables.channel_setting,
        [
            asdict(setting)
            | {"recording_id": recording_id, "channel": channel, "set_at": now.isoformat()}
            for channel, setting in enumerate(settings, start=1)
        ],
    )


def write_note(connection: sa.Connection, recording_id: int, note: RunNote, now: datetime) -> None:
    """Add the conditions that a run was driven in."""
    values = asdict(note) | {"recording_id": recording_id, "noted_at": now.isoformat()}
    add_row(connection, tables.run_note, **values)


def write_speed(
    connection: sa.Connection,
    recording_id: int,
    columns: Mapping[str, object],
    now: datetime,
) -> None:
    """Add where a run's speed comes from, as `speed_columns` gives it."""
    add_row(
        connection,
        tables.speed_source,
        recording_id=recording_id,
        set_at=now.isoformat(),
        **columns,
    )


def speed_columns(source: SpeedSource | None, content_hash: str | None = None) -> dict[str, object]:
    """Return a speed source as columns; None takes back what was said before.

    Parameters
    ----------
    content_hash
        Of a file's content.
    """
    match source:
        case None:
            return {"kind": "none", "offset_s": 0.0}
        case SpeedFile(path, offset_s):
            if content_hash is None:
                raise ValueError("a speed file is kept by its content")
            return {
                "kind": "file",
                "stored_name": stored_name(content_hash, path),
                "original_name": path.name,
                "content_hash": content_hash,
                "offset_s": offset_s,
            }
        case ConstantSpeed(speed_km_h):
            return {"kind": "constant", "speed_km_h": speed_km_h, "offset_s": 0.0}
        case SpeedPulses():
            return {"kind": "pulses"} | asdict(source)
        case SpeedChannel():
            return {"kind": "channel"} | asdict(source)


def stored_name(content_hash: str, original: Path) -> str:
    """Return the name of a file inside a study: its content, not what was driven."""
    suffix = original.suffix.lower()
    return f"{content_hash[:20]}{suffix if _PLAIN_SUFFIX.fullmatch(suffix) else ''}"


def channel_settings(connection: sa.Connection) -> dict[int, tuple[ChannelSetting, ...]]:
    """Return what the channels of every recording are, by recording id."""
    setting = tables.channel_setting
    last = latest(setting, "channel_setting_id", "recording_id", "channel")
    query = (
        sa.select(setting)
        .join(last, last.c.channel_setting_id == setting.c.channel_setting_id)
        .order_by(setting.c.recording_id, setting.c.channel)
    )
    found = _Settings()
    for row in connection.execute(query):
        told = ChannelSetting(row.role, row.pa_per_full_scale, row.calibration)
        found[row.recording_id] = (*found.get(row.recording_id, ()), told)
    return found


class _Settings(dict[int, tuple[ChannelSetting, ...]]):
    def __missing__(self, recording_id: int) -> tuple[ChannelSetting, ...]:
        # Written with every recording, in the same transaction.
        raise BadCellError(f"Recording {recording_id} has no channels.")


def write_tread(connection: sa.Connection, set_id: int, tread: Tread, now: datetime) -> None:
    """Add what the tyres of a set are."""
    values = asdict(tread) | {"set_id": set_id, "set_at": now.isoformat()}
    add_row(connection, tables.tread, **values)


def treads(connection: sa.Connection) -> dict[int, Tread]:
    """Return what the tyres of every set are, by id; at first the size that the plan gives."""
    found = {row.set_id: Tread(row.size) for row in connection.execute(sa.select(tables.tyre_set))}
    last = latest(tables.tread, "tread_id", "set_id")
    query = sa.select(tables.tread).join(last, last.c.tread_id == tables.tread.c.tread_id)
    for row in connection.execute(query):
        found[row.set_id] = Tread(row.size, row.pitches)
    return found


def run_note(connection: sa.Connection, recording_id: int) -> RunNote:
    """Return the conditions that a run was driven in; an empty note when none were given."""
    row = _last_of(connection, tables.run_note, "run_note_id", recording_id)
    if row is None:
        return RunNote()
    return RunNote(*(getattr(row, field.name) for field in fields(RunNote)))


def speed_source(
    connection: sa.Connection, recording_id: int, file_of: Callable[[str], Path]
) -> SpeedSource | None:
    """Return where a run's speed comes from, a file by its place as `file_of` its name gives it."""
    row = _last_of(connection, tables.speed_source, "speed_source_id", recording_id)
    if row is None or row.kind == "none":
        return None
    if row.kind == "file":
        return SpeedFile(file_of(row.stored_name), row.offset_s)
    if row.kind == "constant":
        return ConstantSpeed(row.speed_km_h)
    if row.kind == "pulses":
        return SpeedPulses(row.channel, row.pulses_per_metre, row.offset_s)
    return SpeedChannel(row.channel, row.km_h_per_unit, row.km_h_at_zero, row.offset_s)


def runs(connection: sa.Connection) -> tuple[Run, ...]:
    """Return the runs of a study in the order of conditions, blind codes and runs."""
    recording, condition, tyre_set = tables.recording, tables.condition, tables.tyre_set
    query = (
        sa.select(recording, tyre_set.c.code.label("set_code"), condition)
        .join(tyre_set, tyre_set.c.set_id == recording.c.set_id)
        .join(condition, condition.c.condition_id == recording.c.condition_id)
        .order_by(condition.c.position, tyre_set.c.code, recording.c.run)
    )
    settings = channel_settings(connection)
    measured = _measured_at(connection)
    worst = _worst(connection)
    has_speed = _with_speed(connection)
    return tuple(
        Run(
            recording_id=row.recording_id,
            set_code=row.set_code,
            condition=condition_from(row),
            run=row.run,
            channels=row.channels,
            sample_rate_hz=row.sample_rate_hz,
            duration_s=row.frames / row.sample_rate_hz,
            roles=tuple(each.role for each in settings[row.recording_id]),
            is_level_true=is_level_true(settings[row.recording_id]),
            has_speed=row.recording_id in has_speed,
            measured_at=measured.get(row.recording_id),
            worst=worst.get(row.recording_id),
        )
        for row in connection.execute(query)
    )


def last_measuring() -> sa.Subquery:
    """Give the measuring of each recording that counts."""
    return latest(tables.measuring, "measuring_id", "recording_id")


def _last_of(
    connection: sa.Connection, table: sa.TableClause, key: str, recording_id: int
) -> _Row | None:
    query = sa.select(table).where(table.c.recording_id == recording_id)
    return connection.execute(query.order_by(table.c[key].desc()).limit(1)).first()


def _measured_at(connection: sa.Connection) -> dict[int, datetime]:
    measuring, last = tables.measuring, last_measuring()
    query = sa.select(measuring).join(last, last.c.measuring_id == measuring.c.measuring_id)
    return {
        row.recording_id: datetime.fromisoformat(row.measured_at)
        for row in connection.execute(query)
    }


def _worst(connection: sa.Connection) -> dict[int, Severity]:
    last = last_measuring()
    query = sa.select(last.c.recording_id, tables.remark.c.severity).join(
        last, last.c.measuring_id == tables.remark.c.measuring_id
    )
    found: dict[int, set[Severity]] = {}
    for row in connection.execute(query):
        found.setdefault(row.recording_id, set()).add(row.severity)
    return {
        recording_id: next(each for each in _GRAVEST_FIRST if each in severities)
        for recording_id, severities in found.items()
    }


def _with_speed(connection: sa.Connection) -> set[int]:
    speed = tables.speed_source
    last = latest(speed, "speed_source_id", "recording_id")
    query = (
        sa.select(speed.c.recording_id)
        .join(last, last.c.speed_source_id == speed.c.speed_source_id)
        .where(speed.c.kind != "none")
    )
    return set(connection.execute(query).scalars())
