"""What several commands take and print alike."""

import argparse
import json
import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from ratings.errors import NumberError, ScoreTableError
from ratings.study.attributes import Scale
from ratings.study.written_numbers import read_number, read_whole_number

if TYPE_CHECKING:
    import pandas as pd

Json = dict[str, object]
Figure = TypeVar("Figure", float, int)


def number(text: str) -> float:
    """Read a number from the command line, with a decimal point or a decimal comma."""
    return _read(read_number, text)


def whole_number(text: str) -> int:
    """Read a whole number from the command line."""
    return _read(read_whole_number, text)


def _read(reader: Callable[[str], Figure], text: str) -> Figure:
    try:
        return reader(text)
    except NumberError as problem:
        raise argparse.ArgumentTypeError(problem.what_happened.rstrip(".")) from problem


def named_path(text: str) -> Path:
    """Read a name of a file or folder; an empty one would mean the current folder."""
    if not text:
        raise argparse.ArgumentTypeError("the name is empty")
    return Path(text)


def add_score_options(parser: argparse.ArgumentParser, optional_columns: str) -> None:
    """Take a score table, named with its optional columns, and the scale of its scores."""
    parser.add_argument(
        "scores",
        type=Path,
        metavar="SCORES.csv",
        help=f"columns evaluator,set,attribute,score; optional {optional_columns}",
    )
    parser.add_argument(
        "--scale",
        nargs=2,
        type=number,
        default=(1.0, 10.0),
        metavar=("WORST", "BEST"),
        help="ends of the scale, the worst first (default 1 10); 10 1 where less is better",
    )


def add_json_option(parser: argparse.ArgumentParser) -> None:
    """Take ``--json``."""
    parser.add_argument("--json", action="store_true", help="print figures for other programs")


def add_details_option(parser: argparse.ArgumentParser) -> None:
    """Take ``--details``."""
    parser.add_argument("--details", action="store_true", help="print every figure")


def aligned(rows: Sequence[Sequence[str]], texts: int = 0) -> list[str]:
    """Return a table as lines: names at the left, then figures, and at last so many texts."""
    figures = len(rows[0]) - texts
    widths = [max(len(row[column]) for row in rows) for column in range(figures)]
    return [
        "  ".join(
            [row[0].ljust(widths[0])]
            + [cell.rjust(w) for cell, w in zip(row[1:figures], widths[1:], strict=True)]
            + list(row[figures:])
        ).rstrip()
        for row in rows
    ]


def explained(meanings: Sequence[tuple[str, str]]) -> list[str]:
    """Return one line for each column or mark of a table, with what it is."""
    width = max((len(name) for name, _ in meanings), default=0)
    return [f"{name.ljust(width)}  {meaning}" for name, meaning in meanings]


def scale_of(arguments: argparse.Namespace) -> Scale:
    """Return the scale that was asked for, whichever end is the better one.

    Raises
    ------
    ScoreTableError
        When its ends are not two numbers.
    """
    worst, best = arguments.scale
    if not (math.isfinite(worst) and math.isfinite(best) and worst != best):
        raise ScoreTableError(f"A scale from {worst:g} to {best:g} is not valid.")
    return Scale(low=min(worst, best), high=max(worst, best))


def higher_is_better(table: "pd.DataFrame", arguments: argparse.Namespace) -> "pd.DataFrame":
    """Return a score table on which more is better: turned over where less was."""
    worst, best = arguments.scale
    if worst < best:
        return table
    return table.assign(score=worst + best - table["score"])


def printed(figures: Json) -> str:
    """Return figures as JSON text; an infinite or undefined number in them is a defect."""
    text = json.dumps(figures, indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    # Bytes of a file name that are no text become escapes, from which the name can be had again.
    return text.encode("utf-8", "backslashreplace").decode()
