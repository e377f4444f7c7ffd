"""Step 7: the study's settings, who opened the key, and how imported scores named their sets."""

import sqlalchemy as sa

_TABLES = (
    """CREATE TABLE lead.setting (
        setting_id INTEGER PRIMARY KEY,
        name TEXT NOT NULL,
        value TEXT NOT NULL,
        score_count INTEGER NOT NULL,
        set_at TEXT NOT NULL)""",
    "CREATE INDEX lead.setting_by_name ON setting (name, setting_id)",
    # The last rows before the opening: what came later is told by them, whatever the clock says.
    """CREATE TABLE lead.key_opening (
        key_opening_id INTEGER PRIMARY KEY,
        who TEXT NOT NULL,
        why TEXT NOT NULL,
        last_score_id INTEGER NOT NULL,
        last_brought_score_id INTEGER NOT NULL,
        opened_at TEXT NOT NULL)""",
    """CREATE TABLE lead.score_import (
        score_import_id INTEGER PRIMARY KEY,
        file_hash TEXT NOT NULL,
        sets_by_name INTEGER NOT NULL,
        imported_at TEXT NOT NULL)""",
)


def apply(connection: sa.Connection) -> None:
    """Create the tables, which are only ever added to."""
    for statement in _TABLES:
        connection.execute(sa.text(statement))
    for table in ("setting", "key_opening", "score_import"):
        for act in ("UPDATE", "DELETE"):
            connection.execute(
                sa.text(
                    f"CREATE TRIGGER lead.{table}_refuses_{act.lower()} BEFORE {act} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
                )
            )
