"""Points with names over two quantities, and a line through them with its interval."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ratings.reports.colours import LIGHT
from ratings.reports.document import Cell, Column, Plot, Table
from ratings.reports.figure_words import figure
from ratings.reports.plots.axes import Axis, axis_over, frame
from ratings.reports.plots.drawing import (
    SMALL,
    course,
    letters_wide,
    line,
    mark,
    soft,
    surface,
    svg,
)
from ratings.reports.set_marks import SetMark

_LEFT, _RIGHT, _TOP, _BOTTOM, _HIGH = 58, 712, 10, 350, 402
_FEW = 12


@dataclass(frozen=True, slots=True)
class NamedPoint:
    """A point, with intervals where they are known."""

    mark: SetMark
    x: float
    y: float
    x_interval: tuple[float, float] | None = None
    y_interval: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class FittedLine:
    """A line over rising `x`; `low` and `high` bound its interval and may be empty."""

    x: Sequence[float]
    y: Sequence[float]
    low: Sequence[float] = ()
    high: Sequence[float] = ()


def scatter_plot(
    points: Sequence[NamedPoint],
    x_words: str,
    y_words: str,
    shown: Plot,
    fit: FittedLine | None = None,
) -> Plot:
    """Draw points with their names into `shown`, which brings title, condition and caption."""
    x, y = _axes(points, fit)
    parts = [frame(x, y, x_words, y_words)]
    if fit is not None:
        parts.append(_fit(fit, x, y))
    parts += [_intervals(each, x, y) for each in points]
    parts += [
        mark(each.mark.shape, x.at(each.x), y.at(each.y), each.mark.colour) for each in points
    ]
    parts.append(_names(points, x, y))
    told = [f"{p.mark.words} at {figure(p.x)}, {figure(p.y)}" for p in points]
    return replace(
        shown,
        svg=svg(_HIGH, parts),
        alternative=f"{y_words} over {x_words}: {'; '.join(told)}.",
        values=_values(points, x_words, y_words),
    )


def _axes(points: Sequence[NamedPoint], fit: FittedLine | None) -> tuple[Axis, Axis]:
    x = [value for each in points for value in (each.x, *(each.x_interval or ()))]
    y = [value for each in points for value in (each.y, *(each.y_interval or ()))]
    if fit is not None:
        x += fit.x
        y += [*fit.y, *fit.low, *fit.high]
    return (
        axis_over(x, _LEFT, _RIGHT, least=1.0),
        axis_over(y, _BOTTOM, _TOP, least=1.0),
    )


def _fit(fit: FittedLine, x: Axis, y: Axis) -> str:
    across = [x.at(value) for value in fit.x]
    parts = []
    if fit.low and fit.high:
        upper = [(at, y.at(value)) for at, value in zip(across, fit.high, strict=True)]
        lower = [(at, y.at(value)) for at, value in zip(across, fit.low, strict=True)]
        parts.append(surface([*upper, *reversed(lower)], LIGHT.side_a_tint))
    points = [(at, y.at(value)) for at, value in zip(across, fit.y, strict=True)]
    return "".join([*parts, course(points, LIGHT.soft_text, width=1.5)])


def _intervals(each: NamedPoint, x: Axis, y: Axis) -> str:
    parts = []
    if each.x_interval:
        low, high = (x.at(value) for value in each.x_interval)
        parts.append(line(low, y.at(each.y), high, y.at(each.y), colour=each.mark.colour))
    if each.y_interval:
        low, high = (y.at(value) for value in each.y_interval)
        parts.append(line(x.at(each.x), low, x.at(each.x), high, colour=each.mark.colour))
    return "".join(parts)


def _names(points: Sequence[NamedPoint], x: Axis, y: Axis) -> str:
    """Write each name beside its point, where no name and no point lies already."""
    taken = [(x.at(p.x) - 6, y.at(p.y) - 6, x.at(p.x) + 6, y.at(p.y) + 6) for p in points]
    size = SMALL if len(points) <= _FEW else SMALL - 2
    parts = []
    for each in points:
        at, foot = x.at(each.x), y.at(each.y) + 4
        width = letters_wide(each.mark.words, size)
        places = [
            (at + 9 + shift, foot + lower)
            for lower in (0, -13, 13, -26, 26, -39, 39)
            for shift in (0, -18 - width)
        ]
        boxes = [(left, low - size, left + width, low + 2) for left, low in places]
        inside = [spot for spot in boxes if spot[0] >= _LEFT and spot[2] <= _RIGHT + 8]
        free = [spot for spot in inside if not any(_meet(spot, other) for other in taken)]
        spot = (free or inside or boxes)[0]
        taken.append(spot)
        parts.append(soft(spot[0], spot[3] - 2, each.mark.words))
    return "".join(parts)


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _values(points: Sequence[NamedPoint], x_words: str, y_words: str) -> Table:
    columns = (Column("set"), Column(x_words, "number"), Column(y_words, "number"))
    rows = tuple((Cell(p.mark.words), Cell(figure(p.x)), Cell(figure(p.y))) for p in points)
    return Table(columns, rows)
