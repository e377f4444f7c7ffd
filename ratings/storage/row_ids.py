"""Numbers for new rows."""

import sqlalchemy as sa


def next_id(connection: sa.Connection, column: sa.ColumnClause[int]) -> int:
    """Return the number after the highest in a column."""
    highest = sa.func.coalesce(sa.func.max(column), 0)
    return int(connection.execute(sa.select(highest + 1)).scalar_one())
