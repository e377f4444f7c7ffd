"""Rows about measuring a run: with which settings, and what came out."""

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.row_ids import add_row, add_rows
from ratings.study.figures import Figure, Remark
from ratings.study.program_version import program_version


@dataclass(frozen=True, slots=True)
class Measuring:
    """The measuring of a run that counts: when and how it was done.

    Attributes
    ----------
    settings
        As they were given.
    arrays_name
        File in the folder of measurements; None without arrays.
    measured_at
        In UTC.
    """

    measuring_id: int
    band_version: int
    program_version: str
    settings: dict[str, object]
    arrays_name: str | None
    measured_at: datetime


def write_measuring(
    connection: sa.Connection,
    recording_id: int,
    figures: Iterable[Figure],
    remarks: Iterable[Remark],
    columns: Mapping[str, object],
    now: datetime,
) -> None:
    """Add a measuring of a run, with its figures in their order.

    Parameters
    ----------
    columns
        ``band_version``, ``settings`` as text, ``arrays_name``.
    """
    measuring_id = add_row(
        connection,
        tables.measuring,
        recording_id=recording_id,
        program_version=program_version(),
        measured_at=now.isoformat(),
        **columns,
    )
    rows = _figure_rows(measuring_id, figures)
    if rows:
        connection.execute(tables.figure.insert(), rows)
    said = [asdict(remark) | {"measuring_id": measuring_id} for remark in remarks]
    add_rows(connection, tables.remark, said)


def _figure_rows(measuring_id: int, figures: Iterable[Figure]) -> list[dict[str, object]]:
    return [
        {
            "measuring_id": measuring_id,
            "position": position,
            "channel": figure.channel,
            "key": figure.key,
            "unit": figure.unit,
            # SQLite would make NULL of it by itself; no other database does.
            "value": None if math.isnan(figure.value) else float(figure.value),
        }
        for position, figure in enumerate(figures, start=1)
    ]


def settings_text(settings: Mapping[str, object]) -> str:
    """Return settings as text to be kept; ValueError for what is no plain finite value."""
    return json.dumps(dict(settings), ensure_ascii=False, allow_nan=False)


def last_measuring_of(connection: sa.Connection, recording_id: int) -> Measuring | None:
    """Return the measuring of a run that counts; None while it has not been measured."""
    measuring = tables.measuring
    query = (
        sa.select(measuring)
        .where(measuring.c.recording_id == recording_id)
        .order_by(measuring.c.measuring_id.desc())
        .limit(1)
    )
    row = connection.execute(query).first()
    if row is None:
        return None
    return Measuring(
        measuring_id=row.measuring_id,
        band_version=row.band_version,
        program_version=row.program_version,
        settings=json.loads(row.settings),
        arrays_name=row.arrays_name,
        measured_at=datetime.fromisoformat(row.measured_at),
    )


def remarks_of(connection: sa.Connection, measuring_id: int) -> tuple[Remark, ...]:
    """Return the remarks of a measuring in the order in which they were made."""
    remark = tables.remark
    query = sa.select(remark).where(remark.c.measuring_id == measuring_id)
    return tuple(
        Remark(row.severity, row.sentence, row.channel)
        for row in connection.execute(query.order_by(remark.c.remark_id))
    )
