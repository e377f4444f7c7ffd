"""The choice table as a CSV file: who preferred which of two sets."""

from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import ScoreTableError
from ratings.study.table_cells import TableKind, read_cells

if TYPE_CHECKING:
    import pandas as pd

KIND = TableKind("choice table", ("evaluator", "first", "second", "choice"))
#: In the order of their codes in `ratings.statistics.preference.pair_counts`.
CHOICES = ("first", "second", "none")
#: What makes two choices the same cell.
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
    cells, _ = read_cells(source, KIND)
    if cells.empty:
        raise ScoreTableError(
            f"{source.name} has column names but no choices.", "Add one row for each choice."
        )
    unused = [c for c in cells.columns if c not in KIND.required and (cells[c] == "").all()]
    table = cells.drop(columns=unused)
    for column in CELL:
        if column in table.columns:
            _refuse_empty(source.name, table[column], column)
    _refuse_unknown(source.name, table["choice"])
    _refuse_duplicates(source.name, table)
    return table.reset_index(drop=True)


def _refuse_empty(file_name: str, column: "pd.Series[str]", name: str) -> None:
    empty = column == ""
    if empty.any():
        raise ScoreTableError(
            f"{file_name}, row {column.index[empty][0]}, column {name}: the cell is empty.",
            "Fill it in, or remove the row.",
        )


def _refuse_unknown(file_name: str, column: "pd.Series[str]") -> None:
    unknown = ~column.isin(["", *CHOICES])
    if unknown.any():
        row = column.index[unknown][0]
        raise ScoreTableError(
            f'{file_name}, row {row}, column choice: "{column[row]}" is not known.',
            f"Write {' or '.join(CHOICES)}, or leave the cell empty.",
        )


def _refuse_duplicates(file_name: str, table: "pd.DataFrame") -> None:
    key = [column for column in CELL if column in table.columns]
    again = table.duplicated(key)
    if not again.any():
        return
    row = table.index[again][0]
    first, *others = table.index[(table[key] == table.loc[row, key]).all(axis=1)]
    what = ", ".join(f"{column} {table.loc[row, column]}" for column in key)
    raise ScoreTableError(
        f"{file_name}, rows {first} and {', '.join(map(str, others))}: "
        f"the same pair is given more than once ({what}).",
        "Keep one of them, or add a column repeat that numbers them.",
    )
