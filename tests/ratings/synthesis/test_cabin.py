from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from ratings.synthesis.alder_wagon import ALDER_WAGON, COARSE_ASPHALT, SMOOTH_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.cavity import cavity_lines_hz
from ratings.synthesis.sketch import RoadSketch, SketchError, TyreSketch

# Recordings of half a minute are made and measured.
pytestmark = pytest.mark.slow

TYRE = TyreSketch("plain")
RATE_HZ = 12_000
Drive = Callable[[TyreSketch, RoadSketch, float], Any]
ROADS = pytest.mark.parametrize(
    ("road", "speed_km_h"), [(COARSE_ASPHALT, 80.0), (SMOOTH_ASPHALT, 100.0)]
)


@ROADS
def test_that_a_cavity_line_lowered_by_4_db_reads_4_db_in_the_line_and_less_in_the_band(
    drive: Drive, road: RoadSketch, speed_km_h: float
) -> None:
    before = drive(TYRE, road, speed_km_h)
    after = drive(replace(TYRE, cavity_db=-4.0), road, speed_km_h)
    lines = cavity_lines_hz(TYRE.size, np.array([speed_km_h]))
    for line_hz in (lines.lower_hz[0], lines.upper_hz[0]):
        fall_db = before.line_db(line_hz, 5, (9, 26)) - after.line_db(line_hz, 5, (9, 26))
        assert fall_db == pytest.approx(4.0, abs=0.3)
    in_band_db = before.band_db(100, 300) - after.band_db(100, 300)
    assert 0.3 < in_band_db < 2.0


@ROADS
def test_that_a_boom_lowered_by_4_db_reads_4_db_at_its_modes_and_less_in_the_band(
    drive: Drive, road: RoadSketch, speed_km_h: float
) -> None:
    before = drive(TYRE, road, speed_km_h)
    after = drive(replace(TYRE, boom_db=-4.0), road, speed_km_h)
    assert before.band_db(31, 37) - after.band_db(31, 37) == pytest.approx(4.0, abs=0.3)
    assert 2.0 < before.band_db(20, 100) - after.band_db(20, 100) < 3.9


@ROADS
def test_that_a_whine_raised_by_5_db_reads_5_db_in_its_orders(
    drive: Drive, road: RoadSketch, speed_km_h: float
) -> None:
    before = drive(TYRE, road, speed_km_h)
    after = drive(replace(TYRE, pattern_db=5.0), road, speed_km_h)
    turns_per_s = speed_km_h / 3.6 / (3.05 * 0.6319)
    orders = [order for order in range(56, 74) if _stands_out(before, order * turns_per_s)]
    rises_db = [
        after.line_db(order * turns_per_s, 2.5, (4, 7))
        - before.line_db(order * turns_per_s, 2.5, (4, 7))
        for order in orders
    ]
    assert len(orders) >= 3
    assert np.mean(rises_db) == pytest.approx(5.0, abs=0.3)


def _stands_out(density: Any, line_hz: float) -> bool:
    beside = np.abs(density.hz - line_hz)
    floor = density.pa2[(beside > 4) & (beside < 7)].mean()
    return bool(density.pa2[beside <= 2.5].max() > 10.0 * floor)


@ROADS
def test_that_hiss_lowered_by_4_db_reads_4_db_between_2_and_4_khz(
    drive: Drive, road: RoadSketch, speed_km_h: float
) -> None:
    before = drive(TYRE, road, speed_km_h)
    after = drive(replace(TYRE, hiss_db=-4.0), road, speed_km_h)
    assert before.band_db(2000, 4000) - after.band_db(2000, 4000) == pytest.approx(4.0, abs=0.3)


def test_that_rumble_lowered_by_3_db_lowers_the_structure_borne_band_by_less(drive: Drive) -> None:
    before = drive(TYRE, COARSE_ASPHALT, 80.0)
    after = drive(replace(TYRE, rumble_db=-3.0), COARSE_ASPHALT, 80.0)
    assert before.band_db(270, 340) - after.band_db(270, 340) == pytest.approx(3.0, abs=0.3)
    assert 1.0 < before.band_db(100, 400) - after.band_db(100, 400) < 2.5


def test_that_tyre_noise_grows_by_25_to_40_db_per_decade_of_speed(drive: Drive) -> None:
    slow, fast = drive(TYRE, COARSE_ASPHALT, 50.0), drive(TYRE, COARSE_ASPHALT, 100.0)
    for low_hz, high_hz in ((20, 100), (100, 400), (1000, 4000)):
        rise_db = fast.band_db(low_hz, high_hz) - slow.band_db(low_hz, high_hz)
        assert 22.0 < rise_db / np.log10(2.0) < 42.0


def test_that_one_road_driven_twice_sounds_alike_but_is_not_the_same_samples() -> None:
    speed = np.full(4 * RATE_HZ, 80.0)
    once, twice, other = (
        cabin_pressure_pa(
            ALDER_WAGON, TYRE, COARSE_ASPHALT, speed, RATE_HZ, np.random.default_rng(seed)
        )
        for seed in (1, 1, 2)
    )
    assert np.array_equal(once, twice)
    assert not np.allclose(once, other)
    assert 20 * np.log10(once.std() / other.std()) == pytest.approx(0.0, abs=1.5)


@pytest.mark.parametrize("speed", [np.array([]), np.zeros(100), np.full(100, np.nan)])
def test_that_a_speed_that_nobody_can_drive_is_refused(speed: np.ndarray) -> None:
    with pytest.raises(SketchError, match="speed trace"):
        cabin_pressure_pa(
            ALDER_WAGON, TYRE, COARSE_ASPHALT, speed, RATE_HZ, np.random.default_rng(1)
        )


def test_that_a_sample_rate_too_low_for_tyre_noise_is_refused() -> None:
    with pytest.raises(SketchError, match="sample rate"):
        cabin_pressure_pa(
            ALDER_WAGON, TYRE, COARSE_ASPHALT, np.full(100, 80.0), 4000, np.random.default_rng(1)
        )
