"""The score table as a CSV file: read with care for what spreadsheets do, strict about content."""

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import ScoreTableError
from ratings.study.formula_cells import marked
from ratings.study.score_checks import check_and_convert
from ratings.study.table_cells import TableKind, read_cells

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
    "after_opening",
)
REQUIRED = ("evaluator", "set", "attribute", "score")
KIND = TableKind("score table", REQUIRED)


def read_score_table(
    path: Path | str, scale_low: float = 1.0, scale_high: float = 10.0, step: float | None = None
) -> "pd.DataFrame":
    """Read a score table.

    Parameters
    ----------
    path
        A CSV file in UTF-8 with a row of column names. Columns are separated by a comma, a
        semicolon or a tab; a decimal comma is understood, which a comma as the separator needs
        quotation marks around. Spaces around a cell, a byte order mark and blank rows do not
        matter.
    scale_low, scale_high
        Ends of the scale; a score outside is refused.
    step
        When given, every score must lie on a step counted from `scale_low`.

    Returns
    -------
    pandas.DataFrame
        One row per score: text columns ``evaluator, set, attribute`` and, when the file has them,
        ``condition, repeat, pair, side, role, origin, given_at`` (``repeat`` as whole numbers);
        ``score`` as float, NaN for an empty cell; ``after_opening`` as bool. Other columns are
        kept as text. The index is the row that a spreadsheet shows, the header being row 1.

    Raises
    ------
    ScoreTableError
        In one sentence that names the file, and the row (as a spreadsheet counts, the column
        names are row 1) and column where there is one.
    """
    source = Path(path)
    cells = read_cells(source, KIND)
    return check_and_convert(source.name, cells, REQUIRED, (scale_low, scale_high, step))


def write_score_table(table: "pd.DataFrame", path: Path | str) -> None:
    """Write a score table as CSV in UTF-8, comma and decimal point, whole or not at all.

    Text that a spreadsheet would run as a formula gets an apostrophe in front, which
    `read_score_table` takes off again; see `ratings.study.formula_cells`.

    Raises
    ------
    ScoreTableError
        When the file cannot be written; what was there before is still there.
    """
    target = Path(path)
    known = [column for column in COLUMNS if column in table.columns]
    others = [column for column in table.columns if column not in COLUMNS]
    # Every spreadsheet leaves 0 and 1 as they are, and writes the words of its own language.
    marks = {name: table[name].astype(int) for name in known if name == "after_opening"}
    text = _with_marks(table[known + others].assign(**marks))
    # Where a line ends in a line feed alone, a carriage return inside a cell is not quoted.
    line_end = "\r\n" if _holds_carriage_return(text) else "\n"
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        text.to_csv(beside, index=False, encoding="utf-8", lineterminator=line_end)
        beside.replace(target)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise ScoreTableError(
            f"{target.name} could not be written: {error.strerror}.",
            "Choose another place; the scores in the study are safe.",
        ) from error


def _with_marks(table: "pd.DataFrame") -> "pd.DataFrame":
    columns = {}
    for name in table.columns:
        changed = {text: marked(text) for text in _texts(table[name]) if marked(text) != text}
        if changed:
            columns[name] = table[name].map(lambda text, new=changed: new.get(text, text))
    return table.assign(**columns).rename(columns=lambda name: marked(str(name)))


def _holds_carriage_return(table: "pd.DataFrame") -> bool:
    return any("\r" in text for name in table.columns for text in _texts(table[name]))


def _texts(column: "pd.Series[str]") -> list[str]:
    return [text for text in column.unique() if isinstance(text, str)]
