"""The orders of the tread pattern: where they are expected and how loud they are."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.levels import REFERENCE_PRESSURE_PA, decibels
from ratings.acoustics.rolling.cavity_prediction import wheel_turns_per_s
from ratings.acoustics.rolling.order_spectrum import OrderSpectrum
from ratings.acoustics.rolling.standing_out import noise_limit
from ratings.errors import MeasurementError
from ratings.study.tyre_size import TyreSize

#: Harmonics of the pitch order that are read.
HARMONICS = 3
#: Pitch lengths differ by some 15 % around their mean, and so far the orders spread; common
#: practice, no source.
GROUP_SHARE = 0.18
#: Half the stretch of orders that counts as one line: four wheels differ a little.
_HALF_LINE = 0.5
_BESIDE = (0.75, 4.0)
#: Height from which an order stands out. Of 72 orders of invented road noise without a pattern the
#: highest reached 2.1 dB.
_LEAST_HEIGHT_DB = 2.5
_FALSE_ALARM = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class PitchOrder:
    """One multiple of the pitch count, each array of shape (channels,).

    Attributes
    ----------
    harmonic
        1 for the pitch order itself.
    order
        Cycles per turn of the wheel.
    frequency_hz
        At the mean speed of what was measured.
    level_db
        Level within half an order to either side.
    height_db
        The same over the level that the orders beside it would give in so wide a stretch.
    group_level_db
        Level of the whole group of orders into which unequal pitches spread the tone, 18 % to
        either side; it holds the noise in between too.
    stands_out
        Whether there is an order to be seen: where there is none, the level is that of the noise.
    """

    harmonic: int
    order: float
    frequency_hz: float
    level_db: NDArray[np.float64]
    height_db: NDArray[np.float64]
    group_level_db: NDArray[np.float64]
    stands_out: NDArray[np.bool_]


def pattern_tone_hz(tyre: TyreSize, pitches: int, speed_km_h: float) -> float:
    """Return the frequency at which pitches enter the contact patch: pitches times v / C.

    Raises
    ------
    MeasurementError
        When the pitch count is none that a tyre has.
    """
    if not 1 <= pitches <= 500:
        raise MeasurementError(
            f"A tyre does not have {pitches} pitches.", "Count the pitches around the tread."
        )
    return pitches * wheel_turns_per_s(tyre, speed_km_h)


def highest_order_for(pitches: int) -> float:
    """Return the order up to which a spectrum must reach to hold all harmonics read."""
    return HARMONICS * pitches * (1.0 + GROUP_SHARE) + 1.0


def pitch_orders(
    spectrum: OrderSpectrum, pitches: int, reference: float = REFERENCE_PRESSURE_PA
) -> tuple[PitchOrder, ...]:
    """Read the first three multiples of the pitch count.

    A level is NaN where the spectrum does not reach, because the sample rate does not carry it.
    """
    return tuple(
        _pitch_order(spectrum, number, float(number * pitches), reference)
        for number in range(1, HARMONICS + 1)
    )


def _pitch_order(
    spectrum: OrderSpectrum, harmonic: int, order: float, reference: float
) -> PitchOrder:
    away = np.abs(spectrum.order - order)
    on = away <= _HALF_LINE
    beside = (away >= _BESIDE[0]) & (away <= _BESIDE[1])
    group = away <= max(GROUP_SHARE * order, _HALF_LINE)
    floor = np.full(len(spectrum.power), np.nan)
    if beside.any():
        floor = np.median(spectrum.power[:, beside], axis=1) * on.sum()
    reached = spectrum.order[-1]
    line = _sum_where(spectrum.power, on, order + _HALF_LINE <= reached)
    whole = _sum_where(spectrum.power, group, order * (1.0 + GROUP_SHARE) <= reached)
    with np.errstate(divide="ignore", invalid="ignore"):
        height = np.where(floor > 0.0, line / floor, np.where(line > 0.0, np.inf, np.nan))
    height_db = decibels(height)
    by_chance = noise_limit(spectrum.averages, max(1, int(on.sum())), 1, _FALSE_ALARM)
    # The floor is a median: half of the lines lie below, but not half of their power.
    by_chance /= noise_limit(spectrum.averages, 1, 1, 0.5)
    return PitchOrder(
        harmonic=harmonic,
        order=order,
        frequency_hz=order * spectrum.mean_turns_per_s,
        level_db=decibels(line / reference**2),
        height_db=height_db,
        group_level_db=decibels(whole / reference**2),
        stands_out=height_db > max(_LEAST_HEIGHT_DB, 10.0 * np.log10(by_chance)),
    )


def _sum_where(
    power: NDArray[np.float64], chosen: NDArray[np.bool_], reached: bool
) -> NDArray[np.float64]:
    if not reached:
        return np.full(len(power), np.nan)
    return np.asarray(power[:, chosen].sum(axis=1))
