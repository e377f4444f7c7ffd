"""The choice table as a CSV file: who preferred which of two sets."""

from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import ScoreTableError
from ratings.study.column_checks import refuse_duplicates, refuse_empty, refuse_unknown
from ratings.study.table_cells import TableKind, read_cells

if TYPE_CHECKING:
    import pandas as pd

KIND = TableKind("choice table", ("evaluator", "first", "second", "choice"))
#: In the order of their codes in `ratings.statistics.preference.pair_counts`.
CHOICES = ("first", "second", "none")
#: What makes two choices the same cell, and may therefore not be empty.
CELL = ("evaluator", "first", "second", "attribute", "condition", "repeat")


def read_choice_table(path: Path | str) -> "pd.DataFrame":
    """Read a choice table.

    Parameters
    ----------
    path
        A CSV file as for scores. Columns ``evaluator, first, second, choice``; optional
        ``attribute, condition, repeat``.

    Returns
    -------
    pandas.DataFrame
        One row per choice, all text. ``choice`` is ``first``, ``second``, ``none`` (no
        difference), or empty where it is missing. Other columns are kept.

    Raises
    ------
    ScoreTableError
        In one sentence that names the file, and the row and column where there is one.
    """
    source = Path(path)
    cells = read_cells(source, KIND)
    if cells.empty:
        raise ScoreTableError(
            f"{source.name} has column names but no choices.", "Add one row for each choice."
        )
    unused = [c for c in cells.columns if c not in KIND.required and (cells[c] == "").all()]
    table = cells.drop(columns=unused)
    refuse_empty(source.name, table, CELL)
    refuse_unknown(
        source.name,
        table["choice"],
        CHOICES,
        f"Write {' or '.join(CHOICES)}, or leave the cell empty.",
    )
    refuse_duplicates(source.name, table, CELL, "pair")
    return table.reset_index(drop=True)
