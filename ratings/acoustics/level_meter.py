"""Levels of a whole recording in one pass: weighted, in third octaves, in named bands."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

from ratings.acoustics.band_gains import HALF_FLANK, band_gains
from ratings.acoustics.levels import (
    REFERENCE_PRESSURE_PA,
    TIME_CONSTANTS_S,
    decibels,
    weighting_response,
)
from ratings.acoustics.running_spectrum import Chunk, RunningSpectrum
from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.errors import MeasurementError
from ratings.study.bands import Band

COURSE_STEP_S = 0.1
"""Step of the level over time."""


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
    """

    leq_db: npt.NDArray[np.float64]
    leq_a_db: npt.NDArray[np.float64]
    leq_c_db: npt.NDArray[np.float64]
    fast_max_a_db: npt.NDArray[np.float64]
    third_octave_db: npt.NDArray[np.float64]
    band_db: npt.NDArray[np.float64]
    band_a_db: npt.NDArray[np.float64]
    fast_a_db: npt.NDArray[np.float64]


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
        return Levels(
            leq_db=self._level_db(self._plain),
            leq_a_db=self._level_db(self._a_weighted),
            leq_c_db=self._level_db(self._c_weighted),
            fast_max_a_db=decibels(self._fast.highest / self._reference**2),
            third_octave_db=self._level_db(self._in_bands[:thirds].T),
            band_db=self._level_db(self._in_bands[thirds:].T),
            band_a_db=self._level_db(self._in_bands_a.T),
            fast_a_db=decibels(self._fast.course() / self._reference**2),
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
            first = int(low_hz / (1 + HALF_FLANK) / bin_hz)
            stop = int(np.ceil(high_hz * (1 + HALF_FLANK) / bin_hz)) + 1
            if stop > len(frequency_hz):
                # What does not fit under half the rate has no level.
                undefined = np.full(1, np.nan)
                self.bands.append((0, undefined, undefined))
                continue
            gains = band_gains(frequency_hz[first:stop], low_hz, high_hz)
            self.bands.append((first, gains, gains * a_gains[first:stop]))


class _FastLevel:
    """Exponential average of squared channels, its highest value, and its course."""

    def __init__(self, sample_rate_hz: int, channels: int) -> None:
        decay = float(np.exp(-1 / (TIME_CONSTANTS_S["fast"] * sample_rate_hz)))
        self._coefficients = [1 - decay], [1.0, -decay]
        self._step_frames = COURSE_STEP_S * sample_rate_hz
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
