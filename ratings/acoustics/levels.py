"""Frequency weightings and levels: equivalent, and with fast or slow time weighting."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from ratings.acoustics.continuation import with_continued_ends
from ratings.errors import RecordingError
from ratings.study.constants import REFERENCE_PRESSURE_PA

Weighting = Literal["A", "C", "Z"]
Speed = Literal["fast", "slow"]


QUIETEST_CABIN_DB_A, LOUDEST_CABIN_DB_A = 40.0, 100.0
"""Beyond, a calibration is doubted. Cabins were reported between 65.9 and 77.4 dB(A) on average (a
tyre maker's press page on foam-lined tyres); slow coasting is quieter, fast rough roads are louder
(limits: our judgement)."""

TIME_CONSTANTS_S: dict[Speed, float] = {"fast": 0.125, "slow": 1.0}
"""IEC 61672-1:2013, 5.8.1."""

# Corner frequencies of the weightings, IEC 61672-1:2013, annex E, from the standard's own
# conditions: -3 dB at 10^1.5 and 10^3.9 Hz for C, 10^2.45 Hz for the A weighting's two further
# poles, and 0 dB at 1 kHz.
_NORMAL_HZ = 1000.0
_LOW_HZ, _HIGH_HZ, _A_HZ = 10.0**1.5, 10.0**3.9, 10.0**2.45
_D = np.sqrt(0.5)
_B = (_NORMAL_HZ**2 + (_LOW_HZ * _HIGH_HZ / _NORMAL_HZ) ** 2 - _D * (_LOW_HZ**2 + _HIGH_HZ**2)) / (
    1 - _D
)
_C = (_LOW_HZ * _HIGH_HZ) ** 2
_POLE_1_HZ = float(np.sqrt((-_B - np.sqrt(_B**2 - 4 * _C)) / 2))
_POLE_2_HZ = (3 - np.sqrt(5)) / 2 * _A_HZ
_POLE_3_HZ = (3 + np.sqrt(5)) / 2 * _A_HZ
_POLE_4_HZ = float(np.sqrt((-_B + np.sqrt(_B**2 - 4 * _C)) / 2))

# The slowest pole, 20.6 Hz, has died away by 140 dB after this long.
_SETTLING_S = 0.25


@dataclass(frozen=True, slots=True)
class ClipLevels:
    """Levels of a clip of any number of ears; 0 dB is an rms value of 1.0 full scale.

    Attributes
    ----------
    peak_full_scale
        Largest magnitude in any ear, full scale 1.0.
    leq_a_db_re_full_scale, fast_max_a_db_re_full_scale
        A-weighted equivalent and maximum fast level of the louder ear; minus infinity for silence.
        Add 20 log10(pascal per full scale / 20 uPa) for the sound pressure level.
    """

    peak_full_scale: float
    leq_a_db_re_full_scale: float
    fast_max_a_db_re_full_scale: float


def clip_levels(samples: npt.NDArray[np.float64], sample_rate_hz: int) -> ClipLevels:
    """Measure a clip.

    Parameters
    ----------
    samples
        Full scale 1.0, shape (frames, ears).

    Raises
    ------
    RecordingError
        As `equivalent_level_db`.
    """
    _refuse_immeasurable(samples)
    a_weighted = weighted(samples, sample_rate_hz, "A")
    return ClipLevels(
        peak_full_scale=float(np.abs(samples).max()),
        leq_a_db_re_full_scale=float(
            equivalent_level_db(a_weighted, sample_rate_hz, "Z", 1.0).max()
        ),
        fast_max_a_db_re_full_scale=float(
            maximum_level_db(a_weighted, sample_rate_hz, "Z", "fast", 1.0).max()
        ),
    )


def weighting_db(frequency_hz: npt.ArrayLike, weighting: Weighting) -> npt.NDArray[np.float64]:
    """Give the design goal of a frequency weighting, in dB relative to 1 kHz.

    Parameters
    ----------
    frequency_hz
        Any shape, from 0 upwards; A and C give minus infinity at 0.

    References
    ----------
    IEC 61672-1:2013, annex E, formulas for C(f) and A(f).
    """
    magnitude = np.abs(weighting_response(np.asarray(frequency_hz, dtype=np.float64), weighting))
    return decibels(magnitude**2)


def weighted(
    pressure: npt.NDArray[np.float64], sample_rate_hz: int, weighting: Weighting
) -> npt.NDArray[np.float64]:
    """Pass a signal through a frequency weighting as a meter would, causally.

    Parameters
    ----------
    pressure
        Shape (frames,) or (frames, channels).

    Notes
    -----
    The analogue response is applied to the spectrum, so that it is exact up to half the sample
    rate. Both ends are first continued by what the signal itself predicts: a clip cut from the
    middle of a drive does not ring at its edges as if the drive began with a blow.
    """
    if weighting == "Z":
        return pressure
    from scipy import fft

    margin = min(len(pressure) - 1, round(_SETTLING_S * sample_rate_hz))
    extended = with_continued_ends(pressure, margin)
    padded_frames = fft.next_fast_len(len(extended) + margin, real=True)
    bins = np.arange(padded_frames // 2 + 1, dtype=np.float64)
    response = weighting_response(bins * (sample_rate_hz / padded_frames), weighting)
    spectrum = fft.rfft(extended, padded_frames, axis=0)
    spectrum *= response.reshape((-1,) + (1,) * (pressure.ndim - 1))
    filtered: npt.NDArray[np.float64] = fft.irfft(spectrum, padded_frames, axis=0)
    return filtered[margin : margin + len(pressure)]


def equivalent_level_db(
    pressure: npt.NDArray[np.float64],
    sample_rate_hz: int,
    weighting: Weighting,
    reference: float = REFERENCE_PRESSURE_PA,
) -> npt.NDArray[np.float64]:
    """Give the level of the mean square over the whole signal, in dB.

    Parameters
    ----------
    pressure
        In the unit of `reference`, shape (frames,) or (frames, channels).
    reference
        20 uPa for pressure in pascal; 1.0 for samples relative to full scale, where a sine that
        just reaches full scale reads -3.01 dB.

    Returns
    -------
    Shape () or (channels,); minus infinity for a signal of zeros. With Z the mean value of the
    signal counts too.

    Raises
    ------
    RecordingError
        When there are no samples, or some are not numbers.
    """
    _refuse_immeasurable(pressure)
    mean_square = np.mean(weighted(pressure, sample_rate_hz, weighting) ** 2, axis=0)
    return decibels(mean_square / reference**2)


def time_weighted_levels_db(
    pressure: npt.NDArray[np.float64],
    sample_rate_hz: int,
    weighting: Weighting,
    speed: Speed = "fast",
    reference: float = REFERENCE_PRESSURE_PA,
) -> npt.NDArray[np.float64]:
    """Give the level over time with exponential averaging, one value per frame, in dB.

    The average starts from rest: a steady sound reads 0.1 dB low after 3.8 time constants.

    Parameters
    ----------
    pressure, reference
        As for `equivalent_level_db`.
    speed
        Time constant 125 ms or 1 s.

    Returns
    -------
    The shape of `pressure`.

    References
    ----------
    IEC 61672-1:2013, 3.7, formula 1.
    """
    _refuse_immeasurable(pressure)
    from scipy.signal import lfilter

    decay = np.exp(-1 / (TIME_CONSTANTS_S[speed] * sample_rate_hz))
    squared = weighted(pressure, sample_rate_hz, weighting) ** 2
    averaged: npt.NDArray[np.float64] = lfilter([1 - decay], [1, -decay], squared, axis=0)
    return decibels(averaged / reference**2)


def maximum_level_db(
    pressure: npt.NDArray[np.float64],
    sample_rate_hz: int,
    weighting: Weighting,
    speed: Speed = "fast",
    reference: float = REFERENCE_PRESSURE_PA,
) -> npt.NDArray[np.float64]:
    """Give the highest time-weighted level, in dB, shape () or (channels,)."""
    levels_db = time_weighted_levels_db(pressure, sample_rate_hz, weighting, speed, reference)
    return np.asarray(levels_db.max(axis=0))


def weighting_response(
    frequency_hz: npt.NDArray[np.float64], weighting: Weighting
) -> npt.NDArray[np.complex128]:
    """Give the complex gain of a weighting, 1 in magnitude at 1 kHz, shape of `frequency_hz`."""

    def at(frequency_hz: npt.NDArray[np.float64]) -> npt.NDArray[np.complex128]:
        s = 1j * frequency_hz
        response = s**2 / ((s + _POLE_1_HZ) ** 2 * (s + _POLE_4_HZ) ** 2)
        if weighting == "A":
            response *= s**2 / ((s + _POLE_2_HZ) * (s + _POLE_3_HZ))
        return response

    if weighting == "Z":
        return np.ones_like(frequency_hz, dtype=np.complex128)
    normal: npt.NDArray[np.complex128] = at(frequency_hz) / np.abs(at(np.asarray(_NORMAL_HZ)))
    return normal


def decibels(ratio: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Give ten times the logarithm of a ratio of powers; minus infinity for 0."""
    with np.errstate(divide="ignore"):
        return np.asarray(10 * np.log10(ratio))


def _refuse_immeasurable(pressure: npt.NDArray[np.float64]) -> None:
    if len(pressure) == 0:
        raise RecordingError("There is no sound to measure: the signal has no samples.")
    if not np.isfinite(pressure).all():
        raise RecordingError(
            "The signal holds values that are not numbers, so it has no level.",
            "Export the recording again from the recorder's own file.",
        )
