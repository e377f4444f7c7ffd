"""Pattern noise: a sequence of tread pitches that comes round once a turn of the wheel."""

import numpy as np

from ratings.study.tyre_size import tyre_size
from ratings.synthesis.sketch import (
    REFERENCE_SPEED_KM_H,
    RoadSketch,
    TyreSketch,
    VehicleSketch,
)
from ratings.synthesis.speed import Series
from ratings.synthesis.structure import level_to_pa

#: Four pitch lengths against their mean.
PITCH_LENGTHS = (0.86, 0.95, 1.05, 1.14)
#: Level over log speed in dB per decade; common practice, no source.
_SPEED_LAW_DB = 35.0
_POINTS_PER_TURN = 8192
_HIGHEST_PITCH_HARMONIC = 3.2
#: The wheels roll on slightly different radii, so their whines beat.
_WHEEL_RADIUS = (1.0, 1.0013, 0.9991, 1.0006)
_WHEEL_SHARE = (1.0, 0.7, 0.8, 0.6)


def pitch_starts(tyre: TyreSketch) -> Series:
    """Return where each pitch begins, as a fraction of a turn, shape (pitch_count,)."""
    rng = np.random.default_rng(tyre.pitch_seed)
    lengths = np.resize(np.array(PITCH_LENGTHS), tyre.pitch_count)
    lengths = 1.0 + (rng.permutation(lengths) - 1.0) * tyre.pitch_randomness
    ends = np.cumsum(lengths) / lengths.sum()
    return np.concatenate([[0.0], ends[:-1]])


def tread_wave(tyre: TyreSketch) -> Series:
    """Return what one turn of the tread gives off, root mean square 1, shape (8192,).

    Notes
    -----
    An impulse as long as its pitch at each pitch's start, shaped to the first harmonics of the
    pitch. With unequal pitches the energy spreads over the neighbouring orders.
    """
    starts = pitch_starts(tyre)
    lengths = np.diff(np.append(starts, 1.0))
    orders = np.arange(int(_HIGHEST_PITCH_HARMONIC * tyre.pitch_count) + 1)
    lines = np.exp(-2j * np.pi * np.outer(orders, starts)) @ lengths
    harmonic = orders / tyre.pitch_count
    shape = np.exp(-(((harmonic - 1.0) / 0.35) ** 2))
    for number, height in ((2.0, 0.15), (3.0, 0.05)):
        shape += height * np.exp(-(((harmonic - number) / 0.35) ** 2))
    spectrum = np.zeros(_POINTS_PER_TURN // 2 + 1, dtype=np.complex128)
    reached = min(orders.size, spectrum.size)
    spectrum[1:reached] = (lines * shape)[1:reached]
    wave = np.fft.irfft(spectrum, n=_POINTS_PER_TURN)
    return np.asarray(wave / np.sqrt(np.mean(wave**2)))


def pattern_level_db(
    vehicle: VehicleSketch, tyre: TyreSketch, road: RoadSketch, speed_km_h: Series
) -> Series:
    """Return the level of the pattern at each speed, in dB re 20 uPa."""
    law_db = _SPEED_LAW_DB * np.log10(speed_km_h / REFERENCE_SPEED_KM_H)
    beside = (speed_km_h - tyre.whine_peak_km_h) / tyre.whine_peak_width_km_h
    peak_db = tyre.whine_peak_db * np.exp(-0.5 * beside**2)
    plain_db = vehicle.pattern_level_db + tyre.pattern_db + road.pattern_db
    return np.asarray(plain_db + law_db + peak_db)


def pattern_noise_pa(
    vehicle: VehicleSketch,
    tyre: TyreSketch,
    level_db: Series,
    travelled_m: Series,
    sample_rate_hz: int,
    rng: np.random.Generator,
) -> Series:
    """Return the pattern noise of four wheels at both ears, in pascal, shape (frames, 2).

    Parameters
    ----------
    level_db
        From `pattern_level_db`, shape (frames,).
    travelled_m
        Distance covered, in metres, shape (frames,).
    rng
        Decides at which angle each wheel starts.
    """
    wave = tread_wave(tyre)
    around = np.append(wave, wave[0])
    circumference_m = tyre_size(tyre.size).rolling_circumference_m
    paths = np.random.default_rng([vehicle.seed, 2])
    amplitude_pa = level_to_pa(0.0) * 10.0 ** (level_db / 20.0)
    pressure_pa = np.zeros((travelled_m.size, 2))
    shares = np.array(_WHEEL_SHARE) / np.linalg.norm(_WHEEL_SHARE)
    for share, radius in zip(shares, _WHEEL_RADIUS, strict=True):
        turn = travelled_m / (circumference_m * radius) + rng.random()
        place = (turn % 1.0) * _POINTS_PER_TURN
        out_of_round = 1.0 + 0.15 * np.sin(2.0 * np.pi * turn + paths.uniform(0.0, 6.28))
        sounded = np.interp(place, np.arange(_POINTS_PER_TURN + 1), around) * out_of_round
        for ear in range(2):
            heard = _through_cabin(sounded, sample_rate_hz, paths)
            pressure_pa[:, ear] += share * amplitude_pa * heard
    return pressure_pa


def _through_cabin(sound: Series, sample_rate_hz: int, rng: np.random.Generator) -> Series:
    """Add a few early reflections, different on every path, without changing the energy."""
    delays_s = np.concatenate([[0.0], np.sort(rng.uniform(0.0008, 0.009, 6))])
    sizes = np.exp(-delays_s / 0.004) * np.concatenate([[1.0], rng.uniform(-0.5, 0.5, 6)])
    heard = np.zeros_like(sound)
    for delay_s, size in zip(delays_s, sizes / np.linalg.norm(sizes), strict=True):
        late = round(delay_s * sample_rate_hz)
        heard[late:] += size * sound[: sound.size - late]
    return heard
