"""What each person was played: how long and how loud."""

from collections.abc import Iterator
from datetime import UTC, datetime, time
from typing import NamedTuple

import sqlalchemy as sa

from ratings.storage import tables


class Played(NamedTuple):
    """A stretch of time for which somebody listened.

    Attributes
    ----------
    level_db_a
        A-weighted equivalent level at the ear re 20 uPa; None when it is not known.
    """

    seconds: float
    level_db_a: float | None


def played_since(connection: sa.Connection, evaluator_id: int, since: datetime) -> list[Played]:
    """Return what an evaluator was played since an instant, in the order of hearing."""
    query = _since(since).where(tables.exposure.c.evaluator_id == evaluator_id)
    return [played for _, played in _played(connection, query)]


def played_by_everyone_since(connection: sa.Connection, since: datetime) -> dict[str, list[Played]]:
    """Return what everybody was played since an instant, by evaluator code; nobody is left out."""
    codes = sa.select(tables.evaluator.c.code).order_by(tables.evaluator.c.evaluator_id)
    found: dict[str, list[Played]] = {code: [] for code in connection.execute(codes).scalars()}
    for code, played in _played(connection, _since(since)):
        found[code].append(played)
    return found


def start_of_day(now: datetime) -> datetime:
    """Return the last midnight of the place where this computer stands, in UTC."""
    midnight = datetime.combine(now.astimezone().date(), time.min)
    return midnight.astimezone(UTC)


def _since(since: datetime) -> sa.Select[tuple[object, ...]]:
    exposure, evaluator = tables.exposure, tables.evaluator
    return (
        sa.select(evaluator.c.code, exposure.c.seconds, exposure.c.level_db_a)
        .join(evaluator, evaluator.c.evaluator_id == exposure.c.evaluator_id)
        # Times are kept in UTC and in one form, so that their text is in their order.
        .where(exposure.c.began_at >= since.astimezone(UTC).isoformat())
        .order_by(exposure.c.began_at, exposure.c.exposure_id)
    )


def _played(
    connection: sa.Connection, query: sa.Select[tuple[object, ...]]
) -> Iterator[tuple[str, Played]]:
    for row in connection.execute(query):
        yield row.code, Played(row.seconds, row.level_db_a)
