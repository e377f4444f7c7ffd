"""Every attribute of a set at once, as an overview only: areas in it mean nothing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ratings.reports.colours import LIGHT
from ratings.reports.document import Cell, Column, Plot, Table
from ratings.reports.figure_words import figure
from ratings.reports.plots.axes import DASHES, Axis, legend, number, panels
from ratings.reports.plots.drawing import (
    SMALL,
    WIDTH,
    course,
    fitted,
    line,
    mark,
    soft,
    svg,
    text,
)
from ratings.reports.set_marks import SetMark

_MOST_OVERLAID, _MOST_PANELS, _ACROSS = 4, 12, 3


@dataclass(frozen=True, slots=True)
class RadarSet:
    """One set's values, one for each attribute; None where there is none."""

    mark: SetMark
    values: tuple[float | None, ...]


def radar_plots(
    attributes: Sequence[str], sets: Sequence[RadarSet], reach: tuple[float, float], shown: Plot
) -> tuple[Plot, ...]:
    """Draw sets into `shown`, which brings title, condition and caption.

    Up to four stand over each other; more have a panel each, beside the control.

    Parameters
    ----------
    reach
        Centre and rim, the same for every study: 1 and 10 for scores.
    """
    told = [
        f"{each.mark.words}: "
        + ", ".join(f"{name} {figure(v)}" for name, v in zip(attributes, each.values, strict=True))
        for each in sets
    ]
    shown = replace(shown, alternative=f"{'; '.join(told)}.")
    if len(sets) <= _MOST_OVERLAID:
        return (
            replace(shown, svg=_one(attributes, sets, reach), values=_values(attributes, sets)),
        )
    control = [each for each in sets if each.mark.is_control]
    others = [each for each in sets if not each.mark.is_control]
    pieces = [others[at : at + _MOST_PANELS] for at in range(0, len(others), _MOST_PANELS)]
    return tuple(
        replace(
            shown,
            title=f"{shown.title} ({place} of {len(pieces)})" if len(pieces) > 1 else shown.title,
            svg=_many(attributes, piece, control, reach),
        )
        for place, piece in enumerate(pieces, start=1)
    )


def _one(attributes: Sequence[str], sets: Sequence[RadarSet], reach: tuple[float, float]) -> str:
    marks, top = legend([each.mark for each in sets], top=4, has_lines=True)
    centre, radius = (WIDTH / 2, top + 176), 140.0
    parts = [marks, _web(attributes, centre, radius, reach)]
    parts += [_set(each, centre, radius, reach, DASHES[at]) for at, each in enumerate(sets)]
    return svg(centre[1] + 180, parts)


def _many(
    attributes: Sequence[str],
    piece: Sequence[RadarSet],
    control: Sequence[RadarSet],
    reach: tuple[float, float],
) -> str:
    marks, top = legend([each.mark for each in control], top=4, has_lines=True)
    keys, top = _keys(attributes, top)
    parts, bottom = [marks, keys], top
    numbers = [str(place) for place in range(1, len(attributes) + 1)]
    for each, place in zip(piece, panels(len(piece), _ACROSS, 12, 206), strict=True):
        left, above, width = place
        centre, bottom = (left + width / 2, above + top + 112), above + top + 206
        parts.append(mark(each.mark.shape, left + 8, above + top + 12, each.mark.colour))
        name = fitted(each.mark.words, width - 20)
        parts.append(text(left + 20, above + top + 16.5, name, is_strong=True))
        parts.append(_web(numbers, centre, 68.0, reach))
        parts += [_set(one, centre, 68.0, reach, DASHES[0], size=0) for one in control]
        parts.append(_set(each, centre, 68.0, reach, DASHES[1], size=3))
    return svg(bottom, parts)


def _keys(attributes: Sequence[str], top: float) -> tuple[str, float]:
    """Write what the numbers at the small axes stand for, in rows of a third each."""
    told = [f"{place} {name}" for place, name in enumerate(attributes, start=1)]
    parts = [
        soft(WIDTH / 3 * (place % 3), top + 14 + 18 * (place // 3), fitted(words, 230, SMALL))
        for place, words in enumerate(told)
    ]
    return "".join(parts), top + 22 + 18 * ((len(told) - 1) // 3)


def _at(centre: tuple[float, float], radius: float, place: int, count: int) -> tuple[float, float]:
    angle = 2 * math.pi * place / count
    return centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)


def _web(
    attributes: Sequence[str],
    centre: tuple[float, float],
    radius: float,
    reach: tuple[float, float],
    room: float = 200.0,
) -> str:
    count, parts = len(attributes), []
    axis = Axis(*reach, 0, radius)
    rings = sorted({reach[1], *axis.ticks(3 if radius > 100 else 1)})
    for value in rings:
        rim = [_at(centre, axis.at(value), place % count, count) for place in range(count + 1)]
        parts.append(course(rim, LIGHT.line, width=1))
        if radius > 100 and value > reach[0]:
            parts.append(soft(centre[0] + 4, centre[1] - axis.at(value) + 12, number(value)))
    for place, name in enumerate(attributes):
        x, y = _at(centre, radius, place, count)
        parts.append(line(*centre, x, y))
        across = math.sin(2 * math.pi * place / count)
        anchor = "middle" if abs(across) < 0.2 else "start" if across > 0 else "end"
        x, y = _at(centre, radius + 10, place, count)
        shown = fitted(name, room, SMALL)
        parts.append(soft(x, y + 4 + 4 * (y - centre[1]) / radius, shown, anchor))
    return "".join(parts)


def _set(
    each: RadarSet,
    centre: tuple[float, float],
    radius: float,
    reach: tuple[float, float],
    dashes: str,
    size: float = 4.5,
) -> str:
    axis, count = Axis(*reach, 0, radius), len(each.values)
    points = [
        None
        if value is None or not math.isfinite(value)
        else _at(centre, axis.at(value), at, count)
        for at, value in enumerate(each.values)
    ]
    parts = [
        course([one, other], each.mark.colour, dashes=dashes)
        for one, other in zip(points, [*points[1:], points[0]], strict=True)
        if one is not None and other is not None
    ]
    if size:
        parts += [mark(each.mark.shape, *p, each.mark.colour, radius=size) for p in points if p]
    return "".join(parts)


def _values(attributes: Sequence[str], sets: Sequence[RadarSet]) -> Table:
    columns = (Column("set"), *(Column(name, "number") for name in attributes))
    rows = tuple((Cell(each.mark.words), *(Cell(figure(v)) for v in each.values)) for each in sets)
    return Table(columns, rows)
