"""Refusals that every table shares: empty cells, unknown words, the same cell twice."""

from typing import TYPE_CHECKING

from ratings.errors import ScoreTableError

if TYPE_CHECKING:
    import pandas as pd


def refuse_empty(file_name: str, table: "pd.DataFrame", columns: tuple[str, ...]) -> None:
    """Refuse the first empty cell of these columns; those that the table lacks do not matter."""
    for name in columns:
        if name not in table.columns:
            continue
        empty = table[name] == ""
        if empty.any():
            raise ScoreTableError(
                f"{file_name}, row {table.index[empty][0]}, column {name}: the cell is empty.",
                "Fill it in, or remove the row.",
            )


def refuse_unknown(
    file_name: str, column: "pd.Series[str]", words: tuple[str, ...], then: str
) -> None:
    """Refuse the first word that is none of these, nor empty; `then` says what to do."""
    unknown = ~column.isin(["", *words])
    if unknown.any():
        row = column.index[unknown][0]
        raise ScoreTableError(
            f'{file_name}, row {row}, column {column.name}: "{column[row]}" is not known.', then
        )


def refuse_duplicates(
    file_name: str, table: "pd.DataFrame", cell: tuple[str, ...], called: str
) -> None:
    """Refuse rows that are alike in the columns `cell`, as far as the table has them."""
    key = [column for column in cell if column in table.columns]
    again = table.duplicated(key)
    if not again.any():
        return
    row = table.index[again][0]
    first, *others = table.index[(table[key] == table.loc[row, key]).all(axis=1)]
    what = ", ".join(f"{column} {table.loc[row, column]}" for column in key)
    advice = "number the repeats" if "repeat" in key else "add a column repeat that numbers them"
    raise ScoreTableError(
        f"{file_name}, rows {first} and {', '.join(map(str, others))}: "
        f"the same {called} is given more than once ({what}).",
        f"Keep one of them, or {advice}.",
    )
