"""Structure-borne noise: the drive at four wheels through the resonances of the body."""

import numpy as np

from ratings.study.constants import KM_H_PER_M_S, REFERENCE_PRESSURE_PA
from ratings.synthesis.road import (
    REFERENCE_SPEED_M_S,
    along,
    contact_gain,
)
from ratings.synthesis.sketch import (
    REFERENCE_SPEED_KM_H,
    BodyMode,
    Part,
    TyreSketch,
    VehicleSketch,
)
from ratings.synthesis.speed import Series

#: Level of the drive over log speed beyond the 10 dB per decade that the road itself gives.
#: With what the contact patch passes on, structure-borne noise then follows 25 to 40 log v
#: (common practice, no source).
_SPEED_LAW_DB = 14.0
_EARS_ALIKE_BELOW_HZ = 180.0
_REAR_SHARE = 0.85


def wheel_drive(
    vehicle: VehicleSketch, tracks: Series, position_m: Series, speed_km_h: Series
) -> Series:
    """Return the drive at front left, front right, rear left, rear right, shape (4, frames).

    Parameters
    ----------
    tracks
        The `slope` or the `bending` of a road, shape (2, points).
    position_m, speed_km_h
        Where the front axle is and how fast, shape (frames,).

    Notes
    -----
    The rear axle meets the same bumps one wheelbase later, which combs the spectrum. At 80 km/h on
    the reference surface the one-sided density of each is the squared contact gain, per hertz.
    """
    front = along(tracks, position_m)
    rear = along(tracks, position_m - vehicle.wheelbase_m)
    law = (speed_km_h / REFERENCE_SPEED_KM_H) ** (_SPEED_LAW_DB / 20.0)
    return np.asarray(np.vstack([front, rear]) * law * speed_km_h / KM_H_PER_M_S)


def structure_borne_pa(
    vehicle: VehicleSketch, tyre: TyreSketch, drive: Series, sample_rate_hz: int
) -> Series:
    """Return the sound of all body modes at both ears, in pascal, shape (frames, 2)."""
    from scipy.signal import lfilter

    gain_db: dict[Part, float] = {"ride": 0.0, "boom": tyre.boom_db, "rumble": tyre.rumble_db}
    rng = np.random.default_rng(vehicle.seed)
    pressure_pa = np.zeros((2, drive.shape[1]))
    for mode in vehicle.modes:
        wheels, ears = _mode_shape(mode, rng)
        poles = _poles(mode, sample_rate_hz)
        answer = lfilter([float(poles.sum())], poles, wheels @ drive)
        level_pa = level_to_pa(mode.level_db + gain_db[mode.part])
        pressure_pa += np.outer(ears * level_pa / _rms_at_reference(mode), answer)
    return pressure_pa.T


def level_to_pa(level_db: float) -> float:
    """Turn a level in dB re 20 uPa into pascal rms."""
    return float(REFERENCE_PRESSURE_PA * 10.0 ** (level_db / 20.0))


def drive_density(frequency_hz: float) -> float:
    """One-sided density of the reference drive at 80 km/h, per hertz."""
    return float(contact_gain(frequency_hz / REFERENCE_SPEED_M_S) ** 2)


def _mode_shape(mode: BodyMode, rng: np.random.Generator) -> tuple[Series, Series]:
    """Share of each wheel and sign and size at each ear; below 60 Hz the cabin breathes as one."""
    wheels = np.abs(1.0 + 0.35 * rng.standard_normal(4)) * [1.0, 1.0, _REAR_SHARE, _REAR_SHARE]
    signs = rng.choice([-1.0, 1.0], 4)
    if mode.frequency_hz > 60.0:
        wheels = wheels * signs
    alike = np.exp(-((mode.frequency_hz / _EARS_ALIKE_BELOW_HZ) ** 2))
    left, own = rng.uniform(0.75, 1.25) * rng.choice([-1.0, 1.0]), rng.choice([-1.0, 1.0])
    ears = np.array([left, alike * left + np.sqrt(1.0 - alike**2) * own])
    return wheels / np.linalg.norm(wheels), ears / np.sqrt(np.mean(ears**2))


def _poles(mode: BodyMode, sample_rate_hz: int) -> Series:
    """Denominator of the mode with its poles mapped exactly; divided by its sum, 1 at 0 Hz."""
    turn = 2.0 * np.pi * mode.frequency_hz / sample_rate_hz
    radius = np.exp(-mode.damping_ratio * turn)
    angle = turn * np.sqrt(1.0 - mode.damping_ratio**2)
    return np.array([1.0, -2.0 * radius * np.cos(angle), radius**2])


def _rms_at_reference(mode: BodyMode) -> float:
    """Root mean square of the filter's answer to the reference drive.

    A resonator with gain 1 at 0 Hz passes pi f / (4 zeta) hertz of a flat density.
    """
    bandwidth_hz = np.pi * mode.frequency_hz / (4.0 * mode.damping_ratio)
    return float(np.sqrt(drive_density(mode.frequency_hz) * bandwidth_hz))
