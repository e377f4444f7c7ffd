"""Everything that can be wrong with a run's signal, in one pass over its samples."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.channel_faults import ChannelFaults, Occurrences, RunFaults
from ratings.acoustics.faults.clicks import Clicks
from ratings.acoustics.faults.equal_samples import EqualSamples
from ratings.acoustics.faults.gain_steps import GainSteps
from ratings.acoustics.faults.mains_hum import MainsHum
from ratings.errors import MeasurementError

__all__ = ["ChannelFaults", "FaultMeter", "RunFaults", "faults_of"]

Rows = npt.NDArray[np.float64]

_BLOCK_SLOTS = 250
_HUM_RATE_HZ = 2000
_LOW_RATE_HZ = 100
_SILENT_RATIO = 1e-5
Pairs = tuple[tuple[int, int], ...]
# Two microphones never agree so closely; one signal on two channels does, at any gain.
_SAME = 0.99999
# Under 50 Hz the pressure in a cabin is in phase all over. Common practice, no source.
_OPPOSITE_LOW = -0.6


class FaultMeter:
    """Finds faults block by block; memory grows only by three levels per half second.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    clipping_magnitude
        Magnitude from which a sample is at full scale, in the unit of the samples: one for all
        channels, one for each, or None (or infinite) where it is not known.
    """

    def __init__(
        self,
        sample_rate_hz: int,
        channels: int,
        clipping_magnitude: float | Sequence[float] | None = None,
    ) -> None:
        self._sample_rate_hz = sample_rate_hz
        magnitude = np.inf if clipping_magnitude is None else clipping_magnitude
        self._limits = np.broadcast_to(np.asarray(magnitude, np.float64), (channels,))
        self._equal = [EqualSamples(sample_rate_hz, float(limit)) for limit in self._limits]
        self._clicks = Clicks(sample_rate_hz, channels)
        self._hum_step = max(1, sample_rate_hz // _HUM_RATE_HZ)
        self._hum = MainsHum(sample_rate_hz / self._hum_step, channels)
        self._low_step = max(1, sample_rate_hz // _LOW_RATE_HZ)
        self._gain = GainSteps()
        self._whole, self._low = _ChannelPairs(channels), _ChannelPairs(channels)
        self._for_hum = self._for_low = np.empty((channels, 0))
        self._block_frames = _BLOCK_SLOTS * self._clicks.slot_frames
        self._waiting = np.empty((channels, self._block_frames))
        self._filled = self._frames = 0
        self._last = np.full((channels, 2), np.nan)
        self._totals = np.zeros((2, channels))

    def feed(self, samples: npt.NDArray[np.float64]) -> None:
        """Take the next samples, shape (frames, channels), in any unit.

        Raises
        ------
        MeasurementError
            When some are not numbers.
        """
        taken = 0
        while taken < len(samples):
            room = min(self._block_frames - self._filled, len(samples) - taken)
            part = samples[taken : taken + room]
            self._waiting[:, self._filled : self._filled + room] = part.T
            taken, self._filled = taken + room, self._filled + room
            if self._filled == self._block_frames:
                self._judge(self._waiting)
                self._filled = 0

    def result(self) -> RunFaults:
        """Return what was found; nothing can be fed afterwards.

        Raises
        ------
        MeasurementError
            When nothing was fed.
        """
        if self._filled:
            self._judge(self._waiting[:, : self._filled])
            self._filled = 0
        if self._frames == 0:
            raise MeasurementError("There is no sound to judge: the signal has no samples.")
        whole, channels = self._whole.correlations(), len(self._equal)
        opposite = _opposite_pairs(whole, self._low.correlations())
        return RunFaults(
            duration_s=self._frames / self._sample_rate_hz,
            channels=self._by_channel(),
            same_channels=_same_pairs(whole),
            opposite_channels=opposite,
            inverted_channels=inverted_channels(opposite, channels),
            is_hum_judged=self._hum.windows > 0,
        )

    def _by_channel(self) -> tuple[ChannelFaults, ...]:
        mean = self._totals[0] / self._frames
        variance = np.maximum(self._totals[1] / self._frames - mean**2, 0.0)
        hums, gain_steps = self._hum.found(variance), self._gain.found(len(self._equal))
        found = []
        for channel, equal in enumerate(self._equal):
            rms = float(np.sqrt(variance[channel]))
            if self._is_silent(equal, rms, float(self._limits[channel])):
                none = Occurrences()
                found.append(ChannelFaults(True, 0, none, none, none, 0.0, None, None))
                continue
            found.append(
                ChannelFaults(
                    is_silent=False,
                    full_scale_samples=equal.full_scale_samples,
                    clipping=equal.clipping,
                    drop_outs=equal.drop_outs,
                    clicks=self._clicks.found[channel],
                    offset_ratio=float(mean[channel]) / rms,
                    hum=hums[channel],
                    gain_step=gain_steps[channel],
                )
            )
        return tuple(found)

    @staticmethod
    def _is_silent(equal: EqualSamples, rms: float, limit: float) -> bool:
        last_digit_only = equal.peak_to_peak <= 2 * equal.smallest_step
        return last_digit_only or rms == 0.0 or (np.isfinite(limit) and rms < _SILENT_RATIO * limit)

    def _judge(self, rows: Rows) -> None:
        if not np.isfinite(rows).all():
            raise MeasurementError(
                "The signal holds values that are not numbers, so it cannot be judged.",
                "Export the recording again from the recorder's own file.",
            )
        joined = np.concatenate([self._last, rows], axis=1)
        step = np.diff(joined[:, 1:], axis=1)
        bend = step - np.diff(joined[:, :-1], axis=1)
        size = np.abs(step)
        for channel, equal in enumerate(self._equal):
            equal.feed(rows[channel], size[channel])
        if self._frames == 0:
            step[:, :1], bend[:, :2] = 0.0, 0.0
        smallest = np.array([equal.smallest_step for equal in self._equal])
        self._clicks.feed(bend, smallest)
        self._add_levels(rows, step, bend)
        self._whole.feed(rows)
        self._for_hum, thinned = _thinned(self._for_hum, rows, self._hum_step)
        self._hum.feed(thinned)
        self._for_low, thinned = _thinned(self._for_low, rows, self._low_step)
        self._low.feed(thinned)
        self._last = joined[:, -2:]
        self._frames += rows.shape[1]

    def _add_levels(self, rows: Rows, step: Rows, bend: Rows) -> None:
        squares = np.stack([np.einsum("cf,cf->c", each, each) for each in (rows, step, bend)])
        sums = rows.sum(axis=1)
        self._totals += (sums, squares[0])
        frames = rows.shape[1]
        if frames == self._block_frames:
            mean_squares = squares / frames
            mean_squares[0] = np.maximum(mean_squares[0] - (sums / frames) ** 2, 0.0)
            self._gain.feed(self._frames / self._sample_rate_hz, mean_squares)


def faults_of(
    samples: npt.NDArray[np.float64],
    sample_rate_hz: int,
    clipping_magnitude: float | Sequence[float] | None = None,
) -> RunFaults:
    """Judge a whole signal, shape (frames, channels); see `FaultMeter`."""
    meter = FaultMeter(sample_rate_hz, samples.shape[1], clipping_magnitude)
    meter.feed(samples)
    return meter.result()


def _thinned(waiting: Rows, rows: Rows, step: int) -> tuple[Rows, Rows]:
    """Average every `step` samples; give what is left over, and the averages."""
    joined = np.concatenate([waiting, rows], axis=1)
    count = joined.shape[1] // step
    whole = joined[:, : count * step].reshape(len(joined), count, step)
    return joined[:, count * step :], whole.mean(axis=2)


class _ChannelPairs:
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


def _same_pairs(whole: Rows) -> Pairs:
    """Return the pairs that hold the same signal, from correlations over all frequencies."""
    return _pairs(whole > _SAME)


def _opposite_pairs(whole: Rows, low: Rows) -> Pairs:
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
