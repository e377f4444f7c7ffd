"""What a score table may hold, checked column by column."""

import re
from typing import TYPE_CHECKING

import numpy as np

from ratings.errors import NumberError, ScoreTableError
from ratings.study.column_checks import refuse_duplicates, refuse_empty, refuse_unknown
from ratings.study.written_numbers import read_number

if TYPE_CHECKING:
    import pandas as pd

_WHOLE = re.compile(r"\d{1,9}")
#: What makes two scores the same cell, and may therefore not be empty.
CELL = ("evaluator", "set", "attribute", "condition", "repeat", "origin")
_WORDS = {
    "origin": ("listened", "driven"),
    "side": ("A", "B"),
    "role": ("candidate", "null", "repeat"),
}

_YES, _NO = ("1", "true"), ("0", "false")


def check_and_convert(
    file_name: str,
    cells: "pd.DataFrame",
    required: tuple[str, ...],
    scale: tuple[float, float, float | None],
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
    if "after_opening" in table.columns:
        table["after_opening"] = _marks(file_name, table["after_opening"])
    table["score"] = _scores(file_name, table["score"], scale)
    if "repeat" in table.columns and all(map(_WHOLE.fullmatch, table["repeat"].unique())):
        table["repeat"] = table["repeat"].astype(np.int64)
    refuse_duplicates(file_name, table, CELL, "cell")
    return table


def _marks(file_name: str, column: "pd.Series[str]") -> "pd.Series[bool]":
    """Read marks that say yes or no; an empty cell is not marked."""
    plain = column.str.casefold()
    refuse_unknown(file_name, plain, (*_YES, *_NO), "Write 1 for yes or 0 for no.")
    return plain.isin(_YES)


def _scores(
    file_name: str,
    column: "pd.Series[str]",
    scale: tuple[float, float, float | None],
) -> "pd.Series[float]":
    import pandas as pd

    codes, texts = pd.factorize(column)
    # They come in the order of the rows, so that the first refused is the first in the file.
    values = np.array([_number(file_name, column, text) for text in texts], dtype=np.float64)
    low, high, step = scale
    steps = np.zeros_like(values) if step is None else (values - low) / step
    problems = (
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


def _number(file_name: str, column: "pd.Series[str]", text: str) -> float:
    if not text:
        return float("nan")
    try:
        return read_number(text)
    except NumberError as problem:
        row = column.index[column == text][0]
        raise ScoreTableError(
            f"{file_name}, row {row}, column score: {problem.what_happened}",
            f"{problem.what_to_do} A cell may be empty.",
        ) from problem
