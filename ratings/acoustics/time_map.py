"""Spectra over time: which sound when, in rows of equal length."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.acoustics.narrow_band import SpectrumMeter

RESOLUTION_HZ = 4.0
HIGHEST_HZ = 5000.0
SHORTEST_ROW_S = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class TimeMap:
    """Mean power in lines of 4 Hz, row by row.

    Attributes
    ----------
    power
        Shape (channels, rows, lines), in the square of the signal's unit.
    time_s
        Middles of the rows, shape (rows,).
    frequency_hz
        Shape (lines,), up to 5 kHz.
    """

    power: npt.NDArray[np.float64]
    time_s: npt.NDArray[np.float64]
    frequency_hz: npt.NDArray[np.float64]


class TimeMapMeter:
    """Averages spectra row by row; of each row it keeps one spectrum.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    row_s
        Length of a row, 0.5 s at least. A rest at the end shorter than that is left out.
    """

    def __init__(self, sample_rate_hz: int, channels: int, row_s: float = SHORTEST_ROW_S) -> None:
        self._sample_rate_hz, self._channels = sample_rate_hz, channels
        self._row_frames = round(max(row_s, SHORTEST_ROW_S) * sample_rate_hz)
        self._row = SpectrumMeter(sample_rate_hz, channels, RESOLUTION_HZ)
        self._filled = 0
        self._powers: list[npt.NDArray[np.float32]] = []
        self._resolution_hz = sample_rate_hz / round(sample_rate_hz / RESOLUTION_HZ)
        self._lines = int(min(HIGHEST_HZ, sample_rate_hz / 2) / self._resolution_hz) + 1

    def feed(self, pressure_pa: npt.NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels)."""
        taken = 0
        while taken < len(pressure_pa):
            part = pressure_pa[taken : taken + self._row_frames - self._filled]
            self._row.feed(part)
            taken += len(part)
            self._filled += len(part)
            if self._filled == self._row_frames:
                power = self._row.result().power[:, : self._lines]
                self._powers.append(power.astype(np.float32))
                self._row = SpectrumMeter(self._sample_rate_hz, self._channels, RESOLUTION_HZ)
                self._filled = 0

    def result(self) -> TimeMap:
        """Return the map; it has no rows when less than one was fed."""
        rows = len(self._powers)
        power = (
            np.stack(self._powers, axis=1).astype(np.float64)
            if rows
            else np.empty((self._channels, 0, self._lines))
        )
        row_s = self._row_frames / self._sample_rate_hz
        return TimeMap(
            power=power,
            time_s=(np.arange(rows, dtype=np.float64) + 0.5) * row_s,
            frequency_hz=np.arange(self._lines, dtype=np.float64) * self._resolution_hz,
        )
