"""Step 8: which imported scores bore the mark that they were given after the key was opened."""

import sqlalchemy as sa


def apply(connection: sa.Connection) -> None:
    """Create the table, which is only ever added to."""
    statements = (
        """CREATE TABLE lead.brought_mark (
            brought_mark_id INTEGER PRIMARY KEY,
            brought_score_id INTEGER NOT NULL UNIQUE REFERENCES brought_score)""",
        *(
            f"CREATE TRIGGER lead.brought_mark_refuses_{act.lower()} BEFORE {act} ON brought_mark "
            "BEGIN SELECT RAISE(ABORT, 'brought_mark is append-only'); END"
            for act in ("UPDATE", "DELETE")
        ),
    )
    for statement in statements:
        connection.execute(sa.text(statement))
