"""Stretches of exactly equal samples: flattened peaks and lost signal."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.channel_faults import Occurrences

Row = npt.NDArray[np.float64]

_FLAT_SAMPLES = 3
_DROP_OUT_S = 0.005
# A smooth peak that was rounded to whole steps falls by one or two steps beside its flat top.
_CORNER_STEPS = 8.0
# The highest peak of a quiet run may have such a top once; not three times at one value.
_FEWEST_BELOW = 3
# The last digit alone stays constant for long; live signal moves over more steps than this.
_LIVE_STEPS = 8.0
_BESIDE_S = 0.02


class _Stretches(NamedTuple):
    starts: npt.NDArray[np.int64]
    lengths: npt.NDArray[np.int64]
    values: Row
    before: Row
    after: Row

    def where(self, chosen: npt.NDArray[np.bool_]) -> "_Stretches":
        return _Stretches(
            self.starts[chosen],
            self.lengths[chosen],
            self.values[chosen],
            self.before[chosen],
            self.after[chosen],
        )


class EqualSamples:
    """Follows one channel; feed it blocks of its samples in order.

    Parameters
    ----------
    clipping_magnitude
        Infinite where full scale is not known.
    """

    def __init__(self, sample_rate_hz: int, clipping_magnitude: float) -> None:
        self._sample_rate_hz = sample_rate_hz
        self._limit = clipping_magnitude
        self._frames = 0
        self._open = (0, np.nan, np.nan)
        self._flat_count = {1: 0, -1: 0}
        self._flat_first: dict[int, int] = {}
        self._extreme = {1: -np.inf, -1: -np.inf}
        self._recent = np.empty(0)
        self._before_open = np.empty(0)
        self.smallest_step = np.inf
        self.full_scale_samples = 0
        #: Start and end of every stretch of lost signal, in seconds.
        self.lost_s: list[tuple[float, float]] = []

    @property
    def clipping(self) -> Occurrences:
        """Flattened peaks so far."""
        told = [
            sign
            for sign, count in self._flat_count.items()
            if count >= (1 if self._extreme[sign] >= self._limit else _FEWEST_BELOW)
        ]
        if not told:
            return Occurrences()
        first = min(self._flat_first[sign] for sign in told)
        count = sum(self._flat_count[sign] for sign in told)
        return Occurrences(count, first / self._sample_rate_hz)

    @property
    def drop_outs(self) -> Occurrences:
        """Stretches of lost signal so far."""
        if not self.lost_s:
            return Occurrences()
        return Occurrences(len(self.lost_s), self.lost_s[0][0], self.lost_s[-1][1])

    @property
    def peak_to_peak(self) -> float:
        """Highest less lowest sample so far."""
        return self._extreme[1] + self._extreme[-1]

    def feed(self, row: Row, steps: Row) -> None:
        """Take samples, shape (frames,), and the size of the step to each from the one before.

        Parameters
        ----------
        steps
            Shape (frames,), not negative; NaN before the first sample of all.
        """
        self.smallest_step = float(np.min(steps, initial=self.smallest_step, where=steps > 0))
        highest, lowest = float(row.max()), float(row.min())
        if max(highest, -lowest) >= self._limit:
            self.full_scale_samples += int(np.count_nonzero(np.abs(row) >= self._limit))
        stretches = self._completed(row)
        for sign, extreme in ((1, highest), (-1, -lowest)):
            self._count_flat(sign, extreme, stretches)
        self._count_drop_outs(row, stretches)
        self._frames += len(row)

    def _completed(self, row: Row) -> _Stretches:
        """Stretches of three or more that ended in this block; the last one stays open."""
        bounds = np.flatnonzero(row[1:] != row[:-1]) + 1
        start, value, before = self._open
        if row[0] != value:
            bounds = np.concatenate([[0], bounds])
        starts = np.concatenate([[start], bounds + self._frames])
        values = np.concatenate([[value], row[bounds]])
        preceding = np.concatenate([[before], values[:-1]])
        self._open = (int(starts[-1]), float(values[-1]), float(preceding[-1]))
        lengths = np.diff(starts)
        every = _Stretches(starts[:-1], lengths, values[:-1], preceding[:-1], values[1:])
        # The stretch from the beginning of the recording has nothing before it.
        return every.where((lengths >= _FLAT_SAMPLES) & np.isfinite(every.before))

    def _count_flat(self, sign: int, extreme: float, stretches: _Stretches) -> None:
        if extreme > self._extreme[sign]:
            if self._extreme[sign] < self._limit:
                self._flat_count[sign] = 0
                self._flat_first.pop(sign, None)
            self._extreme[sign] = extreme
        values = sign * stretches.values
        fall = values - np.minimum(sign * stretches.before, sign * stretches.after)
        is_flat = (values == self._extreme[sign]) & (fall >= _CORNER_STEPS * self.smallest_step)
        is_flat |= values >= self._limit
        if is_flat.any():
            self._flat_count[sign] += int(np.count_nonzero(is_flat))
            self._flat_first.setdefault(sign, int(stretches.starts[is_flat][0]))

    def _count_drop_outs(self, row: Row, stretches: _Stretches) -> None:
        fewest = max(_FLAT_SAMPLES, round(_DROP_OUT_S * self._sample_rate_hz))
        lost = stretches.where(
            (stretches.lengths >= fewest) & (np.abs(stretches.values) < self._limit)
        )
        beside = round(_BESIDE_S * self._sample_rate_hz)
        joined = np.concatenate([self._recent, row])
        first = self._frames - len(self._recent)
        for start, length in zip(lost.starts.tolist(), lost.lengths.tolist(), strict=True):
            stop = start + length - first
            after = joined[stop - 1 : stop + beside]
            before = self._before(joined, start - first, beside)
            if self._is_live(after) and self._is_live(before):
                end = start + length
                self.lost_s.append((start / self._sample_rate_hz, end / self._sample_rate_hz))
        # What lies before an open stretch is kept, however long the stretch becomes.
        opened = max(0, self._open[0] - first)
        if opened > 0:
            self._before_open = joined[max(0, opened - beside) : opened]
        self._recent = joined[-beside:]

    def _before(self, joined: Row, start: int, beside: int) -> Row:
        return joined[max(0, start - beside) : start] if start >= beside else self._before_open

    def _is_live(self, samples: Row) -> bool:
        return len(samples) > 1 and float(np.ptp(samples)) >= _LIVE_STEPS * self.smallest_step


def lost_stretches(
    row: Row, sample_rate_hz: int, clipping_magnitude: float
) -> list[tuple[float, float]]:
    """Give start and end, in seconds, of lost signal in a whole signal, shape (frames,)."""
    meter = EqualSamples(sample_rate_hz, clipping_magnitude)
    meter.feed(row, np.abs(np.diff(row, prepend=np.nan)))
    return meter.lost_s
