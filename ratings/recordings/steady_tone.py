"""A steady tone inside a recording: where it stands, its frequency, and its true level."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.errors import MeasurementError

FRAME_S = 0.1
_LOWEST_TONE_HZ = 50.0
_LOBE_BINS = 4
"""Of a Hann window: more than 99.99 % of a tone's power falls within four bins of its peak."""
_TONE_ABOVE_REST_DB = 6.0
_STRETCH_RANGE_DB = 6.0
_SAME_TONE = 0.01


@dataclass(frozen=True, slots=True)
class ToneFrames:
    """The strongest tone of every 0.1 s.

    Attributes
    ----------
    tone_db, rest_db
        Level of the tone and of all else but the mean, re an rms of 1; -inf for silence.
    frequency_hz
        Of the tone, by interpolation between bins; NaN for silence.
    """

    tone_db: npt.NDArray[np.float64]
    rest_db: npt.NDArray[np.float64]
    frequency_hz: npt.NDArray[np.float64]


class ToneMeter:
    """Finds the strongest tone of every 0.1 s of one channel."""

    def __init__(self, sample_rate_hz: int) -> None:
        self._rate_hz = sample_rate_hz
        self._length = round(FRAME_S * sample_rate_hz)
        self._window = np.hanning(self._length + 1)[:-1]
        self._left = np.empty(0)
        self._frames: list[tuple[float, float, float]] = []

    def feed(self, samples: npt.NDArray[np.float64]) -> None:
        """Take the next samples of the channel, shape (frames,)."""
        joined = np.concatenate((self._left, samples))
        whole = len(joined) // self._length
        used = whole * self._length
        self._frames += [self._frame(part) for part in joined[:used].reshape(whole, self._length)]
        self._left = joined[used:].copy()

    def result(self) -> ToneFrames:
        """Give the tones so far; what is left of less than 0.1 s is not looked at."""
        frames = np.array(self._frames).reshape(-1, 3)
        return ToneFrames(frames[:, 0], frames[:, 1], frames[:, 2])

    def _frame(self, samples: npt.NDArray[np.float64]) -> tuple[float, float, float]:
        centred = samples - samples.mean()
        power = np.abs(np.fft.rfft(centred * self._window)) ** 2
        power *= 2 / (self._length * np.sum(self._window**2))
        lowest = math.ceil(_LOWEST_TONE_HZ * FRAME_S)
        peak = lowest + int(np.argmax(power[lowest:-1]))
        lobe = slice(max(peak - _LOBE_BINS, 0), peak + _LOBE_BINS + 1)
        tone = float(power[lobe].sum())
        rest = float(power.sum()) - tone
        if tone <= 0:
            return -math.inf, -math.inf, math.nan
        at_bin = float(np.sum(np.arange(len(power))[lobe] * power[lobe])) / tone
        frequency_hz = at_bin * self._rate_hz / self._length
        return _level_db(tone), _level_db(max(rest, 0.0)), frequency_hz


@dataclass(frozen=True, slots=True)
class Stretch:
    """Frames from `start` up to `stop`, and the range of the tone's level within them."""

    start: int
    stop: int
    spread_db: float


def tone_stretch(frames: ToneFrames) -> Stretch | None:
    """Find the longest stretch in which one tone stands out; None where none does."""
    stands_out = (
        frames.tone_db - np.where(np.isfinite(frames.rest_db), frames.rest_db, -300.0)
        >= _TONE_ABOVE_REST_DB
    )
    stands_out &= np.isfinite(frames.tone_db)
    best: Stretch | None = None
    start = 0
    for stop in range(1, len(stands_out) + 1):
        if not stands_out[stop - 1]:
            start = stop
            continue
        if start < stop - 1 and not _goes_on(frames, stop - 1):
            start = stop - 1
        if best is None or stop - start > best.stop - best.start:
            best = Stretch(start, stop, float(np.ptp(frames.tone_db[start:stop])))
    return best


def steady_part(frames: ToneFrames, within: Stretch, most_spread_db: float) -> Stretch:
    """Find the longest part of a stretch in which the level keeps within a range."""
    level_db = frames.tone_db
    best = Stretch(within.start, within.start + 1, 0.0)
    start = within.start
    for stop in range(within.start + 1, within.stop + 1):
        while np.ptp(level_db[start:stop]) > most_spread_db:
            start += 1
        if stop - start > best.stop - best.start:
            best = Stretch(start, stop, float(np.ptp(level_db[start:stop])))
    return best


@dataclass(frozen=True, slots=True)
class Tone:
    """A steady tone.

    Attributes
    ----------
    rms
        Of the tone alone, in the unit of the samples.
    frequency_hz
        By the advance of its phase.
    level_spread_db
        Range of its level over stretches of 0.1 s.
    tone_to_rest_db
        Its level above everything else but the mean: noise, hum and distortion.
    """

    rms: float
    frequency_hz: float
    level_spread_db: float
    tone_to_rest_db: float


def measure_tone(samples: npt.NDArray[np.float64], sample_rate_hz: int, near_hz: float) -> Tone:
    """Measure a tone that fills the samples.

    Parameters
    ----------
    samples
        Shape (frames,), 0.3 s or more.
    near_hz
        Its frequency within 5 Hz.

    Raises
    ------
    MeasurementError
        When the samples are too short.

    Notes
    -----
    A sine and a cosine are fitted to every 0.1 s by least squares; the slope of the phase over
    these corrects the frequency, and the fit is made again.
    """
    length = round(FRAME_S * sample_rate_hz)
    whole = len(samples) // length
    if whole < 3:
        raise MeasurementError("The tone is too short to be measured.", "Record 10 s of it.")
    parts = samples[: whole * length].reshape(whole, length)
    frequency_hz = near_hz
    for _ in range(3):
        phasors, rest = _fitted(parts, sample_rate_hz, frequency_hz)
        turn = np.polyfit(np.arange(whole), np.unwrap(np.angle(phasors)), 1)[0]
        frequency_hz += float(turn) / (2 * np.pi * length / sample_rate_hz)
    phasors, rest = _fitted(parts, sample_rate_hz, frequency_hz)
    power = np.abs(phasors) ** 2 / 2
    rest_power = float(np.mean(rest**2))
    tone_power = float(power.mean())
    return Tone(
        rms=math.sqrt(tone_power),
        frequency_hz=frequency_hz,
        level_spread_db=float(np.ptp(10 * np.log10(power))),
        tone_to_rest_db=_level_db(tone_power) - _level_db(rest_power),
    )


def _fitted(
    parts: npt.NDArray[np.float64], sample_rate_hz: int, frequency_hz: float
) -> tuple[npt.NDArray[np.complex128], npt.NDArray[np.float64]]:
    """Fit a mean and a tone to each part; give the phasors, on one clock, and what is left."""
    count, length = parts.shape
    angle = 2 * np.pi * frequency_hz * np.arange(length) / sample_rate_hz
    basis = np.stack((np.cos(angle), np.sin(angle), np.ones(length)), axis=1)
    solved = np.linalg.lstsq(basis, parts.T, rcond=None)[0]
    rest = parts.T - basis @ solved
    clock = np.exp(-2j * np.pi * frequency_hz * np.arange(count) * length / sample_rate_hz)
    return (solved[0] - 1j * solved[1]) * clock, rest


def _goes_on(frames: ToneFrames, index: int) -> bool:
    step_db = abs(frames.tone_db[index] - frames.tone_db[index - 1])
    drift = abs(frames.frequency_hz[index] / frames.frequency_hz[index - 1] - 1)
    return bool(step_db <= _STRETCH_RANGE_DB and drift <= _SAME_TONE)


def _level_db(power: float) -> float:
    return 10 * math.log10(power) if power > 0 else -math.inf
