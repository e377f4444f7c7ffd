"""Channels that hold the same signal, or one another's opposite."""

import numpy as np
import numpy.typing as npt

Rows = npt.NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]

# Two microphones never agree so closely; one signal on two channels does, at any gain.
_SAME = 0.99999
# Under 50 Hz the pressure in a cabin is in phase all over. Common practice, no source.
_OPPOSITE_LOW = -0.6


class ChannelPairs:
    """Adds up products between all channels."""

    def __init__(self, channels: int) -> None:
        self._frames = 0
        self._sums = np.zeros(channels)
        self._products = np.zeros((channels, channels))

    def feed(self, rows: Rows) -> None:
        """Take the next samples, shape (channels, frames)."""
        self._frames += rows.shape[1]
        self._sums += rows.sum(axis=1)
        self._products += rows @ rows.T

    def correlations(self) -> Rows:
        """Return the correlations, shape (channels, channels); 0 where a channel is constant."""
        frames = max(self._frames, 1)
        covariance = self._products - np.outer(self._sums, self._sums) / frames
        power = np.diag(covariance).copy()
        power[power <= 1e-12 * np.diag(self._products)] = 0.0
        scale = np.sqrt(np.outer(power, power))
        return np.divide(covariance, scale, out=np.zeros_like(covariance), where=scale > 0)


def same_pairs(whole: Rows) -> Pairs:
    """Return the pairs that hold the same signal, from correlations over all frequencies."""
    return _pairs(whole > _SAME)


def opposite_pairs(whole: Rows, low: Rows) -> Pairs:
    """Return the pairs of opposite polarity, from all frequencies and from the lowest."""
    return _pairs((whole < -_SAME) | (low < _OPPOSITE_LOW))


def inverted_channels(opposite: Pairs, channels: int) -> tuple[int, ...]:
    """Return channels opposite to more than half of the others; of two channels neither."""
    if channels < 3:
        return ()
    times = np.bincount(np.array(opposite, dtype=np.intp).ravel(), minlength=channels)
    return tuple(int(channel) for channel in np.flatnonzero(times > (channels - 1) / 2))


def _pairs(matrix: npt.NDArray[np.bool_]) -> Pairs:
    first, second = np.nonzero(np.triu(matrix, 1))
    return tuple(zip(first.tolist(), second.tolist(), strict=True))
