"""Differences as points with intervals, one below the other, on one axis."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ratings.reports.colours import LIGHT
from ratings.reports.document import Cell, Column, Plot, Table
from ratings.reports.figure_words import signed
from ratings.reports.plots.axes import Axis, even_axis, signed_number
from ratings.reports.plots.drawing import (
    SMALL,
    WIDTH,
    box,
    fitted,
    letters_wide,
    line,
    mark,
    soft,
    svg,
    text,
)
from ratings.reports.set_marks import SetMark

_ROW, _GROUP, _TOP, _FOOT = 24, 28, 30, 46
_MOST_LABEL, _LEAST_AXIS, _GAP = 170.0, 190.0, 14.0
#: More rows do not fit on a page beside title and caption.
_MOST_ROWS = 30


@dataclass(frozen=True, slots=True)
class ForestRow:
    """One difference.

    Attributes
    ----------
    label
        What it is of: a set's code, or an attribute.
    value, low, high
        The difference with its interval; None where there is none.
    words
        What stands behind it, one for each column; the word for what is clear among them.
    is_clear
        Drawn filled.
    group
        Heading over the rows that share it, such as the attribute; may be empty.
    mark
        The set's own mark and colour; without one, a disc in the colour of its direction.
    """

    label: str
    value: float | None
    low: float | None = None
    high: float | None = None
    words: tuple[str, ...] = ()
    is_clear: bool = False
    group: str = ""
    mark: SetMark | None = None


@dataclass(frozen=True, slots=True)
class ForestAxis:
    """What the axis means.

    Attributes
    ----------
    words
        Quantity and unit, such as ``"points beside the control"``.
    lower, higher
        Which way each side goes.
    margin
        What is too small to matter, shaded; 0 shades nothing.
    least
        The axis reaches at least from -least to least.
    """

    words: str = "points beside the control"
    lower: str = "worse"
    higher: str = "better"
    margin: float = 0.0
    least: float = 1.0


def forest_plots(
    rows: Sequence[ForestRow], columns: Sequence[str], axis: ForestAxis, frame: Plot
) -> tuple[Plot, ...]:
    """Draw the rows into `frame`, on as many plots as pages need; all share one axis.

    Parameters
    ----------
    columns
        Headings of the rows' words.
    frame
        Title, condition, channel, n and caption; its drawing is replaced.
    """
    values = [
        value for row in rows for value in (row.value, row.low, row.high) if value is not None
    ]
    widths = [
        max(letters_wide(words, SMALL) for words in (heading, *(row.words[place] for row in rows)))
        for place, heading in enumerate(columns)
    ]
    label = max(letters_wide(row.label) + (14 if row.group else 0) for row in rows) + 10
    label = min(max(label, 60.0), _MOST_LABEL)
    room = WIDTH - label - _LEAST_AXIS - _GAP * (len(columns) + 1)
    shrink = min(1.0, room / sum(widths)) if widths else 1.0
    widths = [width * shrink for width in widths]
    end = WIDTH - sum(widths) - _GAP * (len(columns) + 1)
    drawn = even_axis([*values, axis.margin], label, end, least=axis.least)
    pieces = _pieces(rows)
    return tuple(
        replace(
            frame,
            title=f"{frame.title} ({number} of {len(pieces)})" if len(pieces) > 1 else frame.title,
            svg=_drawn(piece, columns, widths, axis, drawn),
            alternative=_alternative(piece),
            values=_values(piece, columns),
        )
        for number, piece in enumerate(pieces, start=1)
    )


def _pieces(rows: Sequence[ForestRow]) -> list[Sequence[ForestRow]]:
    """Cut rows into pages, evenly, between groups where one group fits on a page."""
    groups: list[list[ForestRow]] = []
    for row in rows:
        if groups and groups[-1][0].group == row.group:
            groups[-1].append(row)
        else:
            groups.append([row])
    parts = [
        group[start : start + _MOST_ROWS]
        for group in groups
        for start in range(0, len(group), _MOST_ROWS)
    ]
    pages: list[list[ForestRow]] = [[]]
    for part in parts:
        if pages[-1] and len(pages[-1]) + len(part) > _MOST_ROWS:
            pages.append([])
        pages[-1].extend(part)
    return list(pages)


def _drawn(
    rows: Sequence[ForestRow],
    columns: Sequence[str],
    widths: Sequence[float],
    axis: ForestAxis,
    x: Axis,
) -> str:
    parts, y, group = [], float(_TOP), ""
    for row in rows:
        if row.group != group:
            group = row.group
            parts.append(text(0, y + 18, fitted(group, WIDTH), is_strong=True))
            y += _GROUP
        parts.append(_row(row, y + _ROW / 2, widths, x))
        y += _ROW
    zero, inside = x.at(0), x.start + 4
    under = [line(zero, _TOP, zero, y, colour=LIGHT.tick)]
    if axis.margin > 0:
        under.insert(0, box(x.at(-axis.margin), _TOP, x.at(axis.margin), y, LIGHT.ground))
    for tick in x.ticks():
        under.append(line(x.at(tick), y, x.at(tick), y + 4, colour=LIGHT.tick))
        under.append(soft(x.at(tick), y + 18, signed_number(tick), "middle"))
    heads = [soft(inside, 14, f"← {axis.lower}"), soft(x.end - 4, 14, f"{axis.higher} →", "end")]
    heads += [
        soft(at, 14, fitted(heading, width + _GAP, SMALL))
        for heading, at, width in zip(columns, _places(widths, x), widths, strict=True)
    ]
    heads += [line(0, 21, WIDTH, 21), line(x.start, y, x.end, y, colour=LIGHT.tick)]
    words = soft((x.start + x.end) / 2, y + 36, axis.words, "middle")
    return svg(y + _FOOT, [*under, *heads, *parts, words])


def _places(widths: Sequence[float], x: Axis) -> list[float]:
    return [x.end + _GAP + sum(widths[:place]) + _GAP * place for place in range(len(widths))]


def _row(row: ForestRow, y: float, widths: Sequence[float], x: Axis) -> str:
    start = 14 if row.group else 0
    foot = y + 4.5
    parts = [text(start, foot, fitted(row.label, x.start - start - 8), is_strong=not row.group)]
    if row.value is not None:
        colour = row.mark.colour if row.mark else _direction(row)
        if row.low is not None and row.high is not None:
            low, high = x.at(row.low), x.at(row.high)
            parts.append(line(low, y, high, y, colour=colour, width=2))
        shape = row.mark.shape if row.mark else "disc"
        parts.append(mark(shape, x.at(row.value), y, colour, is_filled=row.is_clear))
    for words, at, width in zip(row.words, _places(widths, x), widths, strict=True):
        shown = fitted(words, width + 1, SMALL)
        parts.append(text(at, foot, shown, size=SMALL, is_strong=row.is_clear))
    return "".join(parts)


def _direction(row: ForestRow) -> str:
    if not row.is_clear or row.value is None:
        return LIGHT.soft_text
    return LIGHT.higher if row.value > 0 else LIGHT.lower


def _name(row: ForestRow) -> str:
    return f"{row.group}, {row.label}" if row.group else row.label


def _alternative(rows: Sequence[ForestRow]) -> str:
    told = [f"{_name(row)}: {_value(row)}" for row in rows]
    return f"Points with intervals. {'; '.join(told)}."


def _value(row: ForestRow) -> str:
    if row.value is None or not math.isfinite(row.value):
        return "cannot be told"
    if row.low is None or row.high is None:
        return signed(row.value, 2)
    return f"{signed(row.value, 2)} ({signed(row.low, 2)} to {signed(row.high, 2)})"


def _values(rows: Sequence[ForestRow], columns: Sequence[str]) -> Table:
    heads = (Column("row"), Column("difference with interval", "number"), *map(Column, columns))
    cells = ((_name(row), _value(row), *row.words) for row in rows)
    return Table(heads, tuple(tuple(map(Cell, row)) for row in cells))
