"""How long each pair took, read out of the database as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.listening_rows import pair_durations_s

if TYPE_CHECKING:
    import pandas as pd


def pair_times(connection: sa.Connection) -> pd.DataFrame:
    """Return the time spent on every pair that tells one, in order of sessions and pairs."""
    import pandas as pd

    events = sa.select(tables.pair_event).order_by(tables.pair_event.c.pair_event_id)
    durations_s = pair_durations_s(connection.execute(events))
    rows = [
        (
            row.evaluator,
            row.pair,
            row.role,
            durations_s[row.pair_id],
            row.frames_a / row.rate_a_hz + row.frames_b / row.rate_b_hz,
        )
        for row in connection.execute(_pairs())
        if row.pair_id in durations_s
    ]
    # Typed, so that a table without rows is one of numbers too.
    return pd.DataFrame(
        rows, columns=["evaluator", "pair", "role", "seconds", "both_sides_s"]
    ).astype({"seconds": "float64", "both_sides_s": "float64"})


def _pairs() -> sa.Select[tuple[object]]:
    pair, role = tables.pair, tables.pair_role
    clip_a, clip_b = tables.clip.alias("side_a"), tables.clip.alias("side_b")
    return (
        sa.select(
            pair.c.pair_id,
            tables.evaluator.c.code.label("evaluator"),
            pair.c.position.label("pair"),
            role.c.role,
            clip_a.c.frames.label("frames_a"),
            clip_a.c.sample_rate_hz.label("rate_a_hz"),
            clip_b.c.frames.label("frames_b"),
            clip_b.c.sample_rate_hz.label("rate_b_hz"),
        )
        .select_from(pair)
        .join(tables.session, tables.session.c.session_id == pair.c.session_id)
        .join(tables.seat, tables.seat.c.session_id == pair.c.session_id)
        .join(tables.evaluator, tables.evaluator.c.evaluator_id == tables.seat.c.evaluator_id)
        .join(role, role.c.pair_id == pair.c.pair_id)
        .join(clip_a, clip_a.c.clip_id == pair.c.clip_a)
        .join(clip_b, clip_b.c.clip_id == pair.c.clip_b)
        .order_by(tables.session.c.ordinal, pair.c.position)
    )
