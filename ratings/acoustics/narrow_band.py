"""The narrow-band spectrum of a recording, averaged in one pass."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy import fft
from scipy.signal import get_window

from ratings.acoustics.lines_over_time import LinesOverTime, LinesOverTimeMeter
from ratings.errors import MeasurementError

Window = Literal["hann", "flat top"]

RESOLUTION_HZ = 1.0
_OVERLAP = 0.5
# Where lines are looked for, and where the sound is followed over time.
_FOLLOWED_HZ = (100.0, 1000.0)
# How far up the lines are followed from stretch to stretch.
_LINES_UP_TO_HZ = 500.0
_MOST_FRAMES_AT_ONCE = 16
_WINDOWS: dict[Window, str] = {"hann": "hann", "flat top": "flattop"}


@dataclass(frozen=True, slots=True, eq=False)
class NarrowBandSpectrum:
    """Mean power in lines of equal width.

    Attributes
    ----------
    power
        Shape (channels, lines), in the square of the signal's unit: the share of the mean square
        that falls to each line, so that the lines of a band add up to its mean square.
    resolution_hz
        Distance of the lines; line k lies at k times this.
    noise_bandwidth_hz
        Equivalent noise bandwidth of the window. A tone that hits a line's middle reads its full
        power there when the line is multiplied by noise_bandwidth_hz / resolution_hz.
    averages
        Equivalent number of independent spectra averaged: a line of random noise scatters like
        chi-square with twice as many degrees of freedom. Where the sound swells or fades, it is
        less, because the loud stretches make the average; the median over the channels.
    over_time
        What the lines up to 500 Hz do meanwhile; None for a recording of less than two stretches.
    """

    power: npt.NDArray[np.float64]
    resolution_hz: float
    noise_bandwidth_hz: float
    averages: float
    over_time: LinesOverTime | None = None

    @property
    def frequency_hz(self) -> npt.NDArray[np.float64]:
        """Frequencies of the lines, shape (lines,)."""
        return np.arange(self.power.shape[-1], dtype=np.float64) * self.resolution_hz

    def tone_power(self) -> npt.NDArray[np.float64]:
        """Return the power that a tone at each line would have, shape (channels, lines)."""
        return self.power * (self.noise_bandwidth_hz / self.resolution_hz)


class SpectrumMeter:
    """Averages spectra of overlapping stretches; memory does not grow with the length.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    resolution_hz
        Distance of the lines, kept as nearly as whole frames allow. A recording shorter than
        one stretch of 1 / resolution_hz is taken whole, at the coarser resolution it has.
    window
        ``hann`` for lines in noise; ``flat top`` reads the level of a tone right to 0.01 dB
        wherever it lies between two lines.

    References
    ----------
    Welch, P. D. 1967, The use of fast Fourier transform for the estimation of power spectra,
    IEEE Transactions on Audio and Electroacoustics 15(2), 70-73.
    """

    def __init__(
        self,
        sample_rate_hz: int,
        channels: int,
        resolution_hz: float = RESOLUTION_HZ,
        window: Window = "hann",
    ) -> None:
        if not 0 < resolution_hz <= sample_rate_hz / 8:
            raise MeasurementError(
                f"A resolution of {resolution_hz:g} Hz is not possible at {sample_rate_hz} Hz.",
                "Choose about 1 Hz.",
            )
        self._sample_rate_hz = sample_rate_hz
        self._window_name = window
        self._length = round(sample_rate_hz / resolution_hz)
        self._hop = round(self._length * (1 - _OVERLAP))
        self._window = _window(window, self._length)
        self._rest = np.empty((0, channels))
        self._sum = np.zeros((channels, self._length // 2 + 1))
        self._spectra = 0
        low, high = (round(each_hz / sample_rate_hz * self._length) for each_hz in _FOLLOWED_HZ)
        self._followed = slice(low, high)
        # Sums over the stretches of how loud each is, and of its square.
        self._loud, self._loud_squared = np.zeros(channels), np.zeros(channels)
        low_lines = round(_LINES_UP_TO_HZ / sample_rate_hz * self._length)
        self._low_lines = LinesOverTimeMeter(channels, min(low_lines, self._length // 2))

    def feed(self, pressure_pa: npt.NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels)."""
        signal = np.concatenate([self._rest, pressure_pa])
        start = 0
        while start + self._length <= len(signal):
            stop = min(start + (_MOST_FRAMES_AT_ONCE - 1) * self._hop + self._length, len(signal))
            stretches = np.lib.stride_tricks.sliding_window_view(
                signal[start:stop], self._length, axis=0
            )[:: self._hop]
            for stretch in stretches:
                spectrum = fft.rfft(stretch * self._window)
                power = _power(spectrum, self._window)
                self._low_lines.add(spectrum, power)
                self._add(power)
            start += len(stretches) * self._hop
        self._rest = signal[start:].copy()

    def result(self) -> NarrowBandSpectrum:
        """Return the average.

        Raises
        ------
        MeasurementError
            When fewer than eight frames were fed.
        """
        if self._spectra:
            return self._spectrum(
                self._sum / self._spectra, self._window, self._averages(), self._low_lines.result()
            )
        if len(self._rest) < 8:
            raise MeasurementError("There is no sound to measure: the signal is too short.")
        window = _window(self._window_name, len(self._rest))
        return self._spectrum(_power(fft.rfft(self._rest.T * window), window), window, 1.0)

    def _add(self, power: npt.NDArray[np.float64]) -> None:
        self._sum += power
        self._spectra += 1
        followed = power[:, self._followed]
        # By frequency, so that the deepest lines of a falling spectrum do not speak for all.
        loud = (followed * np.arange(1.0, followed.shape[1] + 1)).sum(axis=1)
        self._loud += loud
        self._loud_squared += loud**2

    def _spectrum(
        self,
        power: npt.NDArray[np.float64],
        window: npt.NDArray[np.float64],
        averages: float,
        over_time: LinesOverTime | None = None,
    ) -> NarrowBandSpectrum:
        resolution_hz = self._sample_rate_hz / len(window)
        bandwidth = len(window) * float((window**2).sum()) / float(window.sum()) ** 2
        return NarrowBandSpectrum(
            power, resolution_hz, bandwidth * resolution_hz, averages, over_time
        )

    def _averages(self) -> float:
        # Welch 1967, variance with overlap: neighbours share part of the signal.
        total = float((self._window**2).sum())
        shared = float((self._window[self._hop :] * self._window[: -self._hop]).sum()) / total
        count = self._spectra
        heard = self._loud > 0
        phase_coherence = 1.0
        if heard.any():
            shares = self._loud[heard] ** 2 / (count * self._loud_squared[heard])
            phase_coherence = float(np.median(shares))
        return max(1.0, phase_coherence * count / (1 + 2 * shared**2 * (count - 1) / count))


def _window(name: Window, length: int) -> npt.NDArray[np.float64]:
    window: npt.NDArray[np.float64] = get_window(_WINDOWS[name], length)
    return window


def _power(
    spectrum: npt.NDArray[np.complex128], window: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return the one-sided power in a spectrum of shape (channels, lines)."""
    power: npt.NDArray[np.float64] = spectrum.real**2 + spectrum.imag**2
    power *= 2 / (len(window) * float((window**2).sum()))
    power[:, 0] /= 2
    if len(window) % 2 == 0:
        power[:, -1] /= 2
    return power
