"""Sessions drawn from the plan and written as blind pairs, before anybody sits down."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ratings.design.orders import DESIGN_VERSION, PlannedPair, Role, plan_session
from ratings.design.streams import stream
from ratings.storage import tables
from ratings.storage.cells import BadCellError
from ratings.storage.row_ids import add_row, add_rows
from ratings.storage.seat_desk import sessions_ready, take_session
from ratings.storage.study_folder import Study

#: So many sessions lie ready beyond those that are taken (own choice): whoever sits down can take
#: one where the lead's file is out of reach. They look like any other.
SPARE_SESSIONS = 8


def seat_evaluator(connection: sa.Connection, name: str, now: datetime) -> int:
    """Add an evaluator with the next code and a session of their own; return the session's id.

    Parameters
    ----------
    name
        May be empty: the code is enough for everything but a face.
    now
        Time in UTC.
    """
    session_id = take_session(connection, name, now)
    while session_id is None:
        _prepare_session(connection, now)
        session_id = take_session(connection, name, now)
    return session_id


def keep_seats_ready(study: Study, now: datetime) -> None:
    """Prepare sessions until enough lie ready; nothing where the study may only be read."""
    if study.is_read_only:
        return
    with study.reading() as connection:
        if sessions_ready(connection) >= SPARE_SESSIONS:
            return
    with study.writing() as connection:
        prepare_spares(connection, now)


def prepare_spares(connection: sa.Connection, now: datetime) -> None:
    """Prepare sessions until enough lie ready."""
    for _ in range(sessions_ready(connection), SPARE_SESSIONS):
        _prepare_session(connection, now)


def _prepare_session(connection: sa.Connection, now: datetime) -> None:
    ordinal = connection.execute(
        sa.select(sa.func.coalesce(sa.func.max(tables.session.c.ordinal) + 1, 0))
    ).scalar_one()
    session_id = add_row(
        connection,
        tables.session,
        ordinal=ordinal,
        design_version=DESIGN_VERSION,
        created_at=now.isoformat(),
    )
    seed = int(connection.execute(sa.select(tables.design.c.seed)).scalar_one())
    sets = connection.execute(sa.select(tables.tyre_set).order_by(tables.tyre_set.c.position)).all()
    conditions = connection.execute(
        sa.select(tables.condition.c.condition_id).order_by(tables.condition.c.position)
    )
    control = control_among(sets).set_id
    planned = plan_session(
        control=control,
        candidates=[row.set_id for row in sets if not row.is_control],
        conditions=list(conditions.scalars()),
        seed=seed,
        ordinal=ordinal,
    )
    copies = _Copies(connection, control, seed, ordinal)
    _write_pairs(connection, session_id, planned, copies)


class _Copies:
    """Which clips are played for the pairs of a session.

    The two copies of a repeated comparison change places at random from session to session, and
    the two of a null pair their sides, which neighbouring sessions exchange like all others.
    """

    def __init__(self, connection: sa.Connection, control: int, seed: int, ordinal: int) -> None:
        self._control = control
        self._clips = {
            (row.condition_id, row.set_id, row.role): (row.clip_id, row.control_clip_id)
            for row in connection.execute(sa.select(tables.comparison))
        }
        self._are_swapped = bool(stream(seed, "copies of the repeat", ordinal).integers(2))
        null = int(stream(seed, "sides of the null pair", ordinal // 2).integers(2))
        self._null_is_turned = null != ordinal % 2

    def of(self, pair: PlannedPair) -> tuple[int, int]:
        """Return the clips of side A and side B."""
        own_set = pair.set_b if pair.set_a == self._control else pair.set_a
        role = pair.role
        other: Role = "repeat" if role == "candidate" else "candidate"
        if self._are_swapped and (pair.condition_id, own_set, other) in self._clips:
            role = other
        own, control = self._clips[pair.condition_id, own_set, role]
        control_first = self._null_is_turned if role == "null" else pair.set_a == self._control
        return (control, own) if control_first else (own, control)


def control_among(sets: Sequence[sa.Row[Any]]) -> sa.Row[Any]:
    """Return the one set that the others are compared with.

    Raises
    ------
    BadCellError
        When none is marked as the control, or several are.
    """
    marked = [row for row in sets if row.is_control]
    if len(marked) != 1:
        raise BadCellError(f"{len(marked)} sets are marked as the control, where one must be.")
    return marked[0]


def _write_pairs(
    connection: sa.Connection, session_id: int, planned: tuple[PlannedPair, ...], copies: _Copies
) -> None:
    rows = []
    for position, pair in enumerate(planned, start=1):
        clip_a, clip_b = copies.of(pair)
        rows.append(
            {
                "session_id": session_id,
                "position": position,
                "condition_id": pair.condition_id,
                "clip_a": clip_a,
                "clip_b": clip_b,
            }
        )
    roles = [
        {"pair_id": pair_id, "role": pair.role}
        for pair_id, pair in zip(add_rows(connection, tables.pair, rows), planned, strict=True)
    ]
    connection.execute(tables.pair_role.insert(), roles)
