"""Cells of a CSV file as text: lenient about what spreadsheets do, strict about the rest."""

import csv
import io
import re
import stat
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ratings.errors import ScoreTableError, reason_of
from ratings.study.formula_cells import unmarked

if TYPE_CHECKING:
    import pandas as pd

_LONGEST_NAME = 255
_LINE_END = re.compile(rb"\r\n|\r|\n")
_TABS_BEFORE_QUOTATION = re.compile(r'(^|[,;\r\n])[ \t]+(?=")')


@dataclass(frozen=True, slots=True)
class TableKind:
    """What a table is called, and the columns that it must have."""

    name: str
    required: tuple[str, ...]

    @property
    def first_row(self) -> str:
        """What to do about a table without column names."""
        return f"The first row must name the columns: {', '.join(self.required)}."


def read_cells(source: Path, kind: TableKind) -> "pd.DataFrame":
    """Read the cells of a table.

    Parameters
    ----------
    source
        A CSV file in UTF-8 with a row of column names, separated by a comma, a semicolon or a
        tab. Lines may end in any of the usual ways. Spaces around a cell, a byte order mark and
        blank rows do not matter; an apostrophe that marks a formula as text is taken off.

    Returns
    -------
    pandas.DataFrame
        Stripped text by column name, indexed by the row that a spreadsheet shows (the column
        names are row 1).

    Raises
    ------
    ScoreTableError
        In one sentence that names the file, and the row where there is one.
    """
    text = _text_of(source, kind)
    return _rows(source, text, _separator(text), kind)


def _text_of(source: Path, kind: TableKind) -> str:
    try:
        mode = source.stat().st_mode
        if stat.S_ISDIR(mode):
            raise ScoreTableError(
                f"{source.name} is a folder, not a {kind.name}.", "Choose a CSV file."
            )
        if not stat.S_ISREG(mode):
            # A pipe would be waited for without an end.
            raise ScoreTableError(
                f"{source.name} is not an ordinary file.", "Save what it gives as a file first."
            )
        content = source.read_bytes()
    except FileNotFoundError as error:
        raise ScoreTableError(f"There is no file {source.name}.", "Check the name.") from error
    except OSError as error:
        # A name that is too long is not repeated.
        name = source.name if len(source.name) <= _LONGEST_NAME else f"{source.name[:20]}..."
        raise ScoreTableError(f"{name} could not be read: {reason_of(error)}.") from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = len(_LINE_END.findall(content[: error.start])) + 1
        raise ScoreTableError(
            f"{source.name}, row {row}, is not text in UTF-8.",
            "Save the table again as CSV UTF-8.",
        ) from error
    if "\0" in text:
        raise ScoreTableError(f"{source.name} is not a text file.", "Save the table as CSV UTF-8.")
    if not text.strip():
        raise ScoreTableError(f"{source.name} is empty.", kind.first_row)
    return text


def _separator(text: str) -> str:
    return max(",;\t", key=_first_line(text).count)


def _first_line(text: str) -> str:
    return next(line for line in io.StringIO(text, newline="") if line.strip()).rstrip("\r\n")


def _rows(source: Path, text: str, separator: str, kind: TableKind) -> "pd.DataFrame":
    """Cells as stripped text, indexed by the row that a spreadsheet shows."""
    import pandas as pd

    # The fast reader passes over spaces before a quotation mark, but not over tabs.
    if separator != "\t" and "\t" in text:
        text = _TABS_BEFORE_QUOTATION.sub(r"\1", text)
    names = _column_names(source, text, separator, kind)
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
        raise _unreadable(source, text, separator, names, kind) from error
    cells.index = pd.RangeIndex(1, len(cells) + 1)
    cells = cells.fillna("")
    for column in cells.columns:
        # Few cells differ, so each text is stripped once, not once a row.
        codes, texts = pd.factorize(cells[column])
        stripped = np.array([unmarked(str(text).strip()) for text in texts], dtype=object)
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


def _column_names(source: Path, text: str, separator: str, kind: TableKind) -> list[str]:
    first = _first_line(text)
    row = next(csv.reader([first], delimiter=separator))
    names = [unmarked(name.strip()).casefold() for name in row]
    for name in kind.required:
        if name not in names:
            raise ScoreTableError(
                f'{source.name}, row 1: there is no column "{name}".', kind.first_row
            )
    twice = next((name for name, count in Counter(names).items() if name and count > 1), None)
    if twice is not None:
        raise ScoreTableError(
            f'{source.name}, row 1: there are two columns "{twice}".', "Remove one of them."
        )
    return names


def _too_many_cells(source: Path, row: int, columns: int) -> ScoreTableError:
    return ScoreTableError(
        f"{source.name}, row {row}: there are more cells than the {columns} columns of row 1.",
        "A decimal comma needs semicolons between the columns.",
    )


def _unreadable(
    source: Path, text: str, separator: str, names: list[str], kind: TableKind
) -> ScoreTableError:
    """Find the row that the fast reader stumbled over."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    row = 0
    try:
        for row, cells in enumerate(rows, start=1):
            if len(cells) > len(names):
                return _too_many_cells(source, row, len(names))
    except csv.Error:
        return ScoreTableError(
            f"{source.name}, row {row + 1}: a quotation mark is opened and never closed.",
            "Remove it, or close it.",
        )
    return ScoreTableError(f"{source.name} could not be read as a table.", kind.first_row)
