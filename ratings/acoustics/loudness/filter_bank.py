"""Power in 28 third octaves over time: the standard's filters, squared and smoothed."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy import fft

from ratings.acoustics.loudness import tables
from ratings.study.constants import REFERENCE_PRESSURE_PA

POWER_RATE_HZ = 2_000
"""Rate of the powers: one every 0.5 ms (ISO 532-1:2017, clause 6)."""

STEP_FRAMES = tables.SAMPLE_RATE_HZ // POWER_RATE_HZ

# Lengths of stretches are multiples of this, so that every rate below fits in a whole number.
_GRID_HZ = 16
# A tone that a filter weakens by more is below the threshold of hearing at 110 dB.
_LEAST_GAIN = 10 ** (-110 / 20)
# Ratio of frequencies beyond which every filter is weaker than that.
_FARTHEST = 20
# Rate of a band's envelope over its centre frequency: 8 times the band's width.
_ENVELOPE_RATE = 2.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """How a bank cuts the signal: what it needs before and after what it answers for.

    Attributes
    ----------
    before, frames, after
        In samples at 48 kHz, multiples of 1/16 s.
    """

    before: int
    frames: int
    after: int

    @property
    def total(self) -> int:
        """Length of what is handed to the bank."""
        return self.before + self.frames + self.after


@dataclass(frozen=True, slots=True, eq=False)
class Powers:
    """What a bank found in one stretch, relative to the reference pressure squared.

    Attributes
    ----------
    smoothed
        Shape (bands, channels, times), every 0.5 ms.
    energies
        Shape (cuts, bands, channels): not smoothed, integrated over time up to each cut, in
        seconds.
    """

    smoothed: npt.NDArray[np.float64]
    energies: npt.NDArray[np.float64]


class FilterBank:
    """Some neighbouring bands of ISO 532-1:2017, clause 6, on stretches of a signal.

    Parameters
    ----------
    bands
        Indices from 0 (25 Hz) to 27 (12.5 kHz).
    stretch
        The signal before must be long enough for the filters to forget.

    Notes
    -----
    The filters are applied to spectra, with the very frequency responses of the standard's second
    order sections. A band's spectrum is moved down to 0 Hz and folded, which gives samples of the
    envelope at a low rate; its square is the square of the filtered signal without the ripple at
    twice the frequency, of which the smoothing leaves 0.2 %. The three low-passes are applied to
    spectra too, as they stand at 48 kHz.
    """

    def __init__(self, bands: Sequence[int], stretch: Stretch) -> None:
        self._stretch = stretch
        self._bands = [_band(band, stretch.total) for band in bands]

    def measure(self, pressure_pa: npt.NDArray[np.float64], cuts: Sequence[int]) -> Powers:
        """Measure one stretch.

        Parameters
        ----------
        pressure_pa
            Shape (channels, stretch.total), contiguous.
        cuts
            In frames from the beginning of what the bank answers for, at most its length.
        """
        stretch = self._stretch
        spectrum = fft.rfft(pressure_pa)
        shape = len(self._bands), len(spectrum)
        smoothed = np.empty((*shape, stretch.frames // STEP_FRAMES))
        energies = np.empty((len(cuts), *shape))
        first = stretch.before // STEP_FRAMES
        for index, band in enumerate(self._bands):
            power = band.power(spectrum)
            smoothed[index] = band.smooth(power)[:, first : first + smoothed.shape[2]]
            begin = stretch.before * band.points // stretch.total
            step_frames = stretch.total / band.points
            for cut, frames in enumerate(cuts):
                whole, part = divmod(frames / step_frames, 1)
                until = begin + int(whole)
                energy = power[:, begin:until].sum(axis=1) + part * power[:, until]
                energies[cut, index] = energy * (step_frames / tables.SAMPLE_RATE_HZ)
        return Powers(smoothed, energies)


@dataclass(frozen=True, slots=True, eq=False)
class _Band:
    """One filter on spectra of one length."""

    first_bin: int
    response: npt.NDArray[np.complex128]
    points: int
    smoothing: npt.NDArray[np.complex128]
    steps: int

    def power(self, spectrum: npt.NDArray[np.complex128]) -> npt.NDArray[np.float64]:
        """Square of the envelope over two, at the band's own rate, shape (channels, points)."""
        bins = slice(self.first_bin, self.first_bin + len(self.response))
        folded = _folded(spectrum[:, bins] * self.response, self.points)
        envelope = fft.ifft(folded, norm="forward", overwrite_x=True)
        parts = envelope.view(np.float64)
        np.multiply(parts, parts, out=parts)
        return np.asarray(parts[:, ::2] + parts[:, 1::2])

    def smooth(self, power: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Low-passed and at 2 kHz, shape (channels, times)."""
        spectrum = fft.rfft(power)
        spectrum *= self.smoothing
        # Taking values at 2 kHz folds what lies above 1 kHz, as the standard's program does.
        folded = _folded(spectrum, self.steps)
        half = self.steps // 2 + 1
        mirrored = folded[:, -np.arange(half)]
        folded = folded[:, :half] + np.conj(mirrored, out=mirrored)
        smoothed: npt.NDArray[np.float64] = fft.irfft(folded, self.steps, norm="forward")
        return smoothed


def _folded(spectrum: npt.NDArray[np.complex128], points: int) -> npt.NDArray[np.complex128]:
    """Add up the bins that fall together when the time signal is taken at fewer points."""
    channels, bins = spectrum.shape
    rows = -(-bins // points)
    padded = np.zeros((channels, rows, points), dtype=np.complex128)
    padded.reshape(channels, -1)[:, :bins] = spectrum
    return np.asarray(padded.sum(axis=1)) if rows > 1 else padded[:, 0]


@lru_cache(maxsize=64)
def _band(index: int, frames: int) -> _Band:
    centre_hz = tables.THIRD_OCTAVE_CENTRES_HZ[index]
    bin_hz = tables.SAMPLE_RATE_HZ / frames
    lowest, highest = centre_hz / _FARTHEST / bin_hz, centre_hz * _FARTHEST / bin_hz
    bins = np.arange(int(lowest), min(int(highest), frames // 2) + 1, dtype=np.float64)
    response = third_octave_response(index, bins * bin_hz)
    heard = np.flatnonzero(np.abs(response) >= _LEAST_GAIN)
    first_bin = int(bins[heard[0]])
    response = response[heard[0] : heard[-1] + 1]
    points = round(_envelope_rate_hz(centre_hz) / bin_hz)
    steps = frames // STEP_FRAMES
    smoothing = smoothing_response(centre_hz, np.arange(points // 2 + 1, dtype=np.float64) * bin_hz)
    # Each bin stands for itself and for its mirror image; bin 0 is its own.
    smoothing[0] /= 2
    # An unscaled transform of the samples; amplitude of a real part from one side, squared, halved.
    scale = 2.0 / frames / REFERENCE_PRESSURE_PA / np.sqrt(2.0)
    return _Band(first_bin, response * scale, points, smoothing / points, steps)


def third_octave_response(
    index: int, frequency_hz: npt.NDArray[np.float64]
) -> npt.NDArray[np.complex128]:
    """Give the complex gain of one of the standard's filters, shape of `frequency_hz`.

    References
    ----------
    ISO 532-1:2017, tables A.1 and A.2.
    """
    delay = np.exp(-2j * np.pi * frequency_hz / tables.SAMPLE_RATE_HZ)
    gain = np.full(frequency_hz.shape, tables.FILTER_GAINS[index], dtype=np.complex128)
    sections = zip(tables.FILTER_NUMERATORS, tables.FILTER_DENOMINATORS[index], strict=True)
    for (b0, b1, b2), (a1, a2) in sections:
        gain *= (b0 + delay * (b1 + delay * b2)) / (1.0 + delay * (a1 + delay * a2))
    return gain


def smoothing_response(
    centre_hz: float, frequency_hz: npt.NDArray[np.float64]
) -> npt.NDArray[np.complex128]:
    """Give the complex gain of the three low-passes after squaring, shape of `frequency_hz`.

    References
    ----------
    ISO 532-1:2017, clause 6: time constant 2 / (3 f), not below that of 1 kHz.
    """
    time_constant_s = 2.0 / (3.0 * min(centre_hz, 1000.0))
    decay = np.exp(-1.0 / (tables.SAMPLE_RATE_HZ * time_constant_s))
    delay = np.exp(-2j * np.pi * frequency_hz / tables.SAMPLE_RATE_HZ)
    return np.asarray(((1.0 - decay) / (1.0 - decay * delay)) ** 3)


def _envelope_rate_hz(centre_hz: float) -> int:
    # At least what the centre asks for, and quick to transform: factors 2, 3 and 5 only.
    return _GRID_HZ * fft.next_fast_len(int(np.ceil(_ENVELOPE_RATE * centre_hz / _GRID_HZ)), True)
