"""The named bands of a study, and their versions."""

from datetime import datetime

import sqlalchemy as sa

from ratings.storage import tables
from ratings.study.bands import Band, BandTable


def band_table(connection: sa.Connection) -> BandTable:
    """Return the bands to measure with: the latest version."""
    band = tables.band
    version = connection.execute(sa.select(sa.func.max(tables.band_table.c.version))).scalar_one()
    query = sa.select(band).where(band.c.version == version).order_by(band.c.position)
    return BandTable(
        version,
        tuple(
            Band(row.key, row.name, row.low_hz, row.high_hz) for row in connection.execute(query)
        ),
    )


def write_bands(connection: sa.Connection, table: BandTable, now: datetime) -> None:
    """Add a version of the bands."""
    connection.execute(
        tables.band_table.insert().values(version=table.version, made_at=now.isoformat())
    )
    rows = [
        {
            "version": table.version,
            "position": position,
            "key": band.key,
            "name": band.name,
            "low_hz": band.low_hz,
            "high_hz": band.high_hz,
        }
        for position, band in enumerate(table.bands, start=1)
    ]
    if rows:
        connection.execute(tables.band.insert(), rows)
