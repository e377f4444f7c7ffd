"""Lines at an equal spacing: harmonics of something that turns, not a resonance."""

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.standing_out import joined, noise_limit

#: Spacings looked for: a wheel at 40 to 200 km/h, a shaft at 360 to 1800 turns a minute.
_SPACINGS_HZ = (5.5, 30.0)
_STEP_HZ = 0.05
#: So far to either side the series is followed, and so many neighbours it must have at least.
_REACH_HZ, _LEAST_NEIGHBOURS = 75.0, 4
#: Share of the places of the series where a line must stand.
_LEAST_SHARE = 0.75
_LEAST_HEIGHT_DB = 2.5
_CHANCE = 0.03
#: A line so much higher than the highest of its neighbours is more than one of them.
_OVER_NEIGHBOURS_DB = 4.0


def series_spacing_hz(
    ratio: NDArray[np.float64], resolution_hz: float, averages: float, at: int
) -> float | None:
    """Return the spacing of the series that a line belongs to; None where it belongs to none.

    Parameters
    ----------
    ratio
        Power over its background, shape (lines,), about 1 Hz apart, from a Hann window.
    averages
        Equivalent number of independent spectra averaged.
    at
        Index of the line.

    Notes
    -----
    At the multiples of one spacing to either side of the line, within 75 Hz, lines must stand in
    three of four places, and the line itself must not be 4 dB higher than all of them. The rule is
    ours.
    """
    width = 3
    height_db = 10.0 * np.log10(joined(ratio, width))
    # A series that wanders with the speed does not hit the middle of a line.
    padded = np.pad(height_db, 1, mode="edge")
    crest_db = np.maximum(np.maximum(padded[:-2], padded[1:-1]), padded[2:])
    limit_db = 10.0 * float(np.log10(noise_limit(averages, width, 3, _CHANCE)))
    limit_db = max(limit_db, _LEAST_HEIGHT_DB)
    spacings_hz = np.arange(*_SPACINGS_HZ, _STEP_HZ)
    most = int(_REACH_HZ / _SPACINGS_HZ[0])
    steps = np.concatenate([np.arange(-most, 0), np.arange(1, most + 1)])
    away_hz = spacings_hz[:, np.newaxis] * steps
    places = np.round(at + _offset(ratio, at) + away_hz / resolution_hz).astype(np.int64)
    known = (np.abs(away_hz) <= _REACH_HZ) & (places >= 0) & (places < ratio.size)
    neighbour_db = np.where(known, crest_db[np.clip(places, 0, ratio.size - 1)], -np.inf)
    stands = (neighbour_db > limit_db).sum(axis=1)
    share = stands / np.maximum(known.sum(axis=1), 1)
    is_series = (stands >= _LEAST_NEIGHBOURS) & (share >= _LEAST_SHARE)
    is_series &= height_db[at] <= neighbour_db.max(axis=1) + _OVER_NEIGHBOURS_DB
    if not is_series.any():
        return None
    # Three times the spacing fits as well, with fewer lines.
    return float(spacings_hz[int(np.argmax(np.where(is_series, share * stands, -1.0)))])


def _offset(ratio: NDArray[np.float64], at: int) -> float:
    """Return how far the centre of gravity of a line lies from its highest point, in lines."""
    around = np.maximum(ratio[max(0, at - 1) : at + 2] - 1.0, 0.0)
    if around.size < 3 or not around.any():
        return 0.0
    return float((around * np.array([-1.0, 0.0, 1.0])).sum() / around.sum())
