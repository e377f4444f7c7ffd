"""Hum of the mains: narrow, steady lines at exact multiples of 50 or 60 Hz."""

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.channel_faults import Hum

Rows = npt.NDArray[np.float64]

MAINS_HZ = (50.0, 60.0)
WINDOW_S = 8.0
"""Long enough that a bin, 0.125 Hz, tells the mains from an order of wheel or engine."""

# Common practice, no source, as are the other limits here.
_HEIGHT = 10.0
_FEWEST_HARMONICS = 3
_HIGHEST_HARMONIC = 10
_MAINS_TOLERANCE_HZ = 0.1
# Standard deviation over mean of the line's power from window to window: 1 for noise.
_STEADINESS = 0.7
# Lines more than 60 dB under the channel's level are rounding, or nobody hears them.
_FAINTEST = 1e-6 / _HEIGHT


class MainsHum:
    """Adds up spectra of windows of 8 s that overlap by half, from signal at about 2 kHz.

    Parameters
    ----------
    rate_hz
        Sample rate of what is fed, any real number.
    """

    def __init__(self, rate_hz: float, channels: int) -> None:
        self._rate_hz = rate_hz
        self._frames = round(WINDOW_S * rate_hz)
        self._taper = np.hanning(self._frames + 1)[:-1]
        bins = self._frames // 2 + 1
        self._power = np.zeros((channels, bins))
        self._power_squared = np.zeros((channels, bins))
        self._waiting = np.empty((channels, 0))
        self.windows = 0

    def feed(self, rows: Rows) -> None:
        """Take the next samples, shape (channels, frames)."""
        self._waiting = np.concatenate([self._waiting, rows], axis=1)
        while self._waiting.shape[1] >= self._frames:
            window = self._waiting[:, : self._frames]
            window = window - window.mean(axis=1, keepdims=True)
            power = np.abs(np.fft.rfft(window * self._taper, axis=1)) ** 2
            self._power += power
            self._power_squared += power**2
            self.windows += 1
            self._waiting = self._waiting[:, self._frames // 2 :]

    def found(self, mean_square: Rows) -> list[Hum | None]:
        """Return the hum of each channel; None without, and for all when no window was full.

        Parameters
        ----------
        mean_square
            Shape (channels,): of the whole signal, with what lies above the rate fed here.
        """
        if self.windows == 0:
            return [None] * len(self._power)
        # What the bins of signals with these mean squares would add up to.
        scale = self.windows * self._frames * float((self._taper**2).sum()) / 2
        floors = _FAINTEST * np.maximum(self._power.sum(axis=1), scale * mean_square)
        return [self._of_channel(channel, float(floor)) for channel, floor in enumerate(floors)]

    def _of_channel(self, channel: int, floor: float) -> Hum | None:
        best: Hum | None = None
        for mains_hz in MAINS_HZ:
            for offset_hz in np.linspace(-_MAINS_TOLERANCE_HZ, _MAINS_TOLERANCE_HZ, 9):
                lines = self._lines(channel, mains_hz + float(offset_hz), floor)
                if len(lines) < _FEWEST_HARMONICS:
                    continue
                if best is None or len(lines) > len(best.harmonics):
                    prominence_db = 10 * float(np.log10(max(lines.values())))
                    best = Hum(mains_hz, tuple(lines), prominence_db)
        return best

    def _lines(self, channel: int, mains_hz: float, floor: float) -> dict[int, float]:
        """Height above the neighbours, as a ratio, of the harmonics that stand out."""
        heights = {}
        for harmonic in range(1, _HIGHEST_HARMONIC + 1):
            centre = round(harmonic * mains_hz * self._frames / self._rate_hz)
            height = self._height(channel, centre, floor)
            if height > _HEIGHT:
                heights[harmonic] = height
        return heights

    def _height(self, channel: int, centre: int, floor: float) -> float:
        """0 where no narrow, steady line has its top within a bin of `centre`."""
        power = self._power[channel]
        if centre + 25 > len(power):
            return 0.0
        top = centre - 1 + int(np.argmax(power[centre - 1 : centre + 2]))
        beside = np.concatenate([power[top - 24 : top - 3], power[top + 4 : top + 25]])
        if power[top] < power[top - 8 : top + 9].max() or power[top] == 0.0:
            return 0.0
        if self.windows >= 3:
            mean = power[top] / self.windows
            spread = self._power_squared[channel, top] / self.windows - mean**2
            if spread > (_STEADINESS * mean) ** 2:
                return 0.0
        return float(power[top]) / max(float(np.median(beside)), floor)
