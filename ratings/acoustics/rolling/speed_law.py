"""How a level grows with speed: a straight line over the logarithm of the speed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

REFERENCE_SPEED_KM_H = 80.0


@dataclass(frozen=True, slots=True)
class SpeedLaw:
    """Level = level_at_80_db + slope * log10(speed / 80 km/h).

    Attributes
    ----------
    slope_db_per_decade, slope_error_db
        With its standard error (one standard deviation), which takes the points for independent.
    exponent
        Power grows with this power of the speed: a tenth of the slope.
    level_at_80_db
        Level of the line at 80 km/h.
    points
        Speeds that the line was laid through.
    """

    slope_db_per_decade: float
    slope_error_db: float
    exponent: float
    level_at_80_db: float
    points: int

    def level_db(self, speed_km_h: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the level of the line at each speed."""
        decades = np.log10(speed_km_h / REFERENCE_SPEED_KM_H)
        return np.asarray(self.level_at_80_db + self.slope_db_per_decade * decades)


def speed_law(
    speed_km_h: NDArray[np.float64], level_db: NDArray[np.float64], weights: NDArray[np.float64]
) -> SpeedLaw:
    """Lay the line of least weighted squares; all arrays of shape (speeds,).

    Points with a level that is not finite are left out. With fewer than three points or no
    distance between them, all figures are NaN.
    """
    used = np.isfinite(level_db) & np.isfinite(speed_km_h) & (weights > 0.0)
    decades = np.log10(speed_km_h[used] / REFERENCE_SPEED_KM_H)
    level, weight = level_db[used], weights[used] / max(float(weights[used].sum()), 1e-300)
    points = int(used.sum())
    middle = float(weight @ decades)
    spread = float(weight @ (decades - middle) ** 2)
    if points < 3 or spread == 0.0:
        return SpeedLaw(np.nan, np.nan, np.nan, np.nan, points)
    slope = float(weight @ ((decades - middle) * level)) / spread
    level_at_80_db = float(weight @ level) - slope * middle
    residual = level - level_at_80_db - slope * decades
    variance = float(weight @ residual**2) / (points - 2)
    error = float(np.sqrt(variance / spread))
    return SpeedLaw(slope, error, slope / 10.0, level_at_80_db, points)


def departure_db(
    speed_km_h: NDArray[np.float64], level_db: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how far each level lies above a line that no peak pulls up, shape (speeds,).

    Notes
    -----
    Slope: median of the slopes between all pairs of points (Theil 1950, Sen 1968, J. Am. Stat.
    Assoc. 63, 1379-1389); offset: median. NaN where the level is not finite.
    """
    decades = np.log10(speed_km_h / REFERENCE_SPEED_KM_H)
    used = np.isfinite(level_db)
    if used.sum() < 3:
        return np.full(level_db.shape, np.nan)
    first, second = np.triu_indices(int(used.sum()), 1)
    x, y = decades[used], level_db[used]
    slope = float(np.median((y[second] - y[first]) / (x[second] - x[first])))
    return np.asarray(level_db - slope * decades - np.median(y - slope * x))
