"""Roughness of a recording in one pass."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import fft
from scipy.signal.windows import blackman

from ratings.acoustics.audibility import bark
from ratings.acoustics.roughness.bands import CriticalBands, Modulation
from ratings.acoustics.roughness.tables import BANDS, HIGHEST_HZ, band_weights, ear_gain_db
from ratings.errors import MeasurementError

FRAME_S: Final = 0.2
"""Length of a frame; the next one begins half a frame later."""

# Daniel and Weber 1997: makes the reference tone 1 asper.
_CALIBRATION: Final = 0.25
_ROWS_AT_ONCE: Final = 64


@dataclass(frozen=True, slots=True, eq=False)
class Roughness:
    """Roughness in asper.

    Attributes
    ----------
    time_s
        Shape (frames,): middles of the frames.
    asper
        Shape (frames, channels).
    mean_asper
        Shape (channels,): mean over the frames.
    specific_mean_asper
        Shape (channels, 47): mean contributions of the bands at 0.5, 1 ... 23.5 Bark; they add up
        to `mean_asper`.
    """

    time_s: npt.NDArray[np.float64]
    asper: npt.NDArray[np.float64]
    mean_asper: npt.NDArray[np.float64]
    specific_mean_asper: npt.NDArray[np.float64]


class RoughnessMeter:
    """Measures roughness block by block; of a whole recording it keeps ten values per second.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.

    Notes
    -----
    Frames of 200 ms under a Blackman window, half overlapping. Frames that the recording does
    not fill are left out. How the bands are computed, and what is left out for speed, is told at
    `CriticalBands`; `tests/ratings/acoustics/test_roughness_routes.py` sets the plain model
    beside it.

    References
    ----------
    Daniel, P. and Weber, R. 1997, Psychoacoustical roughness: implementation of an optimized
    model, Acustica - acta acustica 83, 113-123. 1 asper is a 1 kHz tone of 60 dB, fully
    amplitude-modulated at 70 Hz.
    """

    def __init__(self, sample_rate_hz: int, channels: int) -> None:
        self._sample_rate_hz = sample_rate_hz
        self._length = round(FRAME_S * sample_rate_hz)
        self._hop = self._length // 2
        resolution_hz = sample_rate_hz / self._length
        self._lines = min(int(HIGHEST_HZ / resolution_hz), (self._length - 1) // 2)
        window = blackman(self._length, sym=False)
        self._window = window.astype(np.float32)
        ear = ear_gain_db(bark(np.arange(1, self._lines + 1) * resolution_hz))
        # A tone's line reads its effective value.
        self._gain = (10 ** (ear / 20) * np.sqrt(2) / window.sum()).astype(np.float32)
        self._bands = CriticalBands(resolution_hz, self._lines)
        frames_at_once = max(1, _ROWS_AT_ONCE // channels)
        self._stretch = (frames_at_once - 1) * self._hop + self._length
        self._waiting: list[npt.NDArray[np.float32]] = []
        self._waiting_length = 0
        self._asper: list[npt.NDArray[np.float64]] = [np.empty((0, channels))]
        self._specific_sum = np.zeros((channels, BANDS))

    def feed(self, pressure_pa: npt.NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels).

        Raises
        ------
        MeasurementError
            When a sample is not a number.
        """
        # A copy, because the caller may reuse its block.
        self._waiting.append(np.array(pressure_pa, dtype=np.float32))
        self._waiting_length += len(pressure_pa)
        if self._waiting_length < self._stretch:
            return
        signal = np.concatenate(self._waiting)
        while len(signal) >= self._stretch:
            specific = self._specific_asper(signal[: self._stretch])
            self._asper.append(specific.sum(axis=2))
            self._specific_sum += specific.sum(axis=0)
            signal = signal[self._stretch - self._length + self._hop :]
        self._waiting, self._waiting_length = [signal.copy()], len(signal)

    def result(self) -> Roughness:
        """Return the roughness of what was fed.

        Raises
        ------
        MeasurementError
            When less than one frame of 0.2 s was fed.
        """
        asper, specific_sum = self._asper, self._specific_sum
        if self._waiting_length >= self._length:
            rest = self._specific_asper(np.concatenate(self._waiting))
            asper = [*asper, rest.sum(axis=2)]
            specific_sum = specific_sum + rest.sum(axis=0)
        series = np.concatenate(asper)
        if len(series) == 0:
            raise MeasurementError(
                "The recording is too short for roughness.", f"It takes {FRAME_S} s at least."
            )
        middle_s = (np.arange(len(series)) * self._hop + self._length / 2) / self._sample_rate_hz
        return Roughness(middle_s, series, series.mean(axis=0), specific_sum / len(series))

    def _specific_asper(self, signal: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        """Return the roughness of whole frames per band, shape (frames, channels, 47)."""
        if not np.isfinite(signal).all():
            raise MeasurementError("The recording holds samples that are not numbers.")
        stretches = np.lib.stride_tricks.sliding_window_view(signal, self._length, axis=0)[
            :: self._hop
        ]
        spectra = fft.rfft(stretches * self._window)[..., 1 : self._lines + 1] * self._gain
        modulation = self._bands.modulation(spectra.reshape(-1, self._lines))
        specific = _CALIBRATION * band_weights() * _felt_depth(modulation) ** 2
        return specific.reshape(*stretches.shape[:2], BANDS)


def roughness(pressure_pa: npt.NDArray[np.float64], sample_rate_hz: int) -> Roughness:
    """Return the roughness of a whole recording, shape (frames, channels).

    Raises
    ------
    MeasurementError
        When it is shorter than 0.2 s, or a sample is not a number.
    """
    meter = RoughnessMeter(sample_rate_hz, pressure_pa.shape[1])
    meter.feed(pressure_pa)
    return meter.result()


def _felt_depth(modulation: Modulation) -> npt.NDArray[np.float64]:
    """Return the depth that counts: bands whose neighbours fluctuate otherwise count less."""
    depth = modulation.depth.copy()
    depth[:, :-2] *= modulation.correlation
    depth[:, 2:] *= modulation.correlation
    return depth
