"""A long signal as a chain of spectra with margins, so that filters run through the joints."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft

from ratings.acoustics.continuation import continued_after, continued_before

_CHUNK_S = 5.4
_MARGIN_S = 1.0
_CHANNELS_AT_ONCE = 4


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """The spectra of one stretch of a few channels, with margins on both sides.

    Attributes
    ----------
    channels
        Which of the signal's.
    spectrum
        Shape (channels, frames // 2 + 1), unscaled as `scipy.fft.rfft` gives it.
    frames
        Length of the transform; bin k lies at k * sample rate / frames.
    start, stop
        The frames between the margins: every frame of the signal lies in exactly one chunk's.
    """

    channels: slice
    spectrum: npt.NDArray[np.complex128]
    frames: int
    start: int
    stop: int

    def filtered(self, response: npt.NDArray[np.complex128]) -> npt.NDArray[np.float64]:
        """Return the frames between the margins after a filter, shape (channels, stop - start).

        Parameters
        ----------
        response
            Shape (frames // 2 + 1,): complex gain of the filter at each bin.
        """
        signal: npt.NDArray[np.float64] = fft.irfft(self.spectrum * response, self.frames)
        return signal[:, self.start : self.stop]

    def band_energy(
        self, first_bin: int, gains: npt.NDArray[np.float64]
    ) -> npt.NDArray[np.float64]:
        """Return the sum of squares between the margins of what a zero-phase filter lets through.

        Parameters
        ----------
        first_bin, gains
            Gains of consecutive bins from `first_bin`; the filter is zero elsewhere.

        Returns
        -------
        Shape (channels,).

        Notes
        -----
        The band is moved down to 0 Hz and transformed back at its own low rate: the squared
        envelope holds the energy, and costs a fraction of the full rate.
        """
        part = self.spectrum[:, first_bin : first_bin + len(gains)] * gains
        # Twice the width keeps the squared envelope free of aliases, twice more the ends sharp.
        points = fft.next_fast_len(max(4 * len(gains), 256))
        step = self.frames / points
        envelope = fft.ifft(part, points) * (2.0 / step)
        power = envelope.real**2 + envelope.imag**2
        edges = np.clip((np.arange(points + 1) - 0.5) * step, self.start - 0.5, self.stop - 0.5)
        energy: npt.NDArray[np.float64] = 0.5 * (power * np.diff(edges)).sum(axis=1)
        return energy


class RunningSpectrum:
    """Cuts a signal into chunks with margins; both ends are continued by linear prediction.

    A filter applied to the chunks reads what a meter would that had been running before the
    recording began. Memory does not grow with the signal's length.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks that will be fed.
    """

    def __init__(self, sample_rate_hz: int, channels: int) -> None:
        self._margin = round(_MARGIN_S * sample_rate_hz)
        self._frames = fft.next_fast_len(round(_CHUNK_S * sample_rate_hz), real=True)
        self._waiting: list[npt.NDArray[np.float64]] = []
        self._waiting_frames = 0
        self._channels = channels
        self._has_margin_before = False

    def feed(self, block: npt.NDArray[np.float64]) -> Iterator[Chunk]:
        """Take a block, shape (frames, channels); give the chunks it completes by channel."""
        self._waiting.append(block)
        self._waiting_frames += len(block)
        while self._waiting_frames >= self._needed:
            signal = self._joined()
            frames = signal[: self._needed]
            yield from self._chunks(self._with_margin_before(frames))
            rest = signal[self._needed - 2 * self._margin :]
            self._waiting, self._waiting_frames = [rest], len(rest)
            self._has_margin_before = True

    def finish(self) -> Iterator[Chunk]:
        """Give the last chunks."""
        signal = self._joined()
        if len(signal) == 0:
            return
        after = continued_after(signal, self._margin)
        yield from self._chunks(np.concatenate([self._with_margin_before(signal), after]))

    @property
    def _needed(self) -> int:
        return self._frames if self._has_margin_before else self._frames - self._margin

    def _joined(self) -> npt.NDArray[np.float64]:
        if len(self._waiting) == 1:
            return self._waiting[0]
        return np.concatenate([np.empty((0, self._channels)), *self._waiting])

    def _with_margin_before(self, frames: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        if self._has_margin_before:
            return frames
        return np.concatenate([continued_before(frames, self._margin), frames])

    def _chunks(self, frames: npt.NDArray[np.float64]) -> Iterator[Chunk]:
        length = fft.next_fast_len(len(frames), real=True)
        # A few channels at a time: as many transforms as a processor does at once, little memory.
        for first in range(0, frames.shape[1], _CHANNELS_AT_ONCE):
            few = slice(first, first + _CHANNELS_AT_ONCE)
            spectrum = fft.rfft(np.ascontiguousarray(frames[:, few].T), length)
            yield Chunk(few, spectrum, length, self._margin, len(frames) - self._margin)
