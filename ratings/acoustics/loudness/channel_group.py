"""Loudness of a few channels at once, stretch by stretch."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.core_loudness import CRITICAL_BANDS, Field, core_loudness
from ratings.acoustics.loudness.decay import DurationWeighting, NonlinearDecay
from ratings.acoustics.loudness.filter_bank import STEP_FRAMES, FilterBank, Stretch
from ratings.acoustics.loudness.slopes import POINTS, specific_loudness, total_loudness

TIME_STEP_FRAMES = 4 * STEP_FRAMES
"""Samples from one value of the loudness over time to the next: 2 ms."""

SETTLING_FRAMES = 24_000
"""The lowest filters take this long to build up: 0.5 s."""

_TIME_STEPS = TIME_STEP_FRAMES // STEP_FRAMES
# Specific loudness is averaged over every 16th value, one per 8 ms.
_PATTERN_STEPS = 16

# The narrow filters below 400 Hz ring for longer than those above. A low stretch is a whole number
# of high ones; all are multiples of 1/16 s, and the totals quick to transform.
_LOW = Stretch(before=48_000, frames=240_000, after=12_000)
_HIGH = Stretch(before=9_000, frames=60_000, after=3_000)
_FIRST_HIGH_BAND = 12
_BANDS = len(tables.THIRD_OCTAVE_CENTRES_HZ)


class ChannelGroup:
    """Collects the signal into stretches of 5 s and keeps what is found in them.

    Attributes
    ----------
    energy, settling_energy
        Shape (28, channels): of each third octave over the whole signal and over its first
        0.5 s, relative to the reference pressure squared, in seconds.
    course
        Per stretch the loudness every 2 ms, shape (channels, times), in sone.
    pattern_sum, pattern_times
        Shape (240, channels): sum of the specific loudness, and of how many times.
    """

    def __init__(self, channels: int, field: Field) -> None:
        self.energy = np.zeros((_BANDS, channels))
        self.settling_energy = np.zeros((_BANDS, channels))
        self.course: list[npt.NDArray[np.float64]] = []
        self.pattern_sum = np.zeros((POINTS, channels))
        self.pattern_times = 0
        self._field: Field = field
        # A recorder's constant offset is no sound, but it would begin with a blow.
        self._offset: npt.NDArray[np.float64] | None = None
        # Starts as if silence had gone before.
        self._signal = np.zeros((channels, _LOW.total))
        self._filled = _LOW.before
        self._low = FilterBank(range(_FIRST_HIGH_BAND), _LOW)
        self._high = FilterBank(range(_FIRST_HIGH_BAND, _BANDS), _HIGH)
        self._decay = NonlinearDecay(CRITICAL_BANDS, channels)
        self._duration = DurationWeighting(channels)

    def feed(self, pressure_pa: npt.NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels)."""
        taken = 0
        while taken < len(pressure_pa):
            fitting = min(len(pressure_pa) - taken, _LOW.total - self._filled)
            block = pressure_pa[taken : taken + fitting]
            room = self._signal[:, self._filled : self._filled + fitting]
            room[:] = block.T
            if self._offset is not None:
                room -= self._offset
            self._filled += fitting
            taken += fitting
            if self._filled == _LOW.total:
                self._measure(_LOW.frames)
                self._advance()

    def finish(self) -> None:
        """Measure what has not made a whole stretch."""
        while (left := self._filled - _LOW.before) > 0:
            self._signal[:, self._filled :] = 0.0
            self._measure(min(left, _LOW.frames))
            self._advance()

    def _advance(self) -> None:
        kept = self._signal[:, _LOW.frames : self._filled].copy()
        self._signal[:, : kept.shape[1]] = kept
        self._filled -= _LOW.frames

    def _measure(self, frames: int) -> None:
        """Measure the first `frames` samples after the margin of what is in the buffer."""
        if self._offset is None:
            first = self._signal[:, _LOW.before : self._filled]
            mean = first.mean(axis=1, keepdims=True)
            # A smaller one begins no worse than any sound that is cut in the middle of a swing.
            self._offset = mean * (np.abs(mean) > first.std(axis=1, keepdims=True))
            first -= self._offset
        powers = np.empty((_BANDS, len(self._signal), _LOW.frames // STEP_FRAMES))
        for bands, times, smoothed, energies in self._stretches(frames):
            powers[bands, :, times] = smoothed
            self.energy[bands] += energies[0]
            if not self.course and times.start == 0:
                self.settling_energy[bands] = energies[1]
        if frames >= STEP_FRAMES:
            self._add_to_course(powers[:, :, : frames // STEP_FRAMES])

    def _stretches(
        self, frames: int
    ) -> Iterator[tuple[slice, slice, npt.NDArray[np.float64], npt.NDArray[np.float64]]]:
        """Give bands, times, smoothed powers, and energies of the frames and of the settling."""
        settling = min(frames, SETTLING_FRAMES)
        low = self._low.measure(self._signal, (frames, settling))
        yield slice(0, _FIRST_HIGH_BAND), slice(0, None), low.smoothed, low.energies
        margin = _LOW.before - _HIGH.before
        for start in range(0, frames, _HIGH.frames):
            signal = self._signal[:, margin + start : margin + start + _HIGH.total]
            high = self._high.measure(signal, (min(frames - start, _HIGH.frames), settling))
            first = start // STEP_FRAMES
            times = slice(first, first + high.smoothed.shape[2])
            yield slice(_FIRST_HIGH_BAND, _BANDS), times, high.smoothed, high.energies

    def _add_to_course(self, powers: npt.NDArray[np.float64]) -> None:
        core = self._decay.feed(core_loudness(powers, self._field))
        bands, channels, times = core.shape
        total = total_loudness(core.reshape(bands, -1)).reshape(channels, times)
        self.course.append(self._duration.feed(total)[:, ::_TIME_STEPS])
        seldom = core[:, :, ::_PATTERN_STEPS]
        pattern = specific_loudness(seldom.reshape(bands, -1))
        self.pattern_sum += pattern.reshape(POINTS, channels, -1).sum(axis=2)
        self.pattern_times += seldom.shape[2]
