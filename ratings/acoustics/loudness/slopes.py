"""Specific loudness over critical-band rate: core loudness with slopes towards higher bands."""

import numpy as np
import numpy.typing as npt

from ratings.acoustics.loudness import tables

POINTS = 240
"""Specific loudness is given every 0.1 Bark from 0.1 to 24 Bark."""

POINTS_BARK = np.arange(1, POINTS + 1) / 10

_LIMITS = np.array(tables.SLOPE_LIMITS)
_STEEPNESS = np.array(tables.SLOPE_STEEPNESS)
_EDGES_BARK = np.array((0.0, *tables.UPPER_EDGES_BARK))
_BANDS = len(tables.UPPER_EDGES_BARK)
# All limits are multiples of 0.005 sone per Bark, so a cell of this size lies in one range.
_CELLS_PER_SONE = 200
_CELLS_PER_BARK = 20
# Values handled at once, so that they stay in the processor's cache.
_BLOCK = 8192


class _Slope:
    """One column of the table of slopes: a curve that falls by ranges, and its integrals.

    The curve is counted backwards: at distance 0 it reaches zero, at `distance(n)` it is n.
    """

    def __init__(self, steepness: npt.NDArray[np.float64]) -> None:
        # From the lowest range up; the highest has no end.
        self._low = _LIMITS[::-1]
        self._steepness = steepness[::-1]
        lengths = np.diff(self._low) / self._steepness[:-1]
        starts = np.concatenate([[0.0], np.cumsum(lengths)])
        areas = 0.5 * (self._low[1:] ** 2 - self._low[:-1] ** 2) / self._steepness[:-1]
        area_starts = np.concatenate([[0.0], np.cumsum(areas)])
        self._flatness = 1.0 / self._steepness
        self._distance_at_0 = starts - self._low * self._flatness
        self._half_flatness = 0.5 * self._flatness
        self._area_at_0 = area_starts - self._low**2 * self._half_flatness
        self._value_at_0 = self._low - starts * self._steepness
        middles = (np.arange(int(self._low[-1] * _CELLS_PER_SONE) + 1) + 0.5) / _CELLS_PER_SONE
        self._range_of_value = np.searchsorted(self._low, middles) - 1
        begins = np.arange(int(starts[-1] * _CELLS_PER_BARK) + 2) / _CELLS_PER_BARK
        self._range_of_distance = np.searchsorted(starts, begins, "right") - 1
        self._next_start = np.append(starts[1:], np.inf)

    def integrals(
        self, value: npt.NDArray[np.float64]
    ) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Return distance to zero in Bark, and area under the curve to zero in sone."""
        cell = np.minimum(value * _CELLS_PER_SONE, len(self._range_of_value) - 1).astype(np.intp)
        index = self._range_of_value.take(cell)
        distance = self._flatness.take(index) * value + self._distance_at_0.take(index)
        area = self._half_flatness.take(index) * value * value + self._area_at_0.take(index)
        return distance, area

    def value(self, distance: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Return the curve at a distance; zero below distance 0."""
        distance = np.maximum(distance, 0.0)
        cell = np.minimum(distance * _CELLS_PER_BARK, len(self._range_of_distance) - 1)
        index = self._range_of_distance.take(cell.astype(np.intp))
        # Ranges are longer than a cell, so at most one begins inside it.
        index += distance >= self._next_start.take(index)
        return np.asarray(self._steepness.take(index) * distance + self._value_at_0.take(index))


_SLOPES = tuple(_Slope(column) for column in _STEEPNESS.T)


def _slope(band: int) -> _Slope:
    return _SLOPES[min(max(band - 1, 0), len(_SLOPES) - 1)]


def total_loudness(core: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Integrate the specific loudness over critical-band rate.

    Parameters
    ----------
    core
        Shape (20, times), in sone per Bark.

    Returns
    -------
    Shape (times,), in sone.

    References
    ----------
    ISO 532-1:2017, clause 5 and annex A. The straight pieces are integrated in closed form.
    """
    total = np.empty(core.shape[1])
    for start in range(0, len(total), _BLOCK):
        part = slice(start, start + _BLOCK)
        total[part] = _total_of_block(core[:, part])
    return total


def _total_of_block(core: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    total = np.zeros(core.shape[1])
    running = np.zeros(core.shape[1])
    for band in range(_BANDS):
        width = _EDGES_BARK[band + 1] - _EDGES_BARK[band]
        here = core[band] if band < len(core) else np.zeros(core.shape[1])
        above = np.maximum(running, here)
        slope = _slope(band)
        distance_in, area_in = slope.integrals(above)
        running = np.maximum(slope.value(distance_in - width), here)
        distance_out, area_out = slope.integrals(running)
        # What is left of the band after the slope has come down lies at the core's height.
        total += area_in - area_out + here * (width - distance_in + distance_out)
    return total


def specific_loudness(core: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Give the specific loudness every 0.1 Bark.

    Parameters
    ----------
    core
        Shape (20, times), in sone per Bark.

    Returns
    -------
    Shape (240, times), in sone per Bark.
    """
    pattern = np.empty((POINTS, core.shape[1]))
    running = np.zeros(core.shape[1])
    for band in range(_BANDS):
        start_bark, end_bark = _EDGES_BARK[band], _EDGES_BARK[band + 1]
        here = core[band] if band < len(core) else np.zeros(core.shape[1])
        slope = _slope(band)
        distance, _ = slope.integrals(np.maximum(running, here))
        points = slice(round(start_bark * 10), round(end_bark * 10))
        travelled = POINTS_BARK[points, None] - start_bark
        pattern[points] = np.maximum(slope.value(distance - travelled), here)
        running = pattern[points][-1]
    return pattern
