"""What has been measured so far, as the measurement table: runs, and the levels of the clips."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.listening_rows import condition_from
from ratings.storage.run_rows import last_measuring, runs
from ratings.study.constants import REFERENCE_PRESSURE_PA

if TYPE_CHECKING:
    import pandas as pd

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
