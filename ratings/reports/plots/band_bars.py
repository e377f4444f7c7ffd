"""Differences to the control in bands, as bars with intervals: a panel for each set."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ratings.reports.colours import LIGHT
from ratings.reports.document import Cell, Column, Plot, Table
from ratings.reports.figure_words import signed
from ratings.reports.plots.axes import Axis, even_axis, panels, signed_number
from ratings.reports.plots.drawing import (
    SMALL,
    box,
    fitted,
    letters_wide,
    line,
    mark,
    soft,
    svg,
    text,
    upright,
)
from ratings.reports.set_marks import SetMark

_MOST_PANELS = 10
_LOWER = 14


@dataclass(frozen=True, slots=True)
class BandDifference:
    """A set's difference to the control in one band, in dB; None where there is none."""

    band: str
    value: float | None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class BandSet:
    """One set's differences, bands in the order of frequency."""

    mark: SetMark
    bands: tuple[BandDifference, ...]


def band_plots(
    sets: Sequence[BandSet], shown: Plot, unit: str = "dB beside the control"
) -> tuple[Plot, ...]:
    """Draw a panel for each set, on one axis, on as many plots as pages need.

    `shown` brings title, condition, channel, n and caption.
    """
    values = [
        value
        for each in sets
        for band in each.bands
        for value in (band.value, band.low, band.high)
        if value is not None
    ]
    pieces = [sets[at : at + _MOST_PANELS] for at in range(0, len(sets), _MOST_PANELS)]
    return tuple(
        replace(
            shown,
            title=f"{shown.title} ({place} of {len(pieces)})" if len(pieces) > 1 else shown.title,
            svg=_drawn(piece, values, unit),
            alternative=" ".join(map(_told, piece)),
            values=_values(piece),
        )
        for place, piece in enumerate(pieces, start=1)
    )


def _drawn(sets: Sequence[BandSet], values: Sequence[float], unit: str) -> str:
    across = min(len(sets), 1 if len(sets[0].bands) > 14 else 2)
    high, parts, bottom = (220.0 if len(sets) < 5 else 150.0), [], 0.0
    for each, place in zip(sets, panels(len(sets), across, 16, high + 30), strict=True):
        left, above, width = place
        top, bottom = above + 26, above + high - 20
        y = even_axis(values, bottom, top, least=2.0)
        parts.append(mark(each.mark.shape, left + 52, above + 11, each.mark.colour))
        name = fitted(each.mark.words, width - 70)
        parts.append(text(left + 64, above + 15.5, name, is_strong=True))
        parts.append(_panel(each, left + 46, left + width - 14, y, unit))
    return svg(bottom + 22 + _LOWER, parts)


def _panel(each: BandSet, left: float, right: float, y: Axis, unit: str) -> str:
    parts = []
    for tick in y.ticks(4):
        colour = LIGHT.tick if tick == 0 else LIGHT.line
        parts.append(line(left, y.at(tick), right, y.at(tick), colour=colour))
        parts.append(soft(left - 6, y.at(tick) + 4, signed_number(tick), "end"))
    parts.append(upright(left - 36, (y.start + y.end) / 2, unit))
    step = (right - left) / max(len(each.bands), 1)
    widest = max((letters_wide(band.band, SMALL) + 6 for band in each.bands), default=0.0)
    for place, band in enumerate(each.bands):
        middle = left + step * (place + 0.5)
        parts.append(_bar(band, middle, min(step * 0.3, 16), y, each.mark.colour))
        # Names that do not fit beside each other stand in two lines by turns.
        lower = _LOWER * (place % 2) if widest > step else 0
        name = fitted(band.band, step * 2 - 6 if widest > step else step, SMALL)
        parts.append(soft(middle, y.start + 16 + lower, name, "middle"))
    return "".join(parts)


def _bar(band: BandDifference, middle: float, half: float, y: Axis, colour: str) -> str:
    if band.value is None or not math.isfinite(band.value):
        return soft(middle, y.at(0) - 4, "–", "middle")
    bar = box(middle - half, y.at(0), middle + half, y.at(band.value), colour)
    if band.low is None or band.high is None:
        return bar
    low, high = y.at(band.low), y.at(band.high)
    # White behind it, so that the interval is seen on the bar too.
    return (
        bar
        + line(middle, low, middle, high, colour=LIGHT.panel, width=4)
        + line(middle, low, middle, high, colour=LIGHT.text, width=1.6)
    )


def _told(each: BandSet) -> str:
    told = [f"{band.band} {_value(band)}" for band in each.bands]
    return f"{each.mark.words}: {', '.join(told)}."


def _value(band: BandDifference) -> str:
    if band.value is None:
        return "cannot be told"
    if band.low is None or band.high is None:
        return signed(band.value)
    return f"{signed(band.value)} ({signed(band.low)} to {signed(band.high)})"


def _values(sets: Sequence[BandSet]) -> Table:
    columns = (Column("band"), *(Column(each.mark.words, "number") for each in sets))
    rows = tuple(
        (Cell(band.band), *(Cell(_value(each.bands[place])) for each in sets))
        for place, band in enumerate(sets[0].bands)
    )
    return Table(columns, rows)
