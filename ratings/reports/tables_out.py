"""The score table and the measurement table of a study as CSV and as Parquet."""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import RatingsError
from ratings.reports.writing import write_whole
from ratings.study.score_table import write_score_table

if TYPE_CHECKING:
    import pandas as pd


def write_tables(tables: Mapping[str, "pd.DataFrame"], folder: Path) -> tuple[Path, ...]:
    """Write tables in both forms into a folder, by the names of their files; return where they are.

    CSV comes first, so that it is there when Parquet cannot be written.

    Raises
    ------
    RatingsError
        When a file cannot be written, or Arrow is not installed.
    """
    written = []
    for name, table in tables.items():
        written.append(folder / f"{name}.csv")
        write_score_table(table, written[-1])
    for name, table in tables.items():
        written.append(write_whole(parquet_of(table), folder / f"{name}.parquet"))
    return tuple(written)


def parquet_of(table: "pd.DataFrame") -> bytes:
    """Return a table as a Parquet file: numbers as numbers, what is undefined as null.

    The table's attributes are written as words of the schema; the same table gives the same bytes.

    Raises
    ------
    RatingsError
        When Arrow is not installed.
    """
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError as problem:
        raise RatingsError(
            f"Parquet needs the package {problem.name}, which is not installed here.",
            "The tables in CSV hold the same.",
        ) from problem
    names = [str(name) for name in table.columns]
    # Column by column: a table made by Arrow's own way would hold the versions of pandas and Arrow.
    columns = [pa.Array.from_pandas(table[name]) for name in table.columns]
    told = {str(name): str(words) for name, words in table.attrs.items()}
    content = io.BytesIO()
    parquet.write_table(pa.table(columns, names=names, metadata=told or None), content)
    return content.getvalue()
