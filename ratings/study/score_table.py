"""The score table as a CSV file: read with care for what spreadsheets do, strict about content."""

import contextlib
import csv
import io
import os
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ratings.errors import ScoreTableError
from ratings.study.score_checks import check_and_convert

if TYPE_CHECKING:
    import pandas as pd

#: The columns in the order in which they are written.
COLUMNS = (
    "evaluator",
    "set",
    "condition",
    "attribute",
    "repeat",
    "score",
    "pair",
    "side",
    "role",
    "origin",
    "given_at",
)
REQUIRED = ("evaluator", "set", "attribute", "score")
_FIRST_LINE = "The first row must name the columns: evaluator, set, attribute, score."


def read_score_table(
    path: Path | str, scale_low: float = 1.0, scale_high: float = 10.0, step: float | None = None
) -> "pd.DataFrame":
    """Read a score table.

    Parameters
    ----------
    path
        A CSV file in UTF-8 with a row of column names. Columns are separated by a comma, a
        semicolon or a tab; with the latter two a decimal comma is understood. Spaces around a
        cell, a byte order mark and blank rows do not matter.
    scale_low, scale_high
        Ends of the scale; a score outside is refused.
    step
        When given, every score must lie on a step counted from `scale_low`.

    Returns
    -------
    pandas.DataFrame
        One row per score: text columns ``evaluator, set, attribute`` and, when the file has them,
        ``condition, repeat, pair, side, role, origin, given_at`` (``repeat`` as whole numbers);
        ``score`` as float, NaN for an empty cell. Other columns are kept as text. The index is
        the row that a spreadsheet shows, the header being row 1.

    Raises
    ------
    ScoreTableError
        In one sentence that names the file, and the row (as a spreadsheet counts, the column
        names are row 1) and column where there is one.
    """
    source = Path(path)
    text = _text_of(source)
    separator = _separator(text)
    frame = _rows(source, text, separator)
    return check_and_convert(
        source.name, frame, REQUIRED, (scale_low, scale_high, step), separator != ","
    )


def write_score_table(table: "pd.DataFrame", path: Path | str) -> None:
    """Write a score table as CSV in UTF-8, comma and decimal point, whole or not at all.

    Raises
    ------
    ScoreTableError
        When the file cannot be written; what was there before is still there.
    """
    target = Path(path)
    known = [column for column in COLUMNS if column in table.columns]
    others = [column for column in table.columns if column not in COLUMNS]
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        table.to_csv(
            beside, columns=known + others, index=False, encoding="utf-8", lineterminator="\n"
        )
        beside.replace(target)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise ScoreTableError(
            f"{target.name} could not be written: {error.strerror}.",
            "Choose another place; the scores in the study are safe.",
        ) from error


def _text_of(source: Path) -> str:
    if source.is_dir():
        raise ScoreTableError(
            f"{source.name} is a folder, not a score table.", "Choose a CSV file."
        )
    try:
        content = source.read_bytes()
    except FileNotFoundError as error:
        raise ScoreTableError(f"There is no file {source.name}.", "Check the name.") from error
    except OSError as error:
        raise ScoreTableError(f"{source.name} could not be read: {error.strerror}.") from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        raise ScoreTableError(
            f"{source.name}, row {row}, is not text in UTF-8.",
            "Save the table again as CSV UTF-8.",
        ) from error
    if "\0" in text:
        raise ScoreTableError(f"{source.name} is not a text file.", "Save the table as CSV UTF-8.")
    if not text.strip():
        raise ScoreTableError(f"{source.name} is empty.", _FIRST_LINE)
    return text


def _separator(text: str) -> str:
    return max(",;\t", key=_first_line(text).count)


def _first_line(text: str) -> str:
    return next(line for line in io.StringIO(text) if line.strip())


def _rows(source: Path, text: str, separator: str) -> "pd.DataFrame":
    """Cells as stripped text, indexed by the row that a spreadsheet shows."""
    import pandas as pd

    if separator != "\t":
        text = text.replace("\t", " ")
    names = _column_names(source, text, separator)
    try:
        # One column more than named: a row with a cell too many shows, instead of being cut.
        cells = pd.read_csv(
            io.StringIO(text),
            sep=separator,
            header=None,
            names=range(len(names) + 1),
            dtype=str,
            keep_default_na=False,
            skip_blank_lines=False,
            skipinitialspace=True,
        )
    except pd.errors.ParserError as error:
        raise _unreadable(source, text, separator, len(names)) from error
    cells.index = pd.RangeIndex(1, len(cells) + 1)
    cells = cells.fillna("")
    for column in cells.columns:
        # Few cells differ, so each text is stripped once, not once a row.
        codes, texts = pd.factorize(cells[column])
        stripped = np.array([str(text).strip() for text in texts], dtype=object)
        cells[column] = pd.Series(stripped[codes], index=cells.index, dtype=str)
    return _named_columns(source, cells, names)


def _named_columns(source: Path, cells: "pd.DataFrame", names: list[str]) -> "pd.DataFrame":
    beyond = cells.iloc[:, -1] != ""
    if beyond.any():
        raise _too_many_cells(source, int(cells.index[beyond][0]), len(names))
    cells = cells.iloc[:, :-1]
    cells = cells[(cells != "").any(axis=1)].iloc[1:]
    cells.columns = names
    stray = (cells.loc[:, [not name for name in names]] != "").any(axis=1)
    if stray.any():
        raise ScoreTableError(
            f"{source.name}, row {cells.index[stray][0]}: a cell stands in a nameless column.",
            "Name the column in the first row, or clear the cell.",
        )
    return cells.loc[:, [bool(name) for name in names]]


def _column_names(source: Path, text: str, separator: str) -> list[str]:
    first = _first_line(text)
    names = [name.strip().casefold() for name in next(csv.reader([first], delimiter=separator))]
    for name in REQUIRED:
        if name not in names:
            raise ScoreTableError(
                f'{source.name}, row 1: there is no column "{name}".', _FIRST_LINE
            )
    twice = [name for name in names if name and names.count(name) > 1]
    if twice:
        raise ScoreTableError(
            f'{source.name}, row 1: there are two columns "{twice[0]}".', "Remove one of them."
        )
    return names


def _too_many_cells(source: Path, row: int, columns: int) -> ScoreTableError:
    return ScoreTableError(
        f"{source.name}, row {row}: there are more cells than the {columns} columns of row 1.",
        "A decimal comma needs semicolons between the columns.",
    )


def _unreadable(source: Path, text: str, separator: str, columns: int) -> ScoreTableError:
    """Find the row that the fast reader stumbled over."""
    rows = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
    row = 0
    try:
        for row, cells in enumerate(rows, start=1):
            if len(cells) > columns:
                return _too_many_cells(source, row, columns)
    except csv.Error:
        return ScoreTableError(
            f"{source.name}, row {row + 1}: a quotation mark is opened and never closed.",
            "Remove it, or close it.",
        )
    return ScoreTableError(f"{source.name} could not be read as a table.", _FIRST_LINE)
