"""A recording read at equal angles of the wheel instead of equal times."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.wheel_turns import WheelTurns

#: Rate kept after thinning, over twice the highest frequency wanted.
_SPARE = 1.5
#: Taps to either side of the interpolating filter, and shape of its window: error below -80 dB
#: up to three quarters of half the rate.
_REACH = 12
_KAISER = 9.0
_PHASES = 1024
_POINTS_AT_ONCE = 16_384


class Thinning:
    """Takes a signal down to a lower rate block by block, through a linear-phase low pass.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    highest_hz
        Kept without loss up to here; `rate_hz` is the rate left, a whole fraction.
    """

    def __init__(self, sample_rate_hz: int, channels: int, highest_hz: float) -> None:
        from scipy.signal import firwin, kaiserord

        self.step = max(1, int(sample_rate_hz / (2.0 * _SPARE * highest_hz)))
        self.rate_hz = sample_rate_hz / self.step
        self._taps = np.ones(1)
        if self.step > 1:
            # What folds must fold above the highest frequency wanted.
            stop_hz = self.rate_hz - highest_hz
            width = (stop_hz - highest_hz) / (sample_rate_hz / 2.0)
            count, beta = kaiserord(80.0, width)
            self._taps = firwin(
                count | 1, (highest_hz + stop_hz) / 2.0, window=("kaiser", beta), fs=sample_rate_hz
            )
        half = self._taps.size // 2
        self._waiting = np.zeros((half, channels))

    def feed(self, block: NDArray[np.float64]) -> NDArray[np.float64]:
        """Take frames, give those that are complete, shape (frames, channels)."""
        from scipy.signal import upfirdn

        signal = np.concatenate([self._waiting, block])
        count = (len(signal) - self._taps.size) // self.step + 1
        if count <= 0:
            self._waiting = signal
            return np.empty((0, signal.shape[1]))
        used = signal[: (count - 1) * self.step + self._taps.size]
        # Whole outputs begin where the last tap meets the first frame: at a multiple of the step.
        lead = -(self._taps.size - 1) % self.step
        aligned = np.concatenate([np.zeros((lead, used.shape[1])), used])
        skipped = (self._taps.size - 1 + lead) // self.step
        thinned = upfirdn(self._taps, aligned, 1, self.step, axis=0)[skipped : skipped + count]
        self._waiting = signal[count * self.step :]
        return np.asarray(thinned)

    def finish(self) -> NDArray[np.float64]:
        """Give the frames whose filter reaches past the end, with silence there."""
        return self.feed(np.zeros((self._taps.size // 2, self._waiting.shape[1])))


class AngleResampler:
    """Reads a signal at equal angles of the wheel, block by block.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    turns
        The stretch that is read.
    highest_order
        Cycles per turn kept without loss.

    Attributes
    ----------
    points_per_turn
        Points in a turn of the wheel, so many that nothing folds at the lowest speed.
    """

    def __init__(
        self, sample_rate_hz: int, channels: int, turns: WheelTurns, highest_order: float
    ) -> None:
        self._turns = turns
        highest_hz = highest_order * turns.fastest_per_s
        self._thinning = Thinning(sample_rate_hz, channels, highest_hz)
        self._rate_hz = self._thinning.rate_hz
        self.points_per_turn = int(np.ceil(self._rate_hz / turns.slowest_per_s))
        self._points = int(turns.total * self.points_per_turn)
        self._first_point = 0
        self._next_point = 0
        self._first_frame = -_REACH
        self._frames = np.zeros((_REACH, channels))
        self._kernel = _kernel()

    def feed(self, block: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
        """Take frames; give points in order, each piece of shape (points, channels)."""
        yield from self._read(self._thinning.feed(block))

    def finish(self) -> Iterator[NDArray[np.float64]]:
        """Give the points that were waiting for the end."""
        last = self._thinning.finish()
        silence = np.zeros((_REACH, last.shape[1]))
        yield from self._read(np.concatenate([last, silence]))

    @property
    def mean_turns_per_s(self) -> float:
        """Turns over time of what was read so far."""
        span = np.array([self._first_point, self._next_point]) / self.points_per_turn
        start_s, end_s = self._turns.at(span)
        return float((span[1] - span[0]) / (end_s - start_s))

    def _read(self, frames: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
        self._frames = np.concatenate([self._frames, frames])
        known = self._first_frame + len(self._frames) - _REACH
        while self._next_point < self._points:
            stop = min(self._next_point + _POINTS_AT_ONCE, self._points)
            point = np.arange(self._next_point, stop) / self.points_per_turn
            place = self._turns.at(point) * self._rate_hz
            ready = int(np.searchsorted(place, known))
            # Frames before the recording began belong to a trace that starts earlier.
            early = int(np.searchsorted(place[:ready], 0.0))
            if early:
                self._first_point = self._next_point + early
            if ready > early:
                yield self._interpolated(place[early:ready] - self._first_frame)
            self._next_point += ready
            if ready < place.size:
                break
        self._forget()

    def _interpolated(self, place: NDArray[np.float64]) -> NDArray[np.float64]:
        before = np.floor(place).astype(np.int64)
        phase = (place - before) * _PHASES
        entry = phase.astype(np.int64)
        share = (phase - entry)[:, np.newaxis]
        taps = self._kernel[entry] * (1.0 - share) + self._kernel[entry + 1] * share
        read = np.zeros((place.size, self._frames.shape[1]))
        for tap in range(2 * _REACH):
            read += taps[:, tap, np.newaxis] * self._frames[before + (tap - _REACH + 1)]
        return read

    def _forget(self) -> None:
        if self._next_point >= self._points:
            needed = self._first_frame + len(self._frames)
        else:
            point = np.array([self._next_point / self.points_per_turn])
            needed = int(self._turns.at(point)[0] * self._rate_hz) - _REACH
        drop = min(max(0, needed - self._first_frame), len(self._frames))
        self._frames = self._frames[drop:]
        self._first_frame += drop


def _kernel() -> NDArray[np.float64]:
    """Windowed sinc for each phase between two frames, shape (phases + 1, taps), sum 1."""
    phase = np.arange(_PHASES + 1)[:, np.newaxis] / _PHASES
    distance = np.arange(-_REACH + 1, _REACH + 1) - phase
    inside = np.sqrt(np.maximum(1.0 - (distance / _REACH) ** 2, 0.0))
    kernel = np.sinc(distance) * np.i0(_KAISER * inside) / np.i0(_KAISER)
    return np.asarray(kernel / kernel.sum(axis=1, keepdims=True))
