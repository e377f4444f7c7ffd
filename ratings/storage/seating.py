"""A new evaluator's session: drawn from the plan, written as blind pairs."""

from datetime import datetime

import sqlalchemy as sa

from ratings.design.orders import DESIGN_VERSION, plan_session
from ratings.storage import tables
from ratings.storage.row_ids import next_id


def seat_evaluator(connection: sa.Connection, name: str, now: datetime) -> int:
    """Add an evaluator with the next code and a session of their own; return the session's id.

    Parameters
    ----------
    name
        May be empty: the code is enough for everything but a face.
    now
        Time in UTC.
    """
    ordinal = connection.execute(
        sa.select(sa.func.coalesce(sa.func.max(tables.session.c.ordinal) + 1, 0))
    ).scalar_one()
    evaluator_id = next_id(connection, tables.evaluator.c.evaluator_id)
    session_id = next_id(connection, tables.session.c.session_id)
    seed = connection.execute(sa.select(tables.study.c.seed)).scalar_one()
    connection.execute(
        tables.evaluator.insert().values(
            evaluator_id=evaluator_id, code=_free_code(connection, ordinal + 1), name=name.strip()
        )
    )
    connection.execute(
        tables.session.insert().values(
            session_id=session_id,
            evaluator_id=evaluator_id,
            ordinal=ordinal,
            seed=seed,
            design_version=DESIGN_VERSION,
            created_at=now.isoformat(),
        )
    )
    _write_pairs(connection, session_id, seed, ordinal)
    return session_id


def _write_pairs(connection: sa.Connection, session_id: int, seed: int, ordinal: int) -> None:
    sets = connection.execute(sa.select(tables.tyre_set).order_by(tables.tyre_set.c.position)).all()
    conditions = connection.execute(
        sa.select(tables.condition.c.condition_id).order_by(tables.condition.c.position)
    )
    planned = plan_session(
        control=next(row.set_id for row in sets if row.is_control),
        candidates=[row.set_id for row in sets if not row.is_control],
        conditions=list(conditions.scalars()),
        seed=seed,
        ordinal=ordinal,
    )
    clips = _clips_by_origin(connection)
    first = next_id(connection, tables.pair.c.pair_id)
    for position, pair in enumerate(planned, start=1):
        pair_id = first + position - 1
        connection.execute(
            tables.pair.insert().values(
                pair_id=pair_id,
                session_id=session_id,
                position=position,
                condition_id=pair.condition_id,
                clip_a=clips[pair.set_a, pair.condition_id],
                clip_b=clips[pair.set_b, pair.condition_id],
            )
        )
        connection.execute(tables.pair_role.insert().values(pair_id=pair_id, role=pair.role))


def _clips_by_origin(connection: sa.Connection) -> dict[tuple[int, int], int]:
    source, recording = tables.clip_source, tables.recording
    rows = connection.execute(
        sa.select(source.c.clip_id, recording.c.set_id, recording.c.condition_id).join(
            recording, recording.c.recording_id == source.c.recording_id
        )
    )
    return {(row.set_id, row.condition_id): row.clip_id for row in rows}


def _free_code(connection: sa.Connection, number: int) -> str:
    # Brought-in tables may have taken a code that a session would get.
    taken = set(connection.execute(sa.select(tables.evaluator.c.code)).scalars())
    while f"E{number}" in taken:
        number += 1
    return f"E{number}"
