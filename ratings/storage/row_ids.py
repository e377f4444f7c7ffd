"""Ids for new rows, generated: two copies of a study hardly ever give the same one."""

import secrets
import time
from collections.abc import Mapping, Sequence

import sqlalchemy as sa

#: 2025-01-01 in UTC. From here on 41 bits count milliseconds, until 2094.
_EPOCH_MS = 1_735_689_600_000
_RANDOM_BITS = 22
#: A clock past this leaves room for ids all the same.
_LATEST_MS = 2**41 - 2**31


def add_rows(
    connection: sa.Connection, table: sa.TableClause, rows: Sequence[Mapping[str, object]]
) -> list[int]:
    """Insert rows under new ids; return the ids in the order of the rows.

    Parameters
    ----------
    table
        One whose first column is its id.
    rows
        The other columns.
    """
    ids = new_ids(connection, table, len(rows))
    column = _id_column(table)
    if ids:
        connection.execute(
            table.insert(),
            [{column.name: id_, **row} for id_, row in zip(ids, rows, strict=True)],
        )
    return ids


def add_row(connection: sa.Connection, table: sa.TableClause, **columns: object) -> int:
    """Insert one row under a new id; return the id."""
    return add_rows(connection, table, [columns])[0]


def new_ids(connection: sa.Connection, table: sa.TableClause, count: int) -> list[int]:
    """Make ids for rows of a table, rising, each behind all that are there.

    They begin with the time in milliseconds and end at random. That they rise, whatever the clock
    says, is what lets the latest row count and the chain of hashes go on.
    """
    highest = sa.select(sa.func.coalesce(sa.func.max(_id_column(table)), 0))
    since_ms = min(max(time.time_ns() // 1_000_000 - _EPOCH_MS, 0), _LATEST_MS)
    last = max(int(connection.execute(highest).scalar_one()), since_ms << _RANDOM_BITS)
    ids = []
    for _ in range(count):
        last += 1 + secrets.randbelow(2 ** (_RANDOM_BITS - 1))
        ids.append(last)
    return ids


def _id_column(table: sa.TableClause) -> sa.ColumnClause[int]:
    return next(iter(table.columns))
