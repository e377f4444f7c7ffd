"""Lines over speed of one run, marked, found or expected, and what happens at one speed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from ratings.acoustics.rolling.tonal_shifts import TonalShift
from ratings.findings.run_curves import Floats, LevelMap, RunCurves
from ratings.measuring.coasting import shift_words
from ratings.study.constants import KM_H_PER_M_S
from ratings.study.figures import EAR_ROLES, EARS

#: So many ridges are drawn, the highest first; with more the map is hidden behind its lines.
MOST_RIDGES = 8
MOST_SHIFTS = 5
#: Ridges and shifts of both ears count as one when they are no further apart.
_SAME_SHARE, _SAME_ORDER_SHARE = 0.02, 0.008
_SAME_KM_H = 3.0

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


def found_shifts(each: RunCurves, channel: str) -> tuple[TonalShift, ...]:
    """Return what happens at one speed in a channel, or in the ears, the strongest first.

    What both ears hear is there once.
    """
    wanted = channels_behind(each, channel)
    names = ("kind", "km_h", "hz", "db", "band")
    columns = [np.asarray(each.arrays.get(f"shift_{name}", ())).tolist() for name in names]
    rows = zip(each.arrays.get("shift_channel", ()), *columns, strict=True)
    found = [
        TonalShift(kind, km_h, hz, change_db, band or None)
        for name, kind, km_h, hz, change_db, band in rows
        if str(name) in wanted
    ]
    kept: list[TonalShift] = []
    for shift in sorted(found, key=lambda shift: -abs(shift.change_db)):
        if not any(_is_same_shift(shift, other) for other in kept):
            kept.append(shift)
    return tuple(kept)


def shift_sentence(each: RunCurves, channel: str) -> str:
    """Say what happens at one speed, from high speed down; empty when nothing does."""
    found = found_shifts(each, channel)
    told = sorted(found[:MOST_SHIFTS], key=lambda shift: -shift.speed_km_h)
    more = len(found) - len(told)
    if not told:
        return ""
    words = "; ".join(shift_words(shift) for shift in told)
    return f"{words[0].upper()}{words[1:]}{f'; and {more} weaker' if more else ''}."


def channels_behind(each: RunCurves, channel: str) -> frozenset[str]:
    """Return the channel itself, or those of the ears."""
    if channel != EARS:
        return frozenset({channel})
    roles = enumerate(each.run.roles, start=1)
    return frozenset(str(number) for number, role in roles if role in EAR_ROLES)


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


def _is_same_shift(shift: TonalShift, other: TonalShift) -> bool:
    if shift.band != other.band or abs(shift.speed_km_h - other.speed_km_h) > _SAME_KM_H:
        return False
    apart_hz = abs(shift.frequency_hz - other.frequency_hz)
    return shift.band is not None or apart_hz <= _SAME_SHARE * other.frequency_hz
