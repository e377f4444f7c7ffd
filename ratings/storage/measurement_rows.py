"""What has been measured so far, as the measurement table: the levels of the clips."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.acoustics.levels import REFERENCE_PRESSURE_PA
from ratings.storage import tables
from ratings.storage.listening_rows import condition_from

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = ["set", "condition", "run", "channel", "figure", "unit", "value"]

#: Column of the clip -> name of the figure.
_FIGURES = {
    "leq_a_db_re_full_scale": "equivalent level A",
    "fast_max_a_db_re_full_scale": "fast maximum level A",
}


def clip_levels(connection: sa.Connection) -> pd.DataFrame:
    """Return the levels of every clip, sets under blind codes, in columns `COLUMNS`.

    The unit is ``dB`` re 20 uPa where the recordings are calibrated, else ``dB re full scale``.
    """
    import pandas as pd

    query = (
        sa.select(tables.clip, tables.tyre_set.c.code.label("set_code"), tables.condition)
        .join(tables.clip_source, tables.clip_source.c.clip_id == tables.clip.c.clip_id)
        .join(
            tables.recording, tables.recording.c.recording_id == tables.clip_source.c.recording_id
        )
        .join(tables.tyre_set, tables.tyre_set.c.set_id == tables.recording.c.set_id)
        .join(tables.condition, tables.condition.c.condition_id == tables.clip.c.condition_id)
        .order_by(tables.condition.c.position, tables.tyre_set.c.code)
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
            rows.append([row.set_code, title, 1, "louder ear", figure, unit, value])
    return pd.DataFrame(rows, columns=COLUMNS)
