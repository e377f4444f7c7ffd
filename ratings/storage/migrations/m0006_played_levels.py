"""Step 6: each opening of a pair says how loud it is played, alike for both sides."""

import sqlalchemy as sa


def apply(connection: sa.Connection) -> None:
    """Give the events of pairs the columns; empty for what was opened before."""
    for column in ("output_db", "below_db"):
        connection.execute(sa.text(f"ALTER TABLE pair_event ADD COLUMN {column} REAL"))
