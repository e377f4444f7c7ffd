"""Airborne noise: tread-band roar, hiss and wind, shaped from random noise."""

from dataclasses import dataclass

import numpy as np

from ratings.study.constants import REFERENCE_PRESSURE_PA
from ratings.synthesis.sketch import REFERENCE_SPEED_KM_H
from ratings.synthesis.speed import Series

_EAR_DISTANCE_M = 0.18
_SOUND_SPEED_M_S = 343.0
#: Air in a cabin rings too; its peaks and dips are this large and this close (common practice).
_RIPPLE_DB = 2.2
_RIPPLES_PER_OCTAVE = 8


@dataclass(frozen=True, slots=True)
class NoiseColour:
    """Density of a noise over frequency, and how its level follows speed.

    Attributes
    ----------
    points
        (hertz, dB) with straight lines over log frequency between; the dB are relative.
    speed_law_db
        Level over log speed, in dB per decade.
    """

    points: tuple[tuple[float, float], ...]
    speed_law_db: float


#: The 1 kHz hump of tread noise (Sandberg, multi-coincidence peak, 700-1300 Hz) after a body that
#: keeps out more the higher the frequency. The figures are ours, common practice, no source.
ROAR = NoiseColour(
    (
        (60, -40),
        (150, -14),
        (250, -5),
        (400, 0),
        (630, -2),
        (800, -6),
        (1000, -13),
        (1250, -22),
        (1600, -32),
        (5000, -60),
    ),
    speed_law_db=32.0,
)
#: Rush of air in the tread, 1-4 kHz (common practice, no source).
HISS = NoiseColour(
    (
        (300, -40),
        (700, -9),
        (950, 0),
        (1300, 0),
        (2500, -7),
        (4000, -15),
        (8000, -29),
        (16000, -48),
    ),
    speed_law_db=35.0,
)
#: Wind around the body: falls steadily, grows with the sixth power of speed.
WIND = NoiseColour(
    (
        (15, -3),
        (40, 0),
        (125, -6),
        (250, -11),
        (500, -17),
        (1000, -31),
        (2000, -44),
        (4000, -56),
        (8000, -66),
        (16000, -76),
    ),
    speed_law_db=60.0,
)


def coloured_noise(
    colour: NoiseColour,
    frames: int,
    sample_rate_hz: int,
    rng: np.random.Generator,
    cabin_seed: int = 0,
) -> Series:
    """Return noise of a colour at two ears, root mean square 1 at each, shape (frames, 2).

    Parameters
    ----------
    rng
        Decides the grain of the noise.
    cabin_seed
        Decides the peaks and dips between the source and each ear, which stay with the vehicle.

    Notes
    -----
    The ears are as coherent as two points 0.18 m apart in a diffuse field: sin(kd)/(kd), after
    Cook et al., J. Acoust. Soc. Am. 27 (1955) 1072.
    """
    frequency_hz = np.fft.rfftfreq(frames, 1.0 / sample_rate_hz)
    at_hz, at_db = np.array(colour.points, dtype=np.float64).T
    audible_hz = np.maximum(frequency_hz, 1.0)
    gain = 10.0 ** (np.interp(np.log(audible_hz), np.log(at_hz), at_db) / 20.0)
    gain[frequency_hz < at_hz[0]] = 0.0
    gain = gain * _cabin_gain(audible_hz, cabin_seed)
    gain /= np.sqrt(np.mean(gain**2, axis=1, keepdims=True))
    alike = np.abs(np.sinc(2.0 * frequency_hz * _EAR_DISTANCE_M / _SOUND_SPEED_M_S))
    shared, left, right = np.fft.rfft(rng.standard_normal((3, frames)))
    ears = np.stack([left, right]) * np.sqrt(1.0 - alike) + shared * np.sqrt(alike)
    return np.asarray(np.fft.irfft(ears * gain, n=frames).T)


def _cabin_gain(frequency_hz: Series, cabin_seed: int) -> Series:
    """Peaks and dips of the cabin at each ear, shape (2, frequencies)."""
    knots = np.arange(np.log2(16.0), np.log2(24_000.0), 1.0 / _RIPPLES_PER_OCTAVE)
    ripple_db = np.random.default_rng([cabin_seed, 3]).normal(0.0, _RIPPLE_DB, (2, knots.size))
    octave = np.log2(frequency_hz)
    return np.stack([10.0 ** (np.interp(octave, knots, ear) / 20.0) for ear in ripple_db])


def airborne_amplitude_pa(colour: NoiseColour, level_db: float, speed_km_h: Series) -> Series:
    """Return the root mean square of an airborne noise at each speed, in pascal."""
    law_db = colour.speed_law_db * np.log10(speed_km_h / REFERENCE_SPEED_KM_H)
    return np.asarray(REFERENCE_PRESSURE_PA * 10.0 ** ((level_db + law_db) / 20.0))


def gusts_db(frames: int, sample_rate_hz: int, rng: np.random.Generator) -> Series:
    """Return the slow rise and fall of the wind, 1.2 dB standard deviation, shape (frames,)."""
    knots = max(4, round(frames / sample_rate_hz / 0.35) + 2)
    levels_db = rng.normal(0.0, 1.5, knots)
    place = np.linspace(0.0, knots - 1.0, frames)
    return np.interp(place, np.arange(knots), levels_db)
