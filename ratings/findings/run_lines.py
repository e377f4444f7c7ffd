"""Lines on the map of one run: marked by the lead, found by measuring, expected of the pattern."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from ratings.findings.run_curves import Floats, LevelMap, RunCurves
from ratings.study.figures import EAR_ROLES, EARS

KM_H_PER_M_S = 3.6
#: So many ridges are drawn, the highest first; with more the map is hidden behind its lines.
MOST_RIDGES = 8
MOST_SHIFTS = 5
#: Ridges and shifts of both ears count as one when they are no further apart.
_SAME_SHARE, _SAME_ORDER_SHARE = 0.02, 0.008
_SAME_KM_H = 3.0
_LABEL_WIDTH, _LABEL_HEIGHT = 0.2, 0.06
_LABEL_PLACES = (1.0, 0.75, 0.5, 0.25, 0.0)

LineOrigin = Literal["marked", "found", "expected"]


@dataclass(frozen=True, slots=True)
class MapLine:
    """A line over the rows of a map, which are speeds in km/h, or times.

    Attributes
    ----------
    hz, hz_per_km_h
        Frequency at standstill, and how much it grows with speed.
    low, high
        Between which rows the line is drawn.
    follows_speed
        Whether it is a multiple of the turns of the wheel; only such a line is drawn dashed.
    """

    words: str
    hz: float
    hz_per_km_h: float = 0.0
    low: float = -math.inf
    high: float = math.inf
    follows_speed: bool = False
    origin: LineOrigin = "marked"

    def at(self, row: float) -> float:
        """Return its frequency at a speed in km/h, or at a time."""
        return self.hz + self.hz_per_km_h * row

    def points(self, shown: LevelMap) -> tuple[Floats, Floats]:
        """Return decimal logarithms of frequency and rows inside a map; empty where it is not."""
        low, high = max(self.low, shown.rows[0]), min(self.high, shown.rows[-1])
        is_drawable = low < high and (shown.is_over_speed or not self.hz_per_km_h)
        rows = np.linspace(low, high, 60) if is_drawable else np.empty(0)
        log_hz = np.log10(np.maximum(self.hz + self.hz_per_km_h * rows, 1e-9))
        inside = (log_hz >= shown.log_hz[0]) & (log_hz <= shown.log_hz[-1])
        return log_hz[inside], rows[inside]


def marked_line(hz: float, speed_km_h: float | None = None) -> MapLine:
    """Return the line through a frequency that stays, or that follows speed from `speed_km_h`."""
    if speed_km_h is None:
        return MapLine(f"{hz:.0f} Hz", hz)
    slope = hz / max(speed_km_h, 1.0)
    return MapLine(f"{slope * 100.0:.0f} Hz at 100 km/h", 0.0, slope, follows_speed=True)


def found_lines(each: RunCurves, channel: str) -> tuple[MapLine, ...]:
    """Return the ridges that measuring found in a channel, or in the ears, the highest first."""
    turn_m = _turn_m(each)
    if turn_m is None:
        return ()
    names = ("order", "hz", "turns", "low_km_h", "high_km_h", "height_db")
    columns = [np.asarray(each.arrays.get(f"ridge_{name}", ()), np.float64) for name in names]
    rows = zip(
        (str(name) for name in each.arrays.get("ridge_channel", ())),
        *(column.tolist() for column in columns),
        strict=True,
    )
    wanted = channels_behind(each, channel)
    highest = sorted((row for row in rows if row[0] in wanted), key=lambda row: -row[-1])
    kept: list[MapLine] = []
    for _, order, hz, turns, low, high, _ in highest:
        line = _ridge(order, hz, turns, (low, high), turn_m)
        if not any(_is_same(line, other) for other in kept):
            kept.append(line)
    return tuple(kept[:MOST_RIDGES])


def pattern_line(each: RunCurves) -> MapLine | None:
    """Return where the pitches of the tread are expected; None without size or pitches."""
    turn_m = _turn_m(each)
    if turn_m is None or each.pitches is None:
        return None
    slope = each.pitches / (KM_H_PER_M_S * turn_m)
    words = f"pattern expected, order {each.pitches}"
    return MapLine(words, 0.0, slope, follows_speed=True, origin="expected")


def shift_sentence(each: RunCurves, channel: str) -> str:
    """Say what happens at one speed in a channel, or in the ears; empty when nothing does."""
    wanted = channels_behind(each, channel)
    columns = [each.arrays.get(f"shift_{name}", ()) for name in ("words", "km_h", "hz", "db")]
    rows = zip(each.arrays.get("shift_channel", ()), *columns, strict=True)
    found = [
        (str(words), float(km_h), float(hz), float(change_db))
        for name, words, km_h, hz, change_db in rows
        if str(name) in wanted
    ]
    kept: list[tuple[str, float, float, float]] = []
    for row in sorted(found, key=lambda row: -abs(row[3])):
        if not any(_is_same_shift(row, other) for other in kept):
            kept.append(row)
    told = sorted(kept[:MOST_SHIFTS], key=lambda row: -row[1])
    more = len(kept) - len(told)
    if not told:
        return ""
    words = "; ".join(row[0] for row in told)
    return f"{words[0].upper()}{words[1:]}{f'; and {more} weaker' if more else ''}."


def channels_behind(each: RunCurves, channel: str) -> frozenset[str]:
    """Return the channel itself, or those of the ears."""
    if channel != EARS:
        return frozenset({channel})
    roles = enumerate(each.run.roles, start=1)
    return frozenset(str(number) for number, role in roles if role in EAR_ROLES)


def label_places(
    courses: Sequence[tuple[Floats, Floats]], shown: LevelMap
) -> Iterator[tuple[float, float]]:
    """Choose where the label of each line stands, on the line and off the labels before it."""
    width = _LABEL_WIDTH * (shown.log_hz[-1] - shown.log_hz[0]) / 2.0
    height = _LABEL_HEIGHT * (shown.rows[-1] - shown.rows[0])
    taken: list[tuple[float, float]] = []
    for log_hz, rows in courses:
        places = [round(part * (rows.size - 1)) for part in _LABEL_PLACES]
        offered = [(float(log_hz[at]), float(rows[at])) for at in places]
        free = (
            (x, y)
            for x, y in offered
            if all(abs(x - a) > width or abs(y - b) > height for a, b in taken)
        )
        place = next(free, offered[0])
        taken.append(place)
        yield place


def _turn_m(each: RunCurves) -> float | None:
    turn_m: Any = each.arrays.get("turn_m")
    return float(turn_m) if turn_m is not None and float(turn_m) > 0 else None


def _ridge(
    order: float, hz: float, turns: float, rows: tuple[float, float], turn_m: float
) -> MapLine:
    is_order = math.isfinite(order)
    slope = (order if is_order else turns) / (KM_H_PER_M_S * turn_m)
    start_hz = 0.0 if is_order else hz
    middle_hz = start_hz + slope * sum(rows) / 2.0
    words = f"order {order:.1f}".removesuffix(".0") if is_order else f"{middle_hz:.0f} Hz"
    return MapLine(words, start_hz, slope, *rows, follows_speed=is_order, origin="found")


def _is_same(line: MapLine, other: MapLine) -> bool:
    low, high = max(line.low, other.low), min(line.high, other.high)
    if low > high or line.follows_speed != other.follows_speed:
        return False
    share = _SAME_ORDER_SHARE if line.follows_speed else _SAME_SHARE
    return all(abs(line.at(row) - other.at(row)) <= share * other.at(row) for row in (low, high))


def _is_same_shift(
    row: tuple[str, float, float, float], other: tuple[str, float, float, float]
) -> bool:
    # NaN, the frequency of a whole band, is near to nothing: the words decide there.
    is_near = abs(row[1] - other[1]) <= _SAME_KM_H
    is_same_hz = abs(row[2] - other[2]) <= _SAME_SHARE * other[2]
    is_same_band = _what(row[0]) == _what(other[0])
    return is_near and (is_same_hz if math.isfinite(row[2]) else is_same_band)


def _what(words: str) -> str:
    return words.partition("km/h ")[2].partition(" by ")[0]
