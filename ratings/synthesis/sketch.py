"""What an invented tyre, road and vehicle are made of, in decibels, metres and hertz."""

from dataclasses import dataclass
from typing import Literal

from ratings.errors import RatingsError

#: Every level in a sketch holds at this speed, in km/h, on a road with no offsets.
REFERENCE_SPEED_KM_H = 80.0

Part = Literal["ride", "boom", "rumble"]


class SketchError(RatingsError):
    """A sketch from which no sound can be made."""


@dataclass(frozen=True, slots=True)
class TyreSketch:
    """One invented tyre: its size and how far each part of its noise lies from the plain tyre's.

    Attributes
    ----------
    size
        Such as ``205/55R16``.
    boom_db, rumble_db, cavity_db, pattern_db, roar_db, hiss_db
        Change of one part against a tyre with all changes zero, in dB.
    pitch_count
        Tread pitches around the circumference.
    pitch_randomness
        0 makes all pitches alike, so that the whine is one tone; 1 uses four lengths, 0.86 to 1.14.
    pitch_seed
        Decides the sequence of pitch lengths.
    whine_peak_db, whine_peak_km_h, whine_peak_width_km_h
        A speed at which the pattern is louder than its own law, by how much (dB), and how wide the
        peak is (standard deviation, km/h). It makes a coast-down uneven.
    cavity_air_c
        Temperature of the air inside, in degrees Celsius.
    """

    name: str
    size: str = "205/55R16"
    boom_db: float = 0.0
    rumble_db: float = 0.0
    cavity_db: float = 0.0
    pattern_db: float = 0.0
    roar_db: float = 0.0
    hiss_db: float = 0.0
    pitch_count: int = 64
    pitch_randomness: float = 1.0
    pitch_seed: int = 1
    whine_peak_db: float = 0.0
    whine_peak_km_h: float = 60.0
    whine_peak_width_km_h: float = 4.0
    cavity_air_c: float = 20.0

    def __post_init__(self) -> None:
        if self.pitch_count < 1:
            raise SketchError(
                f"Tyre {self.name} has {self.pitch_count} pitches.", "Give at least one pitch."
            )
        if not 0.0 <= self.pitch_randomness <= 1.0:
            raise SketchError(
                f"Tyre {self.name} has pitch randomness {self.pitch_randomness:g}.",
                "Give a number from 0 to 1.",
            )
        if self.whine_peak_width_km_h <= 0:
            raise SketchError(
                f"Tyre {self.name} has a whine peak {self.whine_peak_width_km_h:g} km/h wide.",
                "Give a width above zero.",
            )


@dataclass(frozen=True, slots=True)
class RoadSketch:
    """One invented surface; the same seed is always the same road, bump for bump.

    Attributes
    ----------
    texture_db
        Drive at 4.5 cycles per metre (100 Hz at 80 km/h) against the reference surface, in dB.
    tilt_db_per_octave
        How much faster than on the reference surface the drive falls with wavenumber, in dB per
        octave; negative for a surface that is smooth at short wavelengths.
    wander_db
        Standard deviation of the slow level wander over some 8 to 60 m, in dB.
    patch_db, patch_m
        Standard deviation of the level step from patch to patch, in dB, and mean length, in m.
    edge_m
        How strong patch edges are: the length of road, in m, that carries as much energy as one.
    roar_db, hiss_db, pattern_db
        Change of the airborne parts on this surface, in dB.
    """

    name: str
    seed: int
    texture_db: float = 0.0
    tilt_db_per_octave: float = 0.0
    wander_db: float = 1.0
    patch_db: float = 1.0
    patch_m: float = 9.0
    edge_m: float = 1.0
    roar_db: float = 0.0
    hiss_db: float = 0.0
    pattern_db: float = 0.0


@dataclass(frozen=True, slots=True)
class BodyMode:
    """One resonance of body and cabin air, with the level that it alone gives at the ears.

    Attributes
    ----------
    damping_ratio
        Fraction of critical damping, 0 to 1.
    level_db
        Level of this mode alone at 80 km/h on the reference surface, mean over the ears, in dB.
    part
        Which of a tyre's gains reaches it; a ride mode is reached by none.
    """

    frequency_hz: float
    damping_ratio: float
    level_db: float
    part: Part


@dataclass(frozen=True, slots=True)
class VehicleSketch:
    """One invented vehicle: how what happens at the four wheels reaches two ears.

    Attributes
    ----------
    modes
        Structure-borne resonances.
    cavity_level_db, pattern_level_db, roar_level_db, hiss_level_db, wind_level_db
        Level of each part alone at 80 km/h on the reference surface with a plain tyre, in dB.
    seed
        Decides how strongly each wheel reaches each mode and each ear.
    """

    name: str
    wheelbase_m: float
    modes: tuple[BodyMode, ...]
    cavity_level_db: float
    pattern_level_db: float
    roar_level_db: float
    hiss_level_db: float
    wind_level_db: float
    seed: int
