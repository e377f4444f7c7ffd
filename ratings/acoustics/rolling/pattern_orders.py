"""The orders of the tread pattern: where they are expected, where they lie and how loud."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.levels import decibels
from ratings.acoustics.rolling.order_spectrum import OrderSpectrum
from ratings.acoustics.rolling.standing_out import noise_limit, smoothed
from ratings.study.constants import REFERENCE_PRESSURE_PA

#: Harmonics of the pitch order that are read.
HARMONICS = 3
#: Pitch lengths differ by some 15 % around their mean, and so far the orders spread; common
#: practice, no source.
GROUP_SHARE = 0.18
#: How far an order may lie from where size, pitches and speed expect it: 6 mm of tread worn off a
#: radius of 316 mm are 1.9 %, a speed is often wrong by 1 %; our judgement.
SLIP_SHARE = 0.03
#: The harmonics of one tyre slip alike; this leaves room for wheels that differ.
_ALIKE_SHARE = 0.0025
#: Half the stretch of orders that counts as one line: four wheels differ a little.
_HALF_LINE = 0.5
_BESIDE = (0.75, 4.0)
#: Height from which an order stands out, in noise that is not as smooth as pure noise.
_LEAST_HEIGHT_DB = 2.5
#: Chance that noise passes for an order anywhere in the stretch searched, per order.
_FALSE_ALARM = 0.004
#: An order so little lower than the highest, but nearer to where it is expected, is the one.
_AS_HIGH_DB = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class PitchOrder:
    """One multiple of the pitch count, each array of shape (channels,).

    Attributes
    ----------
    harmonic
        1 for the pitch order itself.
    order
        Cycles per turn of the wheel that are expected.
    frequency_hz
        Of that order at the mean speed of what was measured.
    found_order
        Where an order within 3 % stands out; NaN where none does.
    level_db
        Level within half an order to either side of that; NaN where none stands out.
    prominence_db
        The same over the level that the orders beside it would give in so wide a stretch; of the
        highest where none stands out.
    group_level_db
        Level of the whole group of orders into which unequal pitches spread the tone, 18 % to
        either side; it holds the noise in between too.
    has_neighbours
        Whether further orders within 3 % stand out, as with unequal pitches: the slip cannot be
        told from a step to the next order then.
    """

    harmonic: int
    order: float
    frequency_hz: float
    found_order: NDArray[np.float64]
    level_db: NDArray[np.float64]
    prominence_db: NDArray[np.float64]
    group_level_db: NDArray[np.float64]
    has_neighbours: NDArray[np.bool_]

    @property
    def stands_out(self) -> NDArray[np.bool_]:
        """Whether there is an order to be seen."""
        return np.isfinite(self.found_order)

    @property
    def slip_percent(self) -> NDArray[np.float64]:
        """How far above the expected order the found one lies."""
        return 100.0 * (self.found_order / self.order - 1.0)


def highest_order_for(pitches: int) -> float:
    """Return the order up to which a spectrum must reach to hold all harmonics read."""
    return HARMONICS * pitches * (1.0 + GROUP_SHARE) + 1.0


def pitch_orders(
    spectrum: OrderSpectrum, pitches: int, reference: float = REFERENCE_PRESSURE_PA
) -> tuple[PitchOrder, ...]:
    """Find the first three multiples of the pitch count and read their levels.

    Heights are NaN where the spectrum does not reach, because the sample rate does not carry it.

    Notes
    -----
    Each is looked for within 3 % of where it is expected, and must stand higher than pure noise
    does anywhere there in 0.4 % of recordings. Once one stands out, the others are looked for at
    its slip. The rules are ours.
    """
    found = [_in_channel(spectrum, channel, pitches) for channel in range(len(spectrum.power))]
    return tuple(
        _pitch_order(spectrum, number, pitches, [each[number - 1] for each in found], reference)
        for number in range(1, HARMONICS + 1)
    )


class _Found(NamedTuple):
    """Where an order stands out, if one does, and how high the highest is."""

    order: float
    prominence_db: float
    over_limit_db: float
    has_neighbours: bool


def _in_channel(spectrum: OrderSpectrum, channel: int, pitches: int) -> list[_Found]:
    expected = [float(number * pitches) for number in range(1, HARMONICS + 1)]
    found = [_searched(spectrum, channel, order, SLIP_SHARE * order) for order in expected]
    clearest = max(range(HARMONICS), key=lambda place: found[place].over_limit_db)
    if found[clearest].over_limit_db > 0.0:
        stretched = found[clearest].order / expected[clearest]
        for place, order in enumerate(expected):
            if place != clearest:
                reach = max(_ALIKE_SHARE * order, 2 * spectrum.resolution)
                found[place] = _searched(spectrum, channel, stretched * order, reach)
    return found


def _searched(spectrum: OrderSpectrum, channel: int, order: float, reach: float) -> _Found:
    """Find the highest line within reach; of some alike the nearest to the middle."""
    power, half = spectrum.power[channel], round(_HALF_LINE / spectrum.resolution)
    first = max(half, round((order - reach) / spectrum.resolution))
    last = round((order + reach) / spectrum.resolution)
    if last + half >= power.size:
        return _Found(float("nan"), float("nan"), float("-inf"), has_neighbours=False)
    places = np.arange(first, last + 1)
    around = power[places[:, np.newaxis] + np.arange(-half, half + 1)]
    floor = _floor(power, places, spectrum.resolution)
    with np.errstate(divide="ignore", invalid="ignore"):
        prominence_db = decibels(np.nan_to_num(around.mean(axis=1) / floor, nan=1.0, posinf=np.inf))
    # The slope of a line beside the stretch rises towards it and has no crest here.
    narrow = smoothed(power, 3)
    nearby = narrow[places[:, np.newaxis] + np.arange(-half, half + 1)]
    over_db = prominence_db - _limit_db(spectrum.averages, 2 * half + 1, places.size)
    crests = np.flatnonzero((narrow[places] >= nearby.max(axis=1)) & (prominence_db > -np.inf))
    if crests.size == 0:
        return _Found(float("nan"), float(prominence_db.max()), float("-inf"), has_neighbours=False)
    out = crests[over_db[crests] > 0.0]
    highest_db = float(prominence_db[crests].max())
    if out.size == 0:
        return _Found(float("nan"), highest_db, float(over_db[crests].max()), has_neighbours=False)
    alike = out[prominence_db[out] >= highest_db - _AS_HIGH_DB]
    chosen = alike[np.argmin(np.abs(places[alike] * spectrum.resolution - order))]
    above = np.maximum(around[chosen] - floor[chosen], 0.0)
    lines = places[chosen] + np.arange(-half, half + 1)
    centre = float((above * lines).sum() / above.sum()) * spectrum.resolution
    return _Found(centre, float(prominence_db[chosen]), float(over_db[chosen]), bool(out.size > 1))


def _floor(
    power: NDArray[np.float64], places: NDArray[np.int64], resolution: float
) -> NDArray[np.float64]:
    """Return the median of the lines beside each place, shape (places,)."""
    nearest, farthest = (round(each / resolution) for each in _BESIDE)
    away = np.arange(nearest, farthest + 1)
    beside = places[:, np.newaxis] + np.concatenate([-away[::-1], away])
    inside = (beside >= 0) & (beside < power.size)
    values = np.where(inside, power[np.clip(beside, 0, power.size - 1)], np.nan)
    return np.asarray(np.nanmedian(values, axis=1))


def _limit_db(averages: float, width: int, places: int) -> float:
    """Return the height that noise reaches anywhere in so many places by chance."""
    by_chance = noise_limit(averages, width, places, _FALSE_ALARM)
    # The floor is a median: half of the lines lie below, but not half of their power.
    by_chance /= noise_limit(averages, 1, 1, 0.5)
    return max(_LEAST_HEIGHT_DB, 10.0 * float(np.log10(by_chance)))


def _pitch_order(
    spectrum: OrderSpectrum,
    harmonic: int,
    pitches: int,
    found: Sequence[_Found],
    reference: float,
) -> PitchOrder:
    order = float(harmonic * pitches)
    centre = np.array([each.order for each in found])
    at = np.where(np.isfinite(centre), centre, order)
    group = _power_around(spectrum, at, np.maximum(GROUP_SHARE * at, _HALF_LINE))
    half_line = np.where(np.isfinite(centre), _HALF_LINE, np.nan)
    return PitchOrder(
        harmonic=harmonic,
        order=order,
        frequency_hz=order * spectrum.mean_turns_per_s,
        found_order=centre,
        level_db=decibels(_power_around(spectrum, at, half_line) / reference**2),
        prominence_db=np.array([each.prominence_db for each in found]),
        group_level_db=decibels(group / reference**2),
        has_neighbours=np.array([each.has_neighbours for each in found]),
    )


def _power_around(
    spectrum: OrderSpectrum, order: NDArray[np.float64], reach: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the power within reach of an order in each channel; NaN beyond the spectrum."""
    chosen = np.abs(spectrum.order - order[:, np.newaxis]) <= reach[:, np.newaxis]
    inside = order + reach <= spectrum.order[-1]
    return np.where(inside, (spectrum.power * chosen).sum(axis=1), np.nan)
