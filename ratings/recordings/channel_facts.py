"""What a channel of a recording holds: extremes, mean, clipping, gaps; found block by block."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.equal_samples import EqualSamples

_FLAT_SAMPLES = 3


@dataclass(frozen=True, slots=True)
class ChannelFacts:
    """What one channel holds, in fractions of full scale, or as stored in a measurement file.

    Attributes
    ----------
    lowest_full_scale, highest_full_scale, mean_full_scale
        Extremes and mean; a mean far from 0 is an offset of the recorder.
    clipped_samples
        Samples at the last code of the encoding, or at 1.0 and beyond where a sound file holds
        floating point. In a measurement file that does not say where its range ends: samples that
        repeat the channel's highest or lowest value three times in a row or more, as a flattened
        peak does.
    lost_s
        Start and end of every stretch of lost signal in seconds, as `EqualSamples` tells them.
    """

    lowest_full_scale: float
    highest_full_scale: float
    mean_full_scale: float
    clipped_samples: int
    lost_s: tuple[tuple[float, float], ...] = ()

    @property
    def peak_full_scale(self) -> float:
        """Largest magnitude."""
        return max(-self.lowest_full_scale, self.highest_full_scale)

    @property
    def is_silent(self) -> bool:
        """Whether every sample has one and the same value, so that there is nothing to hear."""
        return self.lowest_full_scale == self.highest_full_scale


class ChannelMeter:
    """Finds the facts of all channels; memory does not grow with length.

    Parameters
    ----------
    channels
        Number of channels.
    clipping_magnitude
        Magnitude from which a sample counts as clipped; infinite where it is not known.
    sample_rate_hz
        Of the samples.
    """

    def __init__(self, channels: int, clipping_magnitude: float, sample_rate_hz: int) -> None:
        self._limit = clipping_magnitude
        self._lowest = np.full(channels, np.inf)
        self._highest = np.full(channels, -np.inf)
        self._total = np.zeros(channels)
        self._clipped = np.zeros(channels, dtype=np.int64)
        self._frames = 0
        self._last = np.full(channels, np.nan)
        self._equal = [EqualSamples(sample_rate_hz, clipping_magnitude) for _ in range(channels)]
        self._flats = [(_FlatPeaks(1.0), _FlatPeaks(-1.0)) for _ in range(channels)]

    def feed(self, samples: npt.NDArray[np.float64]) -> None:
        """Take the next samples, shape (frames, channels)."""
        if not len(samples):
            return
        # Each channel in one piece of memory: three times as fast as down the columns.
        by_channel = np.ascontiguousarray(samples.T)
        lowest, highest = by_channel.min(axis=1), by_channel.max(axis=1)
        self._lowest = np.minimum(self._lowest, lowest)
        self._highest = np.maximum(self._highest, highest)
        self._total += by_channel.sum(axis=1)
        self._frames += len(samples)
        for equal, channel, last in zip(self._equal, by_channel, self._last, strict=True):
            equal.feed(channel, np.abs(np.diff(channel, prepend=last)))
        self._last = by_channel[:, -1].copy()
        if np.isinf(self._limit):
            for flats, channel in zip(self._flats, by_channel, strict=True):
                for flat in flats:
                    flat.feed(channel)
        elif max(highest.max(), -lowest.min()) >= self._limit:
            self._clipped += np.count_nonzero(np.abs(by_channel) >= self._limit, axis=1)

    def result(self) -> tuple[ChannelFacts, ...]:
        """Give the facts, one entry for each channel."""
        if np.isinf(self._limit):
            self._clipped[:] = [high.samples + low.samples for high, low in self._flats]
            self._clipped[self._lowest == self._highest] = 0
        mean = self._total / max(self._frames, 1)
        return tuple(
            ChannelFacts(
                lowest_full_scale=float(self._lowest[channel]),
                highest_full_scale=float(self._highest[channel]),
                mean_full_scale=float(mean[channel]),
                clipped_samples=int(self._clipped[channel]),
                lost_s=tuple(self._equal[channel].lost_s),
            )
            for channel in range(len(mean))
        )


class _FlatPeaks:
    """Counts samples in runs at the highest value so far, or at the lowest with sign -1."""

    def __init__(self, sign: float) -> None:
        self.samples = 0
        self._sign = sign
        self._extreme = -np.inf
        self._tail = np.empty(0)

    def feed(self, samples: npt.NDArray[np.float64]) -> None:
        extreme = float((self._sign * samples).max())
        if extreme > self._extreme:
            self._extreme = extreme
            self.samples = 0
            self._tail = np.empty(0)
        joined = np.concatenate((self._tail, samples))
        if extreme == self._extreme:
            self._count(joined == self._sign * self._extreme, len(self._tail))
        self._tail = joined[-_FLAT_SAMPLES:]

    def _count(self, is_extreme: npt.NDArray[np.bool_], old: int) -> None:
        run_ends = is_extreme[2:] & is_extreme[1:-1] & is_extreme[:-2]
        # A run of three or more: its first three samples come together, the others one by one.
        begins = run_ends.copy()
        begins[1:] &= ~run_ends[:-1]
        new = max(old - (_FLAT_SAMPLES - 1), 0)
        self.samples += int(np.count_nonzero(run_ends[new:]))
        self.samples += (_FLAT_SAMPLES - 1) * int(np.count_nonzero(begins[new:]))
