"""How the synthesis tests measure: Welch densities and sums over bins, nothing of ours inside."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import welch

from ratings.synthesis.alder_wagon import ALDER_WAGON
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.sketch import RoadSketch, TyreSketch

Array = npt.NDArray[np.float64]
RATE_HZ = 12_000


@dataclass(frozen=True)
class Density:
    """Mean over the ears, one bin per hertz."""

    hz: Array
    pa2: Array

    def band_db(self, low_hz: float, high_hz: float) -> float:
        inside = (self.hz >= low_hz) & (self.hz < high_hz)
        return float(10.0 * np.log10(self.pa2[inside].sum() / 4e-10))

    def line_db(self, line_hz: float, half_hz: float, flank_hz: tuple[float, float]) -> float:
        """Level of a line without the noise that its flanks show."""
        beside = np.abs(self.hz - line_hz)
        on, flank = beside <= half_hz, (beside > flank_hz[0]) & (beside < flank_hz[1])
        floor = np.exp(np.mean(np.log(self.pa2[flank])))
        return float(10.0 * np.log10((self.pa2[on] - floor).sum() / 4e-10))

    def a_weighted_db(self) -> float:
        """IEC 61672-1:2013 annex E, A-weighting from its four pole frequencies."""
        f2 = np.maximum(self.hz, 1.0) ** 2
        gain = 12194.217**2 * f2**2
        gain /= (f2 + 20.598997**2) * (f2 + 12194.217**2)
        gain /= np.sqrt((f2 + 107.65265**2) * (f2 + 737.86223**2))
        return float(10.0 * np.log10((self.pa2 * (gain * 10**0.1) ** 2).sum() / 4e-10))

    def thirds_db(self, centres_hz: Array) -> Array:
        edge = 10.0**0.05
        return np.array([self.band_db(each / edge, each * edge) for each in centres_hz])


def density_of(pressure_pa: Array, rate_hz: int) -> Density:
    hz, pa2 = welch(pressure_pa, rate_hz, nperseg=rate_hz, axis=0)
    return Density(hz, pa2 if pa2.ndim == 1 else pa2.mean(axis=1))


@pytest.fixture(scope="session")
def measure() -> Callable[[Array, int], Density]:
    return density_of


@pytest.fixture(scope="session")
def drive() -> Callable[..., Density]:
    """Drive the Alder wagon at a steady speed and measure; runs are remembered."""
    known: dict[tuple[TyreSketch, RoadSketch, float], Density] = {}

    def driven(tyre: TyreSketch, road: RoadSketch, speed_km_h: float) -> Density:
        key = (tyre, road, speed_km_h)
        if key not in known:
            speed = np.full(20 * RATE_HZ, speed_km_h)
            rng = np.random.default_rng(5)
            known[key] = density_of(
                cabin_pressure_pa(ALDER_WAGON, tyre, road, speed, RATE_HZ, rng), RATE_HZ
            )
        return known[key]

    return driven
