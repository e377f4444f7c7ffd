"""The spectrum over orders of the wheel: a tone that follows the speed stays one line."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.angle_resampling import AngleResampler
from ratings.acoustics.rolling.wheel_turns import WheelTurns
from ratings.errors import MeasurementError
from ratings.study.speed_trace import SpeedTrace

#: Turns in one spectrum: lines lie an eighth of an order apart.
TURNS_PER_SPECTRUM = 8
SLOWEST_KM_H = 15.0
#: Orders are read up to this share of half the sample rate.
_USABLE = 0.75


@dataclass(frozen=True, slots=True, eq=False)
class OrderSpectrum:
    """Mean power over orders, each part of the way counting alike.

    Attributes
    ----------
    power
        Shape (channels, lines): the share of the mean square that falls to each line, in the
        square of the signal's unit.
    resolution
        Distance of the lines in orders; line k is order k times this.
    averages
        Equivalent number of independent spectra averaged.
    turns
        Turns of the wheel measured.
    mean_turns_per_s
        Mean over the way's time: orders times this are hertz.
    """

    power: NDArray[np.float64]
    resolution: float
    averages: float
    turns: float
    mean_turns_per_s: float

    @property
    def order(self) -> NDArray[np.float64]:
        """Cycles per turn of each line, shape (lines,)."""
        return np.arange(self.power.shape[-1], dtype=np.float64) * self.resolution


class OrderSpectrumMeter:
    """Averages spectra over orders; memory does not grow with the length.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    trace
        Speed over the recording's time; the longest stretch above 15 km/h is measured.
    circumference_m
        Distance rolled in one turn.
    highest_order
        Wanted; lowered to what the sample rate carries at the highest speed.

    Raises
    ------
    MeasurementError
        When the car hardly rolls, or the sample rate carries no order worth the name.

    Notes
    -----
    The signal is read at equal angles by a windowed sinc and averaged as by Welch 1967 over
    stretches of eight turns with a Hann window, half overlapping.
    """

    def __init__(
        self,
        sample_rate_hz: int,
        channels: int,
        trace: SpeedTrace,
        circumference_m: float,
        highest_order: float,
    ) -> None:
        turns = WheelTurns(trace, circumference_m, SLOWEST_KM_H)
        carried = _USABLE * sample_rate_hz / 2.0 / turns.fastest_per_s
        self._highest = min(highest_order, carried)
        if self._highest < 1.0:
            raise MeasurementError(
                f"At {sample_rate_hz} Hz and this speed no order can be measured.",
                "Check the speed trace and the sample rate.",
            )
        self._reading = AngleResampler(sample_rate_hz, channels, turns, self._highest)
        length = self._reading.points_per_turn * TURNS_PER_SPECTRUM
        self._hop = length // 2
        self._window = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(length) / length)
        self._rest = np.empty((0, channels))
        self._sum = np.zeros((channels, int(self._highest * TURNS_PER_SPECTRUM) + 1))
        self._spectra = 0

    def feed(self, pressure_pa: NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels)."""
        for points in self._reading.feed(pressure_pa):
            self._average(points)

    def result(self) -> OrderSpectrum:
        """Return the average; nothing can be fed afterwards.

        Raises
        ------
        MeasurementError
            When the wheel turned fewer than eight times.
        """
        for points in self._reading.finish():
            self._average(points)
        if self._spectra == 0:
            raise MeasurementError(
                f"The recording is shorter than {TURNS_PER_SPECTRUM} turns of the wheel.",
                "Give a recording of two seconds or more, with a speed trace that covers it.",
            )
        count = self._spectra
        shared = (self._window[self._hop :] * self._window[: -self._hop]).sum()
        overlap = float((shared / (self._window**2).sum()) ** 2)
        return OrderSpectrum(
            power=self._sum / count,
            resolution=1.0 / TURNS_PER_SPECTRUM,
            averages=count / (1.0 + 2.0 * overlap * (count - 1) / count),
            turns=(count + 1) * TURNS_PER_SPECTRUM / 2.0,
            mean_turns_per_s=self._reading.mean_turns_per_s,
        )

    def _average(self, points: NDArray[np.float64]) -> None:
        from scipy import fft

        signal = np.concatenate([self._rest, points])
        length, start = self._window.size, 0
        scale = 2.0 / (length * float((self._window**2).sum()))
        while start + length <= len(signal):
            stretch = np.ascontiguousarray(signal[start : start + length].T) * self._window
            spectrum = fft.rfft(stretch)[:, : self._sum.shape[1]]
            power = scale * (spectrum.real**2 + spectrum.imag**2)
            power[:, 0] /= 2.0
            self._sum += power
            self._spectra += 1
            start += self._hop
        self._rest = signal[start:]


def order_spectrum(
    pressure_pa: NDArray[np.float64],
    sample_rate_hz: int,
    trace: SpeedTrace,
    circumference_m: float,
    highest_order: float,
) -> OrderSpectrum:
    """Measure a whole signal of shape (frames, channels); see `OrderSpectrumMeter`."""
    channels = pressure_pa.shape[1]
    meter = OrderSpectrumMeter(sample_rate_hz, channels, trace, circumference_m, highest_order)
    meter.feed(pressure_pa)
    return meter.result()
