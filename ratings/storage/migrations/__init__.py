"""Numbered steps from an empty file to the tables of today, each applied once."""

from collections.abc import Callable
from datetime import UTC, datetime

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage.migrations import (
    m0001_first_tables,
    m0002_runs_and_measurements,
    m0003_lead_file,
    m0004_ledger,
    m0005_names_in_ledger,
    m0006_played_levels,
    m0007_settings_and_key,
    m0008_brought_marks,
)

#: In order; the number of a step is its place in this list, from 1.
STEPS: tuple[Callable[[sa.Connection], None], ...] = (
    m0001_first_tables.apply,
    m0002_runs_and_measurements.apply,
    m0003_lead_file.apply,
    m0004_ledger.apply,
    m0005_names_in_ledger.apply,
    m0006_played_levels.apply,
    m0007_settings_and_key.apply,
    m0008_brought_marks.apply,
)

_ledger = sa.table("migration", sa.column("number"), sa.column("applied_at"))


def version_of(connection: sa.Connection) -> int:
    """Return how many steps a study file has been through; 0 for an empty file."""
    if "migration" not in sa.inspect(connection).get_table_names():
        return 0
    return int(connection.execute(sa.select(sa.func.max(_ledger.c.number))).scalar() or 0)


def refuse_newer(version: int, name: str) -> None:
    """Refuse a study that a newer Twinset has written.

    Raises
    ------
    StudyError
        Naming both versions; the study is left as it is.
    """
    if version > len(STEPS):
        raise StudyError(
            f"The study {name} was made by a newer Twinset (study format {version}; "
            f"this program knows up to {len(STEPS)}).",
            "Open it with that version or update this one. The study was not changed.",
        )


def migrate(connection: sa.Connection, steps: int | None = None) -> None:
    """Bring a study file up to date, step by step; each step and its record are one transaction.

    Parameters
    ----------
    connection
        A connection outside a transaction, with the lead's file attached.
    steps
        Stop after this step; None for all (tests of old files stop earlier).
    """
    with connection.begin():
        if "migration" not in sa.inspect(connection).get_table_names():
            connection.execute(
                sa.text("CREATE TABLE migration (number INTEGER PRIMARY KEY, applied_at TEXT)")
            )
    for number, step in enumerate(STEPS[:steps], start=1):
        with connection.begin():
            if number <= version_of(connection):
                continue
            step(connection)
            connection.execute(
                _ledger.insert().values(number=number, applied_at=datetime.now(UTC).isoformat())
            )
