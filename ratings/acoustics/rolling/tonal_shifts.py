"""Speeds of a coast-down at which a tone comes, goes or jumps, or a band leaves its course."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.coast_down import CoastDownMap
from ratings.acoustics.rolling.ridges import Ridge
from ratings.acoustics.rolling.speed_law import departure_db

ShiftKind = Literal["appears", "vanishes", "jumps", "band departs"]

#: A tone that fades away slowly does not end at a speed.
_END_DB, _END_STEPS = 4.0, 5
#: A tone that reaches so near to the end of the map's speeds need not have ended.
_EDGE_KM_H = 4.0
_JUMP_DB = 6.0
#: Speeds on either side whose means are compared, and joined for a band.
_JUMP_STEPS, _BAND_STEPS = 4, 3
#: A band must leave its course by this much, and by so many spreads of the rest.
_BAND_DB, _BAND_SPREADS = 3.0, 4.0


@dataclass(frozen=True, slots=True)
class TonalShift:
    """Something that happens at one speed.

    Attributes
    ----------
    kind
        Seen as the speed falls: a tone ``appears`` below or ``vanishes`` below the speed, or
        ``jumps`` in level; ``band departs``: a band peaks above its smooth course.
    speed_km_h
        Where, to a step of 1 km/h.
    frequency_hz
        Of the tone at that speed; the middle of the band (geometric).
    change_db
        Rise of the tone over the 5 km/h without it; change of its level; height of the band's peak
        above its course.
    band
        Key of the band, else None.
    """

    kind: ShiftKind
    speed_km_h: float
    frequency_hz: float
    change_db: float
    band: str | None = None


def tonal_shifts(
    coast_down: CoastDownMap,
    ridges: tuple[Ridge, ...],
    circumference_m: float,
    channel: int = 0,
) -> tuple[TonalShift, ...]:
    """Return what happens in one channel, highest speed first.

    Parameters
    ----------
    ridges
        From `find_ridges` of the same channel.

    Notes
    -----
    A band's course is a straight line over the logarithm of speed, laid so that peaks do not pull
    it up; it departs by 3 dB or more, and by four robust spreads. A jump is 6 dB or more between
    the means over 4 km/h on either side. All limits are common practice, no source.
    """
    shifts: list[TonalShift] = []
    for ridge in ridges:
        shifts += _ends(coast_down, ridge, circumference_m)
        shifts += _jumps(coast_down, ridge, circumference_m)
    for band in range(len(coast_down.bands)):
        shifts += _departures(coast_down, channel, band)
    return tuple(sorted(shifts, key=lambda shift: -shift.speed_km_h))


def _ends(coast_down: CoastDownMap, ridge: Ridge, circumference_m: float) -> list[TonalShift]:
    speed_km_h = coast_down.speed_km_h
    reached = speed_km_h[np.isfinite(ridge.prominence_by_speed_db)]
    ends: list[tuple[ShiftKind, float, int]] = []
    if ridge.high_km_h < reached.max() - _EDGE_KM_H:
        ends.append(("appears", ridge.high_km_h, 1))
    if ridge.low_km_h > reached.min() + _EDGE_KM_H:
        ends.append(("vanishes", ridge.low_km_h, -1))
    shifts = []
    for kind, end_km_h, outwards in ends:
        away = (speed_km_h - end_km_h) * outwards
        inside = (away <= 0.0) & (away > -_END_STEPS)
        outside = (away > 0.0) & (away <= _END_STEPS)
        rise_db = float(
            np.nanmean(ridge.prominence_by_speed_db[inside])
            - np.nanmean(ridge.prominence_by_speed_db[outside])
        )
        if rise_db >= _END_DB:
            at_hz = ridge.at_hz(end_km_h, circumference_m)
            shifts.append(TonalShift(kind, end_km_h, at_hz, rise_db))
    return shifts


def _jumps(coast_down: CoastDownMap, ridge: Ridge, circumference_m: float) -> list[TonalShift]:
    speed = coast_down.speed_km_h
    inside = (speed >= ridge.low_km_h) & (speed <= ridge.high_km_h)
    inside &= np.isfinite(ridge.prominence_by_speed_db)
    course_db, at_km_h = ridge.prominence_by_speed_db[inside], speed[inside]
    if course_db.size < 2 * _JUMP_STEPS:
        return []
    means = np.convolve(course_db, np.full(_JUMP_STEPS, 1.0 / _JUMP_STEPS), mode="valid")
    # Towards lower speeds, as the car rolls out.
    change_db = means[:-_JUMP_STEPS] - means[_JUMP_STEPS:]
    spread_db = 1.4826 * float(np.median(np.abs(np.diff(course_db)))) / np.sqrt(2.0)
    limit_db = max(_JUMP_DB, 4.0 * spread_db * np.sqrt(2.0 / _JUMP_STEPS))
    return [
        TonalShift("jumps", between, ridge.at_hz(between, circumference_m), float(change_db[peak]))
        for peak in _peaks(np.abs(change_db), limit_db)
        for between in [float(at_km_h[peak + _JUMP_STEPS - 1] + at_km_h[peak + _JUMP_STEPS]) / 2.0]
    ]


def _departures(coast_down: CoastDownMap, channel: int, band: int) -> list[TonalShift]:
    fine = coast_down.fine
    level_db = fine.band_db[channel, band]
    level_db = np.where(np.isfinite(level_db), level_db, np.nan)
    known = np.isfinite(level_db)
    if known.sum() < 2 * _BAND_STEPS:
        return []
    speed, named = fine.mean_speed_km_h[known], coast_down.bands[band]
    over_db = departure_db(speed, level_db[known])
    joined_db = np.convolve(
        np.pad(over_db, _BAND_STEPS // 2, mode="edge"),
        np.full(_BAND_STEPS, 1.0 / _BAND_STEPS),
        mode="valid",
    )
    spread_db = 1.4826 * float(np.median(np.abs(joined_db - np.median(joined_db))))
    middle_hz = float(np.sqrt(named.low_hz * named.high_hz))
    return [
        TonalShift("band departs", float(speed[at]), middle_hz, float(joined_db[at]), named.key)
        for at in _peaks(joined_db, max(_BAND_DB, _BAND_SPREADS * spread_db))
    ]


def _peaks(values: NDArray[np.float64], limit: float) -> list[int]:
    """Highest place of each stretch above the limit."""
    above = np.concatenate([[False], values > limit, [False]])
    starts = np.flatnonzero(above[1:] & ~above[:-1])
    ends = np.flatnonzero(above[:-1] & ~above[1:])
    return [
        int(start + np.argmax(values[start:end])) for start, end in zip(starts, ends, strict=True)
    ]
