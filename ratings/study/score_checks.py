"""What a score table may hold, checked column by column."""

import re
from typing import TYPE_CHECKING

import numpy as np

from ratings.errors import ScoreTableError
from ratings.study.column_checks import refuse_duplicates, refuse_empty, refuse_unknown

if TYPE_CHECKING:
    import pandas as pd

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_WHOLE = re.compile(r"\d{1,9}")
#: What makes two scores the same cell, and may therefore not be empty.
CELL = ("evaluator", "set", "attribute", "condition", "repeat", "origin")
_WORDS = {
    "origin": ("listened", "driven"),
    "side": ("A", "B"),
    "role": ("candidate", "null", "repeat"),
}


def check_and_convert(
    file_name: str,
    cells: "pd.DataFrame",
    required: tuple[str, ...],
    scale: tuple[float, float, float | None],
    decimal_comma: bool,
) -> "pd.DataFrame":
    """Turn text cells into a score table, or refuse the first that cannot be one.

    Parameters
    ----------
    file_name
        Named in the refusal.
    cells
        Stripped text; the index is the row that a spreadsheet shows.
    required
        Columns that stay even when they are empty.
    scale
        Lowest score, highest score, step or None.
    decimal_comma
        Whether ``7,5`` is a number.
    """
    if cells.empty:
        raise ScoreTableError(
            f"{file_name} has column names but no scores.", "Add one row for each score."
        )
    unused = [c for c in cells.columns if c not in required and (cells[c] == "").all()]
    table = cells.drop(columns=unused)
    refuse_empty(file_name, table, CELL)
    for column, words in _WORDS.items():
        if column in table.columns:
            refuse_unknown(file_name, table[column], words, f"Write {' or '.join(words)}.")
    table["score"] = _scores(file_name, table["score"], scale, decimal_comma)
    if "repeat" in table.columns and all(map(_WHOLE.fullmatch, table["repeat"].unique())):
        table["repeat"] = table["repeat"].astype(np.int64)
    refuse_duplicates(file_name, table, CELL, "cell")
    return table


def _scores(
    file_name: str,
    column: "pd.Series[str]",
    scale: tuple[float, float, float | None],
    decimal_comma: bool,
) -> "pd.Series[float]":
    import pandas as pd

    codes, texts = pd.factorize(column)
    values = np.array([_number(text, decimal_comma) for text in texts], dtype=np.float64)
    low, high, step = scale
    empty = np.array([text == "" for text in texts], dtype=bool)
    steps = np.zeros_like(values) if step is None else (values - low) / step
    problems = (
        (np.isnan(values) & ~empty, "is not a number", "Write a number, or leave the cell empty."),
        (
            (values < low) | (values > high),
            f"lies outside the scale from {low:g} to {high:g}",
            "Correct it, or set the scale that was used.",
        ),
        (
            np.abs(steps - np.round(steps)) > 1e-6,
            f"is not on a step of {step}",
            "Correct it, or set the step that was used.",
        ),
    )
    for wrong, what, then in problems:
        if wrong.any():
            place = int(np.argmax(wrong[codes]))
            raise ScoreTableError(
                f'{file_name}, row {column.index[place]}, column score: "{column.iloc[place]}" '
                f"{what}.",
                then,
            )
    return pd.Series(values[codes], index=column.index)


def _number(text: str, decimal_comma: bool) -> float:
    if decimal_comma and text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    return float(text) if _NUMBER.fullmatch(text) else float("nan")
