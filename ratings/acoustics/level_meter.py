"""Levels of a whole recording in one pass: weighted, in third octaves, in named bands."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

from ratings.acoustics.levels import TIME_CONSTANTS_S, decibels, weighting_response
from ratings.acoustics.running_spectrum import Chunk, RunningSpectrum
from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.errors import MeasurementError
from ratings.study.bands import Band
from ratings.study.constants import REFERENCE_PRESSURE_PA

TIME_STEP_S = 0.1
"""Step of the level over time."""

PERCENTILES = (5, 10, 50, 90, 95)
"""Shares of the time, in per cent, for which the levels exceeded are given."""

# Slow is averaged over stretches of 10 ms, within which its weights change by 1 %.
_SLOW_STEP_S = 0.01
# Fast rises from silence where the recording begins; after so long that shows by less than 0.1 dB.
_FAST_SETTLED_S = 0.5
# Slow goes on from the mean of the first second, as a meter would that had been running.
_SLOW_BEFORE_S = 1.0
_HALF_FLANK = 0.04
"""Half the width of a flank, as a share of the edge's frequency."""


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """Levels in dB, each of shape (channels,) unless said otherwise.

    Attributes
    ----------
    leq_db, leq_a_db, leq_c_db
        Equivalent levels without weighting (a constant offset counts), A and C weighted.
    fast_max_a_db
        Highest A-weighted level with the time constant of 125 ms.
    third_octave_db
        Shape (channels, 29), unweighted, 20 Hz to 12.5 kHz; NaN for bands that do not fit under
        half the sample rate.
    band_db, band_a_db
        Shape (channels, bands), unweighted and A-weighted; NaN as above.
    fast_a_db
        Shape (times, channels): A-weighted level with 125 ms, every 0.1 s from 0.1 s on.
    slow_max_a_db
        Highest A-weighted level with the time constant of 1 s.
    fast_exceeded_a_db, slow_exceeded_a_db
        Shape (channels, 5): A-weighted levels exceeded for 5, 10, 50, 90 and 95 % of the time,
        with 125 ms and with 1 s (time weightings of IEC 61672-1:2013, 3.8), every 0.1 s; those of
        Fast without the first 0.5 s where the recording lasts 1 s or more.
    """

    leq_db: npt.NDArray[np.float64]
    leq_a_db: npt.NDArray[np.float64]
    leq_c_db: npt.NDArray[np.float64]
    fast_max_a_db: npt.NDArray[np.float64]
    third_octave_db: npt.NDArray[np.float64]
    band_db: npt.NDArray[np.float64]
    band_a_db: npt.NDArray[np.float64]
    fast_a_db: npt.NDArray[np.float64]
    slow_max_a_db: npt.NDArray[np.float64]
    fast_exceeded_a_db: npt.NDArray[np.float64]
    slow_exceeded_a_db: npt.NDArray[np.float64]


class LevelMeter:
    """Measures levels block by block; memory does not grow with the recording's length.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    bands
        Named bands; they may overlap.
    reference
        20 uPa for pressure in pascal, 1.0 for samples relative to full scale.

    Notes
    -----
    Filters are applied to spectra of long stretches with margins (`RunningSpectrum`), so that
    the weightings equal the design goals of IEC 61672-1:2013 annex E up to half the sample rate,
    and the bands stay inside class 1 of IEC 61260-1:2014.
    """

    def __init__(
        self,
        sample_rate_hz: int,
        channels: int,
        bands: Sequence[Band] = (),
        reference: float = REFERENCE_PRESSURE_PA,
    ) -> None:
        self._sample_rate_hz = sample_rate_hz
        self._reference = reference
        self._running = RunningSpectrum(sample_rate_hz, channels)
        self._edges_hz = [(third.low_hz, third.high_hz) for third in THIRD_OCTAVES]
        self._edges_hz += [(band.low_hz, band.high_hz) for band in bands]
        self._bands = len(bands)
        self._frames = 0
        self._plain = np.zeros(channels)
        self._a_weighted = np.zeros(channels)
        self._c_weighted = np.zeros(channels)
        self._in_bands = np.zeros((len(self._edges_hz), channels))
        self._in_bands_a = np.zeros((len(bands), channels))
        self._fast = _FastLevel(sample_rate_hz, channels)
        self._slow = _SlowLevel(sample_rate_hz, channels)
        self._filters: _Filters | None = None

    def feed(self, pressure_pa: npt.NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels)."""
        self._frames += len(pressure_pa)
        self._plain += np.einsum("fc,fc->c", pressure_pa, pressure_pa)
        for chunk in self._running.feed(pressure_pa):
            self._measure(chunk)

    def result(self) -> Levels:
        """Return the levels; nothing can be fed afterwards.

        Raises
        ------
        MeasurementError
            When nothing was fed.
        """
        if self._frames == 0:
            raise MeasurementError("There is no sound to measure: the signal has no samples.")
        for chunk in self._running.finish():
            self._measure(chunk)
        thirds = len(THIRD_OCTAVES)
        fast_a_db = decibels(self._fast.course() / self._reference**2)
        settled = round(_FAST_SETTLED_S / TIME_STEP_S) if len(fast_a_db) >= 10 else 0
        slow_max, slow_course = self._slow.highest_and_history()
        slow_a_db = decibels(slow_course / self._reference**2)
        return Levels(
            leq_db=self._level_db(self._plain),
            leq_a_db=self._level_db(self._a_weighted),
            leq_c_db=self._level_db(self._c_weighted),
            fast_max_a_db=decibels(self._fast.highest / self._reference**2),
            third_octave_db=self._level_db(self._in_bands[:thirds].T),
            band_db=self._level_db(self._in_bands[thirds:].T),
            band_a_db=self._level_db(self._in_bands_a.T),
            fast_a_db=fast_a_db,
            slow_max_a_db=decibels(slow_max / self._reference**2),
            fast_exceeded_a_db=_exceeded_db(fast_a_db[settled:]),
            slow_exceeded_a_db=_exceeded_db(slow_a_db),
        )

    def _level_db(self, energy: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return decibels(energy / (self._frames * self._reference**2))

    def _measure(self, chunk: Chunk) -> None:
        if self._filters is None or self._filters.frames != chunk.frames:
            self._filters = _Filters(chunk.frames, self._sample_rate_hz, self._edges_hz)
        filters, few = self._filters, chunk.channels
        heard = chunk.filtered(filters.a_weighting)
        np.square(heard, out=heard)
        self._a_weighted[few] += heard.sum(axis=1)
        self._fast.feed(few, heard)
        self._slow.feed(few, heard)
        heard = chunk.filtered(filters.c_weighting)
        self._c_weighted[few] += np.einsum("cf,cf->c", heard, heard)
        thirds = len(THIRD_OCTAVES)
        for index, (first_bin, gains, weighted_gains) in enumerate(filters.bands):
            self._in_bands[index, few] += chunk.band_energy(first_bin, gains)
            if index >= thirds:
                weighted = chunk.band_energy(first_bin, weighted_gains)
                self._in_bands_a[index - thirds, few] += weighted


class _Filters:
    """The filters at the bins of chunks of one length."""

    def __init__(
        self, frames: int, sample_rate_hz: int, edges_hz: Sequence[tuple[float, float]]
    ) -> None:
        self.frames = frames
        bin_hz = sample_rate_hz / frames
        frequency_hz = np.arange(frames // 2 + 1, dtype=np.float64) * bin_hz
        self.a_weighting = weighting_response(frequency_hz, "A")
        self.c_weighting = weighting_response(frequency_hz, "C")
        a_gains = np.abs(self.a_weighting)
        self.bands = []
        for low_hz, high_hz in edges_hz:
            first = int(low_hz / (1 + _HALF_FLANK) / bin_hz)
            stop = int(np.ceil(high_hz * (1 + _HALF_FLANK) / bin_hz)) + 1
            if stop > len(frequency_hz):
                # What does not fit under half the rate has no level.
                undefined = np.full(1, np.nan)
                self.bands.append((0, undefined, undefined))
                continue
            gains = _band_gains(frequency_hz[first:stop], low_hz, high_hz)
            self.bands.append((first, gains, gains * a_gains[first:stop]))


class _FastLevel:
    """Exponential average of squared channels, its highest value, and its course."""

    def __init__(self, sample_rate_hz: int, channels: int) -> None:
        decay = float(np.exp(-1 / (TIME_CONSTANTS_S["fast"] * sample_rate_hz)))
        self._coefficients = [1 - decay], [1.0, -decay]
        self._step_frames = TIME_STEP_S * sample_rate_hz
        self._states = np.zeros((channels, 1))
        self._frames = np.zeros(channels, np.int64)
        self._courses: list[list[npt.NDArray[np.float64]]] = [[] for _ in range(channels)]
        self.highest = np.zeros(channels)

    def feed(self, few: slice, squared: npt.NDArray[np.float64]) -> None:
        """Take the next squares of a few channels, shape (channels, frames)."""
        averaged, self._states[few] = lfilter(
            *self._coefficients, squared, axis=1, zi=self._states[few]
        )
        highest = self.highest[few]
        np.maximum(highest, averaged.max(axis=1, initial=0.0), out=highest)
        before = int(self._frames[few.start])
        after = before + squared.shape[1]
        steps = np.arange(before // self._step_frames, after // self._step_frames + 2)
        ends = np.round(steps * self._step_frames).astype(int)
        ends = ends[(ends > before) & (ends <= after)]
        for courses, row in zip(self._courses[few], averaged, strict=True):
            courses.append(row[ends - 1 - before])
        self._frames[few] = after

    def course(self) -> npt.NDArray[np.float64]:
        """Return the averages at the steps, shape (times, channels)."""
        return np.stack([np.concatenate(course) for course in self._courses], axis=1)


class _SlowLevel:
    """Mean squares of channels over 10 ms, and their exponential average with 1 s."""

    def __init__(self, sample_rate_hz: int, channels: int) -> None:
        self._step_frames = _SLOW_STEP_S * sample_rate_hz
        self._frames = np.zeros(channels, np.int64)
        self._open = np.zeros(channels)
        self._means: list[list[npt.NDArray[np.float64]]] = [[] for _ in range(channels)]

    def feed(self, few: slice, squared: npt.NDArray[np.float64]) -> None:
        """Take the next squares of a few channels, shape (channels, frames)."""
        before = int(self._frames[few.start])
        after = before + squared.shape[1]
        if after == before:
            return
        steps = np.arange(before // self._step_frames, after // self._step_frames + 2)
        ends = np.round(steps * self._step_frames).astype(np.int64)
        ends = ends[(ends > before) & (ends <= after)]
        starts = np.concatenate([[0], ends[ends < after] - before])
        sums = np.add.reduceat(squared, starts, axis=1)
        sums[:, 0] += self._open[few]
        whole = sums[:, : ends.size] / self._step_frames
        self._open[few] = sums[:, -1] if starts.size > ends.size else 0.0
        for means, row in zip(self._means[few], whole, strict=True):
            means.append(row)
        self._frames[few] = after

    def highest_and_history(
        self,
    ) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Return the highest average, and the averages every 0.1 s, shape (times, channels)."""
        means = np.stack([np.concatenate([*each, np.empty(0)]) for each in self._means], axis=1)
        if not len(means):
            return np.full(means.shape[1], np.nan), means
        decay = float(np.exp(-_SLOW_STEP_S / TIME_CONSTANTS_S["slow"]))
        first = means[: round(_SLOW_BEFORE_S / _SLOW_STEP_S)].mean(axis=0, keepdims=True)
        averaged, _ = lfilter([1 - decay], [1.0, -decay], means, axis=0, zi=decay * first)
        every = round(TIME_STEP_S / _SLOW_STEP_S)
        return averaged.max(axis=0), np.asarray(averaged[every - 1 :: every])


def _exceeded_db(course_db: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the levels exceeded for the shares of time, shape (channels, shares)."""
    if not len(course_db):
        return np.full((course_db.shape[1], len(PERCENTILES)), np.nan)
    shares = [100 - each for each in PERCENTILES]
    if np.isfinite(course_db).all():
        return np.asarray(np.percentile(course_db, shares, axis=0).T)
    # Silence is minus infinity, between which there is nothing to interpolate.
    return np.asarray(np.percentile(course_db, shares, axis=0, method="lower").T)


def _band_gains(
    frequency_hz: npt.NDArray[np.float64], low_hz: float, high_hz: float
) -> npt.NDArray[np.float64]:
    """Give the gain of the band from `low_hz` to `high_hz`, shape of `frequency_hz`.

    Notes
    -----
    Neighbours that share an edge split the power between them: the squares of their gains add
    up to one, so that third octaves together hold exactly what the signal holds. The flanks lie
    well inside the class 1 limits of IEC 61260-1:2014, table 1.
    """
    rising = _flank(frequency_hz / low_hz)
    falling = _flank(high_hz / np.maximum(frequency_hz, np.finfo(float).tiny))
    return np.asarray(rising * falling)


def _flank(over_edge: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    # In the logarithm of the frequency, so that a rising and a falling flank mirror each other.
    with np.errstate(divide="ignore"):
        position = np.log(over_edge) / (2 * np.log1p(_HALF_FLANK)) + 0.5
    return np.asarray(np.sin(0.5 * np.pi * np.clip(position, 0.0, 1.0)))
