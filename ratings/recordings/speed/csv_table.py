"""Speed traces from tables with a column of times and one of speeds."""

import csv
import io
from pathlib import Path

import numpy as np

from ratings.errors import NumberError, RecordingError
from ratings.recordings.opening import shown_name
from ratings.recordings.speed.record import SpeedRecord, checked_trace
from ratings.study.constants import KM_H_PER_M_S
from ratings.study.written_numbers import read_number

_TIME_COLUMN = "time_s"
_FACTOR_BY_COLUMN = {
    "speed_km_h": 1.0,
    "speed_kmh": 1.0,
    "speed_m_s": KM_H_PER_M_S,
    "speed_mps": KM_H_PER_M_S,
}
_MOST_SHOWN_COLUMNS = 8
_WANTED = "Give the columns time_s and speed_km_h (or speed_m_s), named in the first row."


def read_csv(path: Path, text: str) -> SpeedRecord:
    """Read a table whose first row names its columns.

    Separators are commas, semicolons or tabs. Either decimal mark is understood; between commas
    a decimal comma needs quotation marks.
    Further columns are left aside; rows without any entry too.

    Raises
    ------
    RecordingError
        When a column is missing or doubled, or a time or speed is no number, naming it; when a row
        has more entries than there are columns.
    """
    rows = text.lstrip("\ufeff").splitlines()
    heading = next(index for index, row in enumerate(rows) if row.strip())
    separator = _separator(rows[heading])
    names = [cell.strip().strip('"').lower() for cell in rows[heading].split(separator)]
    time_index, speed_index = _columns(path, names)
    factor = _FACTOR_BY_COLUMN[names[speed_index]]
    table = csv.reader(io.StringIO("\n".join(rows[heading + 1 :])), delimiter=separator)
    times_s, speeds = [], []
    try:
        for number, cells in enumerate(table, start=heading + 2):
            if not any(cell.strip() for cell in cells):
                continue
            _refuse_more(path, number, cells, len(names))
            times_s.append(_number(path, number, cells, time_index, names))
            speeds.append(_number(path, number, cells, speed_index, names) * factor)
    except csv.Error as error:
        raise RecordingError(
            f"{shown_name(path)} is not a table that can be read: {error}.", _WANTED
        ) from error
    remarks = ("speed given in m/s",) if factor != 1.0 else ()
    return SpeedRecord(checked_trace(path, np.array(times_s), np.array(speeds)), remarks)


def _separator(heading: str) -> str:
    return next((mark for mark in (";", "\t") if mark in heading), ",")


def _columns(path: Path, names: list[str]) -> tuple[int, int]:
    speed_name = next((name for name in _FACTOR_BY_COLUMN if name in names), None)
    missing = [
        word
        for word, is_there in (
            (_TIME_COLUMN, _TIME_COLUMN in names),
            ("speed_km_h", speed_name is not None),
        )
        if not is_there
    ]
    if missing or speed_name is None:
        found = ", ".join(f"'{name[:30]}'" for name in names[:_MOST_SHOWN_COLUMNS])
        more = " and more" if len(names) > _MOST_SHOWN_COLUMNS else ""
        raise RecordingError(
            f"{shown_name(path)} has no column {' and no column '.join(missing)}; "
            f"found: {found}{more}.",
            _WANTED,
        )
    for name in (_TIME_COLUMN, speed_name):
        if names.count(name) > 1:
            raise RecordingError(
                f"{shown_name(path)} has the column {name} {names.count(name)} times.", _WANTED
            )
    return names.index(_TIME_COLUMN), names.index(speed_name)


def _refuse_more(path: Path, row: int, cells: list[str], columns: int) -> None:
    # Decimal commas between separating commas: the halves of numbers would be read as numbers.
    if any(cell.strip() for cell in cells[columns:]):
        raise RecordingError(
            f"{shown_name(path)}, row {row}: {len(cells)} entries stand under {columns} names of "
            "columns; decimal commas need semicolons between the columns.",
            "Export the table with semicolons, or with decimal points.",
        )


def _number(path: Path, row: int, cells: list[str], index: int, names: list[str]) -> float:
    cell = cells[index] if index < len(cells) else ""
    try:
        return read_number(cell)
    except NumberError as problem:
        raise RecordingError(
            f"{shown_name(path)}, row {row}, column {names[index]}: {problem.what_happened}",
            f"{problem.what_to_do} Or take the row out.",
        ) from problem
