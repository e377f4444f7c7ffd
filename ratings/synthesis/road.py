"""The road as the tyre feels it: slope along its two tracks, with patches, edges and wander."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ratings.study.constants import KM_H_PER_M_S
from ratings.synthesis.sketch import REFERENCE_SPEED_KM_H, RoadSketch
from ratings.synthesis.speed import Series

#: Grid of the profile; 200 points per metre carry 1.1 kHz at 40 km/h.
GRID_M = 0.005
#: The road repeats after this length.
LOOP_M = 800.0
REFERENCE_SPEED_M_S = REFERENCE_SPEED_KM_H / KM_H_PER_M_S

_REFERENCE_PER_M = 4.5
_UNDULATION_PER_M = 0.3
_LINES = 4
_LINES_ALIKE_PER_M = 1.0
_CONTACT_PER_M = 9.0


@dataclass(frozen=True, slots=True)
class Road:
    """A road on its grid.

    Attributes
    ----------
    slope
        Mean over the width of the left and of the right contact patch, shape (2, points): it
        shakes the axle. Smoothed by the contact patch. Scaled so that, without the smoothing,
        slope times speed has a one-sided density of 1 per hertz at 80 km/h on the reference
        surface.
    bending
        What bends the left and the right contact patch, and so squeezes the air inside; like the
        slope, but another line along the same track, shape (2, points).
    level_db
        Level of patches and wander along the road, in dB, shape (points,).
    """

    slope: Series
    bending: Series
    level_db: Series


@lru_cache(maxsize=4)
def laid_road(sketch: RoadSketch) -> Road:
    """Lay the road of a sketch: the same sketch is the same road.

    Notes
    -----
    Displacement density falls with wavenumber squared, so the density of the slope is flat
    (ISO 8608:2016, waviness 2; from memory). Lines along the road are alike for waves longer than
    a metre only. Patch edges are steps in height, that is, impulses of slope.
    """
    rng = np.random.default_rng(sketch.seed)
    points = round(LOOP_M / GRID_M)
    wavenumber_per_m: Series = np.fft.rfftfreq(points, GRID_M).astype(np.float64)
    white = rng.standard_normal((1 + _LINES, points)) * np.sqrt(
        0.5 / (REFERENCE_SPEED_M_S * GRID_M)
    )
    common, *own = np.fft.rfft(white)
    alike = np.exp(-wavenumber_per_m / _LINES_ALIKE_PER_M)
    apart = np.sqrt(1.0 - alike**2)
    surface = _surface_gain(sketch, wavenumber_per_m)
    lines = np.fft.irfft((alike * common + apart * np.stack(own)) * surface, n=points)
    level_db, edges = _patches(sketch, points, rng)
    lines = lines * 10.0 ** (level_db / 20.0)
    lines += np.vstack([edges, edges]) * 10.0 ** (sketch.texture_db / 20.0)
    smoothed = np.fft.irfft(np.fft.rfft(lines) * contact_gain(wavenumber_per_m), n=points)
    return Road(slope=smoothed[:2], bending=smoothed[2:], level_db=level_db)


def contact_gain(wavenumber_per_m: npt.ArrayLike) -> Series:
    """Return how much of a wave of the road the contact patch passes on, 0 to 1.

    Notes
    -----
    A contact patch of some 0.11 m bridges waves shorter than itself; waves of that length pass at
    half power. Common practice, no source.
    """
    ratio = np.asarray(wavenumber_per_m, dtype=np.float64) / _CONTACT_PER_M
    return np.asarray(1.0 / np.sqrt(1.0 + ratio**2))


def along(values: Series, position_m: Series) -> Series:
    """Read values of the grid at positions on the road, in metres; the road repeats."""
    place = position_m / GRID_M
    before = np.floor(place).astype(np.int64)
    share = place - before
    points = values.shape[-1]
    return np.asarray(
        values[..., before % points] * (1.0 - share) + values[..., (before + 1) % points] * share
    )


def _surface_gain(sketch: RoadSketch, wavenumber_per_m: Series) -> Series:
    """Spectrum of the surface against the reference, with hills and dips left out."""
    octaves = np.log2(np.maximum(wavenumber_per_m, _UNDULATION_PER_M) / _REFERENCE_PER_M)
    gain = 10.0 ** ((sketch.texture_db + sketch.tilt_db_per_octave * octaves) / 20.0)
    ratio = (wavenumber_per_m / _UNDULATION_PER_M) ** 2
    return np.asarray(gain * ratio / (1.0 + ratio))


def _patches(sketch: RoadSketch, points: int, rng: np.random.Generator) -> tuple[Series, Series]:
    """Level along the road in dB, and the steps in height where one patch ends."""
    count = max(2, round(LOOP_M / sketch.patch_m))
    starts = np.sort(rng.integers(0, points, count))
    patch = np.searchsorted(starts, np.arange(points), side="right") % count
    steps_db = rng.normal(0.0, sketch.patch_db, count)[patch]
    wavenumber_per_m = np.fft.rfftfreq(points, GRID_M)
    blend = 1.0 / (1.0 + (wavenumber_per_m / 2.0) ** 2)
    slow = np.exp(-((wavenumber_per_m * 8.0) ** 2)) * (wavenumber_per_m > 1.0 / 60.0)
    wander = np.fft.irfft(np.fft.rfft(rng.standard_normal(points)) * slow, n=points)
    level_db = np.fft.irfft(np.fft.rfft(steps_db) * blend, n=points)
    level_db += sketch.wander_db * wander / wander.std()
    # An impulse of area A has the energy A^2 of a noise of two-sided density A^2/L over a length L.
    area = np.sqrt(0.5 / REFERENCE_SPEED_M_S * sketch.edge_m * rng.lognormal(0.0, 0.8, count))
    edges = np.zeros((2, points))
    for track, reach in enumerate(rng.uniform(0.3, 1.0, (2, count))):
        edges[track, starts] += rng.choice([-1.0, 1.0], count) * area * reach / GRID_M
    return level_db, edges
