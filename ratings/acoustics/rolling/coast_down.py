"""A coast-down over speed: map of speed and frequency, levels per band, all in one pass."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.levels import decibels, weighting_db
from ratings.acoustics.rolling.speed_law import SpeedLaw, speed_law
from ratings.errors import MeasurementError
from ratings.study.bands import Band
from ratings.study.constants import REFERENCE_PRESSURE_PA
from ratings.study.speed_trace import SpeedTrace

RESOLUTION_HZ = 4.0
HIGHEST_HZ = 5000.0
#: Width of the speed steps of levels, 5 km/h by common practice; the map's steps are 1 km/h.
BIN_KM_H = 5
_LEAST_RANGE_KM_H = 10
#: Slower than this the car hardly rolls.
_SLOWEST_KM_H = 10.0
#: A rise by this much from a second before to a second after is driving, not rolling out.
_RISE_KM_H, _BESIDE_S = 1.0, 1.0
_FRAMES_AT_ONCE = 16
#: Speeds are counted in whole km/h up to here.
_HIGHEST_KM_H = 400


@dataclass(frozen=True, slots=True, eq=False)
class SpeedLevels:
    """Levels in steps of speed.

    Attributes
    ----------
    speed_km_h
        Middle of each step, shape (steps,), rising.
    mean_speed_km_h
        Of what was heard in the step (mean of the logarithm); NaN in an empty step.
    frames
        Spectra averaged in each step, shape (steps,).
    leq_db, leq_a_db
        Shape (channels, steps), unweighted and A-weighted; NaN in an empty step.
    band_db, band_a_db
        Shape (channels, bands, steps); NaN too for a band that the sample rate does not carry.
    """

    speed_km_h: NDArray[np.float64]
    mean_speed_km_h: NDArray[np.float64]
    frames: NDArray[np.int64]
    leq_db: NDArray[np.float64]
    leq_a_db: NDArray[np.float64]
    band_db: NDArray[np.float64]
    band_a_db: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class CoastDownMap:
    """What a coast-down sounds like at each speed.

    Attributes
    ----------
    frequency_hz
        Shape (lines,), up to 5 kHz.
    level_db
        Shape (channels, speeds, lines): level in each line of `resolution_hz`; NaN at a speed
        that has no frame.
    fine, binned
        Levels in steps of 1 km/h (the speeds of the map) and of 5 km/h.
    bands
        In the order of the levels' band axis.
    frames_left_out
        Spectra that belong to no speed of the coast-down: the trace does not reach there, the
        speed rises, or it lies below 10 km/h.
    """

    frequency_hz: NDArray[np.float64]
    level_db: NDArray[np.float64]
    resolution_hz: float
    fine: SpeedLevels
    binned: SpeedLevels
    bands: tuple[Band, ...]
    frames_left_out: int

    @property
    def speed_km_h(self) -> NDArray[np.float64]:
        """Speeds of the map, shape (speeds,)."""
        return self.fine.speed_km_h

    def law(self, channel: int, band: int | None = None, a_weighted: bool = True) -> SpeedLaw:
        """Return how a band's level, or with None the whole level, grows with speed."""
        steps = self.binned
        if band is None:
            level_db = (steps.leq_a_db if a_weighted else steps.leq_db)[channel]
        else:
            level_db = (steps.band_a_db if a_weighted else steps.band_db)[channel, band]
        return speed_law(steps.mean_speed_km_h, level_db, steps.frames.astype(np.float64))


class CoastDownMeter:
    """Sorts short spectra by speed; memory depends on the range of speeds, not on the length.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks.
    trace
        Speed over the recording's time. Each spectrum gets the speed at its middle. It is left
        out and counted where the trace has none, where the speed rises and below 10 km/h.
    bands
        Named bands; they may overlap.
    reference
        20 uPa for pressure in pascal, 1.0 relative to full scale.

    Notes
    -----
    Hann windows of a quarter of a second, half overlapping: lines of 4 Hz, over which a tone of
    order 64 moves in the window when the speed falls by 1 km/h in it. A band takes of the lines
    at its edges the share that lies inside.
    """

    def __init__(
        self,
        sample_rate_hz: int,
        channels: int,
        trace: SpeedTrace,
        bands: Sequence[Band] = (),
        reference: float = REFERENCE_PRESSURE_PA,
    ) -> None:
        if trace.speed_km_h.max() > _HIGHEST_KM_H:
            raise MeasurementError(
                f"The speed trace reaches {trace.speed_km_h.max():.0f} km/h.",
                "Check its unit: it must be km/h.",
            )
        self._sample_rate_hz, self._trace, self._bands = sample_rate_hz, trace, tuple(bands)
        self._reference = reference
        self._length = 2 * round(sample_rate_hz / RESOLUTION_HZ / 2.0)
        self._window = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(self._length) / self._length)
        self._resolution_hz = sample_rate_hz / self._length
        frequency_hz = _lines_hz(self._length // 2 + 1, self._resolution_hz)
        self._lines = int(min(HIGHEST_HZ / self._resolution_hz + 1, frequency_hz.size))
        self._weights = _weights(frequency_hz, self._bands)
        self._slowest = int(np.floor(trace.speed_km_h.min() + 0.5))
        steps = int(np.floor(trace.speed_km_h.max() + 0.5)) - self._slowest + 1
        self._map = np.zeros((steps, channels, self._lines))
        self._sums = np.zeros((steps, channels, self._weights.shape[1]))
        self._frames = np.zeros(steps, np.int64)
        self._log_speed = np.zeros(steps)
        self._left_out = 0
        self._start = 0
        self._rest = np.empty((0, channels))

    def feed(self, pressure_pa: NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels)."""
        signal = np.concatenate([self._rest, pressure_pa])
        hop, start = self._length // 2, 0
        while start + self._length <= len(signal):
            stop = min(start + (_FRAMES_AT_ONCE - 1) * hop + self._length, len(signal))
            stretches = np.lib.stride_tricks.sliding_window_view(
                signal[start:stop], self._length, axis=0
            )[::hop]
            self._sort(stretches, self._start + start)
            start += len(stretches) * hop
        self._rest = signal[start:].copy()
        self._start += start

    def result(self) -> CoastDownMap:
        """Return the map and the levels.

        Raises
        ------
        MeasurementError
            When no sound has a speed, or the speed hardly changes.
        """
        heard = np.flatnonzero(self._frames)
        if heard.size == 0 or heard[-1] - heard[0] < _LEAST_RANGE_KM_H:
            raise MeasurementError(
                f"The recording covers less than {_LEAST_RANGE_KM_H} km/h of speed.",
                "Give a coast-down with the speed trace that belongs to it.",
            )
        used = slice(heard[0], heard[-1] + 1)
        counts = self._frames[used]
        with np.errstate(invalid="ignore"):
            mean = self._map[used] / counts[:, np.newaxis, np.newaxis]
        whole = np.arange(heard[0], heard[-1] + 1) + self._slowest
        return CoastDownMap(
            frequency_hz=_lines_hz(self._lines, self._resolution_hz),
            level_db=decibels(mean.transpose(1, 0, 2) / self._reference**2),
            resolution_hz=self._resolution_hz,
            fine=self._levels(used, whole),
            binned=self._levels(used, (whole + BIN_KM_H // 2) // BIN_KM_H * BIN_KM_H),
            bands=self._bands,
            frames_left_out=self._left_out,
        )

    def _sort(self, stretches: NDArray[np.float64], first: int) -> None:
        from scipy import fft

        hop = self._length // 2
        middles = first + np.arange(len(stretches)) * hop + hop
        speeds = self._speeds_km_h(middles / self._sample_rate_hz)
        scale = 2.0 / (self._length * float((self._window**2).sum()))
        for stretch, speed in zip(stretches, speeds, strict=True):
            if np.isnan(speed):
                self._left_out += 1
                continue
            step = int(np.floor(speed + 0.5)) - self._slowest
            spectrum = fft.rfft(stretch * self._window)
            power = scale * (spectrum.real**2 + spectrum.imag**2)
            power[:, [0, -1]] /= 2.0
            self._map[step] += power[:, : self._lines]
            self._sums[step] += power @ self._weights
            self._frames[step] += 1
            self._log_speed[step] += np.log10(speed)

    def _speeds_km_h(self, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the speed of each spectrum; NaN for one that is left out."""
        speed_km_h = self._trace.at(times_s)
        ends_s = self._trace.times_s[[0, -1]]
        after = self._trace.at(np.clip(times_s + _BESIDE_S, *ends_s))
        before = self._trace.at(np.clip(times_s - _BESIDE_S, *ends_s))
        rolls_out = (speed_km_h >= _SLOWEST_KM_H) & (after - before <= _RISE_KM_H)
        return np.where(rolls_out, speed_km_h, np.nan)

    def _levels(self, used: slice, places: NDArray[np.int64]) -> SpeedLevels:
        """Join the steps of 1 km/h that share a place."""
        speeds, member = np.unique(places, return_inverse=True)
        sums = np.zeros((speeds.size, *self._sums.shape[1:]))
        frames, logs = np.zeros(speeds.size, np.int64), np.zeros(speeds.size)
        np.add.at(sums, member, self._sums[used])
        np.add.at(frames, member, self._frames[used])
        np.add.at(logs, member, self._log_speed[used])
        with np.errstate(invalid="ignore"):
            mean = (sums / frames[:, np.newaxis, np.newaxis]).transpose(1, 2, 0)
            mean_speed = 10.0 ** (logs / frames)
        level_db = decibels(mean / self._reference**2)
        bands = len(self._bands)
        return SpeedLevels(
            speed_km_h=speeds.astype(np.float64),
            mean_speed_km_h=mean_speed,
            frames=frames,
            leq_db=level_db[:, 0],
            leq_a_db=level_db[:, 1],
            band_db=level_db[:, 2 : 2 + bands],
            band_a_db=level_db[:, 2 + bands :],
        )


def coast_down_map(
    pressure_pa: NDArray[np.float64],
    sample_rate_hz: int,
    trace: SpeedTrace,
    bands: Sequence[Band] = (),
    reference: float = REFERENCE_PRESSURE_PA,
) -> CoastDownMap:
    """Measure a whole coast-down of shape (frames, channels); see `CoastDownMeter`."""
    meter = CoastDownMeter(sample_rate_hz, pressure_pa.shape[1], trace, bands, reference)
    meter.feed(pressure_pa)
    return meter.result()


def _lines_hz(lines: int, resolution_hz: float) -> NDArray[np.float64]:
    return np.arange(lines, dtype=np.float64) * resolution_hz


def _weights(frequency_hz: NDArray[np.float64], bands: tuple[Band, ...]) -> NDArray[np.float64]:
    """Share of each line in: all, all A-weighted, each band, each band A-weighted."""
    a_gain = 10.0 ** (weighting_db(frequency_hz, "A") / 10.0)
    half = frequency_hz[1] / 2.0
    plain = [np.ones_like(frequency_hz)]
    for band in bands:
        inside_hz = np.minimum(frequency_hz + half, band.high_hz) - np.maximum(
            frequency_hz - half, band.low_hz
        )
        share = np.clip(inside_hz / (2.0 * half), 0.0, 1.0)
        plain.append(share if band.high_hz <= frequency_hz[-1] else np.full_like(share, np.nan))
    shares = np.stack(plain, axis=1)
    weighted = shares * a_gain[:, np.newaxis]
    return np.concatenate([shares[:, :1], weighted[:, :1], shares[:, 1:], weighted[:, 1:]], axis=1)
