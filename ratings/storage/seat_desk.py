"""What the page of seats may do: see who was played how much, take a seat, give one back.

Only the blind tables are read and written here (see tables.BLIND). Sessions lie ready as blind
pairs, so that whoever sits down needs nothing of the lead's file.
"""

from collections.abc import Callable
from datetime import datetime

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.blind_study import BlindStudy, utc_now
from ratings.storage.exposure_rows import Played, played_by_everyone_since, start_of_day
from ratings.storage.listening_rows import is_begun
from ratings.storage.row_ids import add_row
from ratings.study.listening import name_key


class SeatDesk:
    """The seats of an open study."""

    def __init__(self, study: BlindStudy, clock: Callable[[], datetime] = utc_now) -> None:
        self.study = study
        self._clock = clock

    def exposure_today(self) -> dict[str, list[Played]]:
        """Return what everybody was played since midnight, by evaluator code.

        Midnight is that of the place where this computer stands. Only what was played from this
        study is known here. One stretch tells how loud its clip is: show sums.
        """
        with self.study.reading() as connection:
            return played_by_everyone_since(connection, start_of_day(self._clock()))

    def seat(self, name: str) -> int:
        """Add an evaluator, who takes the next session that lies ready; return the session's id.

        Raises
        ------
        StudyError
            When no session lies ready.
        """
        with self.study.writing() as connection:
            session_id = take_session(connection, name, self._clock())
        if session_id is None:
            raise StudyError(
                f"Every session of {self.study.folder.name} that lay ready is taken.",
                "Let the lead open the study: that prepares more. Nothing was changed.",
            )
        return session_id

    def give_back(self, session_id: int) -> None:
        """Leave a seat on which nobody has begun; its session lies ready again.

        Raises
        ------
        StudyError
            When anything is kept of it.
        """
        seat = tables.seat
        begun = sa.select(is_begun(seat.c.session_id, seat.c.evaluator_id)).where(
            seat.c.session_id == session_id
        )
        with self.study.writing() as connection:
            if connection.execute(begun).scalar():
                raise StudyError(
                    "Somebody has begun on this seat, so it stays.", "Nothing was changed."
                )
            connection.execute(seat.delete().where(seat.c.session_id == session_id))


def ready_sessions(study: BlindStudy) -> int:
    """Return how many sessions lie ready for people who have no seat yet."""
    with study.reading() as connection:
        return sessions_ready(connection)


def sessions_ready(connection: sa.Connection) -> int:
    """Return how many sessions nobody has taken."""
    sessions, seats = (
        connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()
        for table in (tables.session, tables.seat)
    )
    return int(sessions) - int(seats)


def take_session(connection: sa.Connection, name: str, now: datetime) -> int | None:
    """Add an evaluator with the next code on the first session that lies ready.

    Parameters
    ----------
    name
        May be empty: the code is enough for everything but a face.
    now
        Time in UTC.

    Returns
    -------
    Id of the session; None when none lies ready.

    Raises
    ------
    StudyError
        When somebody of this name has a seat, however it is written.
    """
    _refuse_known(connection, name)
    session, seat, evaluator = tables.session, tables.seat, tables.evaluator
    ready = (
        sa.select(session.c.session_id, session.c.ordinal)
        .where(session.c.session_id.not_in(sa.select(seat.c.session_id)))
        # In their order: neighbours hear the comparisons with sides exchanged.
        .order_by(session.c.ordinal)
        .limit(1)
    )
    found = connection.execute(ready).first()
    if found is None:
        return None
    code = _free_code(connection, found.ordinal + 1)
    evaluator_id = add_row(connection, evaluator, code=code, name=name.strip())
    connection.execute(
        seat.insert().values(
            session_id=found.session_id, evaluator_id=evaluator_id, taken_at=now.isoformat()
        )
    )
    return int(found.session_id)


def _refuse_known(connection: sa.Connection, name: str) -> None:
    evaluator, seat = tables.evaluator, tables.seat
    query = sa.select(evaluator.c.code, evaluator.c.name).join(
        seat, seat.c.evaluator_id == evaluator.c.evaluator_id
    )
    for row in connection.execute(query):
        if name.strip() and name_key(row.name) == name_key(name):
            raise StudyError(
                f"There is a seat for {row.name} already: {row.code}.",
                "Choose it in the list, or add an initial that tells the two people apart.",
            )


def _free_code(connection: sa.Connection, number: int) -> str:
    # Brought-in tables may have taken a code that a session would get.
    taken = set(connection.execute(sa.select(tables.evaluator.c.code)).scalars())
    while f"E{number}" in taken:
        number += 1
    return f"E{number}"
