"""The invented study that the program opens with: sets, conditions, differences, recordings."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ratings.study.sets import Manoeuvre
from ratings.synthesis.alder_wagon import ALDER_WAGON, COARSE_ASPHALT, SMOOTH_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.sketch import RoadSketch, SketchError, TyreSketch, VehicleSketch
from ratings.synthesis.speed import (
    Series,
    coast_down_speed_km_h,
    per_sample,
    steady_speed_km_h,
)

SAMPLE_RATE_HZ = 48_000
#: Sound pressure of a sample of 1.0 when the recordings are written; nothing comes near it.
PA_PER_FULL_SCALE = 20.0
#: Scatter of further runs around the first, as standard deviations: gain of the day in dB (seats,
#: wind, temperature) and the speed that the driver holds, in km/h. Common practice, no source.
RUN_SCATTER_DB = 0.2
RUN_SCATTER_KM_H = 0.3


@dataclass(frozen=True, slots=True)
class SampleSet:
    """A set of tyres of the sample study, with what was done to it in words."""

    name: str
    is_control: bool
    tyre: TyreSketch
    note: str


@dataclass(frozen=True, slots=True)
class SampleCondition:
    """A surface driven over in one manoeuvre; speeds in km/h, duration of the recording in s."""

    key: str
    road: RoadSketch
    manoeuvre: Manoeuvre
    speed_km_h: float
    end_speed_km_h: float | None
    duration_s: float


class Recorded(NamedTuple):
    """Sound pressure in pascal, shape (frames, 2), left ear first, and its sample rate in hertz."""

    pressure_pa: Series
    sample_rate_hz: int


@dataclass(frozen=True, slots=True)
class SampleStudy:
    """The whole invented study as plain data."""

    name: str
    vehicle: VehicleSketch
    maker: str
    sets: tuple[SampleSet, ...]
    conditions: tuple[SampleCondition, ...]
    seed: int

    def set_named(self, name: str) -> SampleSet:
        """Find a set by its name."""
        for each in self.sets:
            if each.name == name:
                return each
        raise SketchError(f"The sample study has no set {name}.", "Its sets are in `sets`.")

    def condition_keyed(self, key: str) -> SampleCondition:
        """Find a condition by its key."""
        for each in self.conditions:
            if each.key == key:
                return each
        raise SketchError(
            f"The sample study has no condition {key}.", "Its conditions are in `conditions`."
        )


def attribute_changes_db(tyre: TyreSketch) -> dict[str, float]:
    """Say by how many dB a tyre differs from the plain one in the part behind each attribute."""
    return {
        "boom": tyre.boom_db,
        "rumble": tyre.rumble_db,
        "cavity_ring": tyre.cavity_db,
        "pattern_whine": tyre.pattern_db,
        "hiss": tyre.hiss_db,
        "evenness": tyre.whine_peak_db,
    }


def speed_trace_km_h(
    study: SampleStudy, set_name: str, condition_key: str, number: int = 1
) -> Series:
    """Return the speed trace of a run, one value every 10 ms, in km/h; runs count from 1."""
    condition = study.condition_keyed(condition_key)
    return _trace(condition, _chances(study, set_name, condition_key, number))


def recording(study: SampleStudy, set_name: str, condition_key: str, number: int = 1) -> Recorded:
    """Make one run of a set in a condition; the same call gives the same samples.

    Runs count from 1. Each has its own start, wind and foot on the pedal; those after the first
    scatter in level and speed too, as real repeats do.
    """
    condition = study.condition_keyed(condition_key)
    chances = _chances(study, set_name, condition_key, number)
    speed_km_h = per_sample(_trace(condition, chances), SAMPLE_RATE_HZ)
    tyre = study.set_named(set_name).tyre
    pressure_pa = cabin_pressure_pa(
        study.vehicle, tyre, condition.road, speed_km_h, SAMPLE_RATE_HZ, chances.road
    )
    return Recorded(pressure_pa * 10.0 ** (chances.level_db / 20.0), SAMPLE_RATE_HZ)


class _Chances(NamedTuple):
    """What differs from run to run: the foot on the pedal, start and wind, speed and level."""

    driver: np.random.Generator
    road: np.random.Generator
    speed_km_h: float
    level_db: float


def _chances(study: SampleStudy, set_name: str, condition_key: str, number: int) -> _Chances:
    place = study.sets.index(study.set_named(set_name))
    condition = study.conditions.index(study.condition_keyed(condition_key))
    further = [] if number == 1 else [number]
    seeds = np.random.SeedSequence([study.seed, place, condition, *further]).spawn(3)
    driver, road, day = (np.random.default_rng(seed) for seed in seeds)
    if number == 1:
        return _Chances(driver, road, 0.0, 0.0)
    return _Chances(driver, road, RUN_SCATTER_KM_H * day.normal(), RUN_SCATTER_DB * day.normal())


def _trace(condition: SampleCondition, chances: _Chances) -> Series:
    if condition.end_speed_km_h is None:
        held_km_h = condition.speed_km_h + chances.speed_km_h
        return steady_speed_km_h(held_km_h, condition.duration_s, chances.driver)
    return coast_down_speed_km_h(
        condition.speed_km_h, condition.end_speed_km_h, condition.duration_s
    )


SAMPLE_STUDY = SampleStudy(
    name="Four sets on the Alder wagon (invented)",
    vehicle=ALDER_WAGON,
    maker="Hollowmere Rubber Works (invented)",
    sets=(
        SampleSet("Maple", True, TyreSketch("Maple"), "control; the plain tyre"),
        SampleSet(
            "Birch",
            False,
            TyreSketch("Birch", cavity_db=-5.0),
            "cavity treatment: the line is 5 dB lower",
        ),
        SampleSet(
            "Larch",
            False,
            TyreSketch("Larch", rumble_db=-3.0, boom_db=1.5, hiss_db=1.0),
            "softer sidewall: rumble 3 dB lower, boom 1.5 dB and hiss 1 dB higher",
        ),
        SampleSet(
            "Rowan",
            False,
            TyreSketch(
                "Rowan",
                pattern_db=5.0,
                hiss_db=-2.0,
                whine_peak_db=6.0,
                whine_peak_km_h=59.0,
                whine_peak_width_km_h=3.0,
            ),
            "open pattern: whine 5 dB higher with 6 dB more near 59 km/h, hiss 2 dB lower",
        ),
    ),
    conditions=(
        SampleCondition("coarse_80", COARSE_ASPHALT, "steady", 80.0, None, 10.0),
        SampleCondition("smooth_100", SMOOTH_ASPHALT, "steady", 100.0, None, 10.0),
        SampleCondition("coast_80_40", SMOOTH_ASPHALT, "coast-down", 80.0, 40.0, 12.0),
    ),
    seed=2046,
)
