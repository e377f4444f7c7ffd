"""Rows about measuring: with which bands and settings, what came out, and the table of it all."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.listening_rows import condition_from
from ratings.storage.row_ids import add_row, add_rows
from ratings.storage.run_rows import last_measuring, runs
from ratings.study.bands import Band, BandTable
from ratings.study.constants import REFERENCE_PRESSURE_PA
from ratings.study.figures import Figure, Remark
from ratings.study.program_version import program_version

if TYPE_CHECKING:
    import pandas as pd


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


COLUMNS = ["set", "condition", "run", "channel", "figure", "unit", "value"]

#: Column of the clip -> name of the figure.
_FIGURES = {
    "leq_a_db_re_full_scale": "clip_leq_a",
    "fast_max_a_db_re_full_scale": "clip_fast_max_a",
}


def run_figures(connection: sa.Connection) -> pd.DataFrame:
    """Return the figures of the last measuring of every run, in columns `COLUMNS`.

    Sets are under blind codes; undefined values are NaN, the level of silence is minus infinity.
    """
    import pandas as pd

    figure = tables.figure
    last = last_measuring()
    values = connection.execute(
        sa.select(
            last.c.recording_id, figure.c.channel, figure.c.key, figure.c.unit, figure.c.value
        )
        .join(last, last.c.measuring_id == figure.c.measuring_id)
        .order_by(figure.c.measuring_id, figure.c.position)
    )
    by_run: dict[int, list[tuple[object, ...]]] = {}
    for recording_id, *rest in values:
        by_run.setdefault(recording_id, []).append(tuple(rest))
    rows: list[tuple[object, ...]] = []
    for run in runs(connection):
        whose = (run.set_code, run.condition.title, run.run)
        rows.extend((*whose, *rest) for rest in by_run.get(run.recording_id, ()))
    table = pd.DataFrame(rows, columns=COLUMNS)
    return table.astype({"run": "int64", "value": "float64"})


def clip_levels(connection: sa.Connection) -> pd.DataFrame:
    """Return the levels of every clip, sets under blind codes, in columns `COLUMNS`.

    The unit is ``dB`` re 20 uPa where the recordings are calibrated, else ``dB re full scale``.
    """
    import pandas as pd

    # A recording stands in several clips, which differ by their noise alone: one speaks for all.
    first = sa.func.min(tables.clip_source.c.clip_id)
    heard = sa.select(first).group_by(tables.clip_source.c.recording_id)
    query = (
        sa.select(
            tables.clip.c.pa_per_full_scale,
            tables.clip_source,
            tables.recording.c.run,
            tables.tyre_set.c.code.label("set_code"),
            tables.condition,
        )
        .join(tables.clip_source, tables.clip_source.c.clip_id == tables.clip.c.clip_id)
        .join(
            tables.recording, tables.recording.c.recording_id == tables.clip_source.c.recording_id
        )
        .join(tables.tyre_set, tables.tyre_set.c.set_id == tables.recording.c.set_id)
        .join(tables.condition, tables.condition.c.condition_id == tables.clip.c.condition_id)
        .where(tables.clip.c.clip_id.in_(heard))
        .order_by(
            tables.condition.c.position,
            tables.tyre_set.c.code,
            tables.recording.c.run,
            tables.clip.c.clip_id,
        )
    )
    rows: list[list[object]] = []
    for row in connection.execute(query):
        is_calibrated = row.pa_per_full_scale is not None
        offset_db = (
            20 * math.log10(row.pa_per_full_scale / REFERENCE_PRESSURE_PA) if is_calibrated else 0.0
        )
        unit = "dB" if is_calibrated else "dB re full scale"
        for column, figure in _FIGURES.items():
            value = getattr(row, column) + offset_db
            title = condition_from(row).title
            rows.append([row.set_code, title, row.run, "louder ear", figure, unit, value])
    return pd.DataFrame(rows, columns=COLUMNS)


def band_table(connection: sa.Connection) -> BandTable:
    """Return the bands to measure with: the latest version."""
    band = tables.band
    version = connection.execute(sa.select(sa.func.max(tables.band_table.c.version))).scalar_one()
    query = sa.select(band).where(band.c.version == version).order_by(band.c.position)
    return BandTable(
        version,
        tuple(
            Band(row.key, row.name, row.low_hz, row.high_hz) for row in connection.execute(query)
        ),
    )


def write_bands(connection: sa.Connection, table: BandTable, now: datetime) -> None:
    """Add a version of the bands."""
    connection.execute(
        tables.band_table.insert().values(version=table.version, made_at=now.isoformat())
    )
    rows = [
        {
            "version": table.version,
            "position": position,
            "key": band.key,
            "name": band.name,
            "low_hz": band.low_hz,
            "high_hz": band.high_hz,
        }
        for position, band in enumerate(table.bands, start=1)
    ]
    if rows:
        connection.execute(tables.band.insert(), rows)
