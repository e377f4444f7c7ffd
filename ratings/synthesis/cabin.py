"""All parts of the invented noise together, at the two ears of the driver."""

import numpy as np

from ratings.synthesis.airborne import (
    HISS,
    ROAR,
    WIND,
    NoiseColour,
    airborne_amplitude_pa,
    coloured_noise,
    gusts_db,
)
from ratings.synthesis.cavity import cavity_ring_pa
from ratings.synthesis.pattern import pattern_level_db, pattern_noise_pa
from ratings.synthesis.road import along, laid_road
from ratings.synthesis.sketch import RoadSketch, SketchError, TyreSketch, VehicleSketch
from ratings.synthesis.speed import Series, distance_m
from ratings.synthesis.structure import structure_borne_pa, wheel_drive

#: Nobody starts a recording on the same centimetre twice.
START_SCATTER_M = 6.0
#: Time for the resonances to swing in before the recording starts.
_RUN_UP_S = 0.8
#: How much of the road's patches and wander shows in the airborne parts.
_AIRBORNE_SHARE = 0.6
#: The driver's left ear is nearer to the side window: level of airborne noise, left and right.
_EAR_GAIN = 10.0 ** (np.array([0.8, -0.8]) / 20.0)


def cabin_pressure_pa(
    vehicle: VehicleSketch,
    tyre: TyreSketch,
    road: RoadSketch,
    speed_km_h: Series,
    sample_rate_hz: int,
    rng: np.random.Generator,
) -> Series:
    """Return sound pressure at the left and the right ear, in pascal, shape (frames, 2).

    Parameters
    ----------
    speed_km_h
        One value per sample, above zero, in km/h.
    rng
        What differs from run to run: where on the road it starts, wheel angles, wind, the grain of
        the airborne noise. The road itself comes from the sketch and is the same in every run, and
        equal generators give runs that differ by the sketches alone.

    Raises
    ------
    SketchError
        When there is no speed to drive at, or a sample rate below 8 kHz.
    """
    _refuse_unusable(speed_km_h, sample_rate_hz)
    run_up = round(_RUN_UP_S * sample_rate_hz)
    speed_km_h = np.concatenate([np.full(run_up, speed_km_h[0]), speed_km_h])
    travelled_m = distance_m(speed_km_h, sample_rate_hz)
    position_m = travelled_m + rng.uniform(0.0, START_SCATTER_M)
    surface = laid_road(road)
    shaken = wheel_drive(vehicle, surface.slope, position_m, speed_km_h)
    pressure_pa = structure_borne_pa(vehicle, tyre, shaken, sample_rate_hz)
    bent = wheel_drive(vehicle, surface.bending, position_m, speed_km_h)
    pressure_pa += cavity_ring_pa(vehicle, tyre, bent, speed_km_h, sample_rate_hz)
    texture_db = _AIRBORNE_SHARE * along(surface.level_db, position_m)
    whine_db = texture_db + pattern_level_db(vehicle, tyre, road, speed_km_h)
    pressure_pa += pattern_noise_pa(vehicle, tyre, whine_db, travelled_m, sample_rate_hz, rng)
    pressure_pa += _airborne_pa(vehicle, tyre, road, speed_km_h, texture_db, sample_rate_hz, rng)
    return np.asarray(pressure_pa[run_up:])


def _airborne_pa(
    vehicle: VehicleSketch,
    tyre: TyreSketch,
    road: RoadSketch,
    speed_km_h: Series,
    texture_db: Series,
    sample_rate_hz: int,
    rng: np.random.Generator,
) -> Series:
    frames = speed_km_h.size
    roar_db = vehicle.roar_level_db + tyre.roar_db + road.roar_db
    hiss_db = vehicle.hiss_level_db + tyre.hiss_db + road.hiss_db
    blow_db = gusts_db(frames, sample_rate_hz, rng)
    parts: tuple[tuple[NoiseColour, float, Series], ...] = (
        (ROAR, roar_db, texture_db),
        (HISS, hiss_db, texture_db),
        (WIND, vehicle.wind_level_db, blow_db),
    )
    pressure_pa = np.zeros((frames, 2))
    for colour, level_db, moving_db in parts:
        noise = coloured_noise(colour, frames, sample_rate_hz, rng, vehicle.seed)
        amplitude_pa = airborne_amplitude_pa(colour, level_db, speed_km_h)
        pressure_pa += noise * (amplitude_pa * 10.0 ** (moving_db / 20.0))[:, np.newaxis]
    return pressure_pa * _EAR_GAIN


def _refuse_unusable(speed_km_h: Series, sample_rate_hz: int) -> None:
    if sample_rate_hz < 8000:
        raise SketchError(
            f"A sample rate of {sample_rate_hz} Hz cannot carry tyre noise.",
            "Ask for 8000 Hz or more.",
        )
    if speed_km_h.ndim != 1 or speed_km_h.size == 0:
        raise SketchError("There is no speed trace.", "Give one speed per sample.")
    if not (np.isfinite(speed_km_h).all() and (speed_km_h > 0.0).all()):
        raise SketchError(
            "The speed trace has a standstill or a gap in it.", "Give speeds above zero only."
        )
