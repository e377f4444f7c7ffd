import numpy as np
import pytest

from ratings.synthesis.alder_wagon import ALDER_WAGON
from ratings.synthesis.cavity import (
    LINE_WIDTH_HZ,
    LOAD_SPLIT_HZ,
    cavity_lines_hz,
    cavity_ring_pa,
)
from ratings.synthesis.sketch import TyreSketch

RATE_HZ = 6000


@pytest.mark.parametrize(("air_c", "expected_hz"), [(20.0, 210.0), (50.0, 221.0)])
def test_that_a_tyre_at_rest_rings_where_the_published_formula_says(
    air_c: float, expected_hz: float
) -> None:
    # 210 Hz at 20 C and 221 Hz at 50 C for 205/55R16: from memory; formula SAE 2009-01-2104.
    lines = cavity_lines_hz("205/55R16", np.zeros(1), air_c)
    assert (lines.lower_hz + lines.upper_hz)[0] / 2 == pytest.approx(expected_hz, abs=1.0)
    assert (lines.upper_hz - lines.lower_hz)[0] == pytest.approx(LOAD_SPLIT_HZ)


def test_that_the_pair_parts_by_once_the_wheels_turning_to_either_side() -> None:
    lines = cavity_lines_hz("205/55R16", np.array([80.0]))
    # 11.5 turns a second at 80 km/h (shared trade notes, 2.4).
    assert (lines.upper_hz - lines.lower_hz)[0] == pytest.approx(2 * 11.5 + LOAD_SPLIT_HZ, abs=0.3)


def test_that_one_edge_rings_down_by_60_db_in_the_time_its_width_gives() -> None:
    drive = np.zeros((4, 2 * RATE_HZ))
    drive[0, 100] = 1.0
    speed = np.full(2 * RATE_HZ, 80.0)
    sound = cavity_ring_pa(ALDER_WAGON, TyreSketch("plain"), drive, speed, RATE_HZ)[:, 0]
    # Two lines beat, so the envelope is read from energies of whole beats (27 a second).
    beat = round(RATE_HZ / (2 * 11.53 + LOAD_SPLIT_HZ))
    energy_db = [10 * np.log10(np.sum(sound[k : k + beat] ** 2)) for k in (200, 200 + 8 * beat)]
    fall_db_per_s = (energy_db[0] - energy_db[1]) / (8 * beat / RATE_HZ)
    # A line of half-power width B decays as exp(-pi B t): 60 dB in 2.2 / B seconds.
    assert 60.0 / fall_db_per_s == pytest.approx(2.2 / LINE_WIDTH_HZ, rel=0.05)


def test_that_the_lines_come_together_as_the_car_slows() -> None:
    rng = np.random.default_rng(3)
    drive = rng.standard_normal((4, 20 * RATE_HZ))
    for speed_km_h in (40.0, 100.0):
        speed = np.full(20 * RATE_HZ, speed_km_h)
        sound = cavity_ring_pa(ALDER_WAGON, TyreSketch("plain"), drive, speed, RATE_HZ)[:, 0]
        power = np.abs(np.fft.rfft(sound.reshape(20, -1) * np.hanning(RATE_HZ), axis=1)) ** 2
        hz, power = np.fft.rfftfreq(RATE_HZ, 1 / RATE_HZ), power.mean(axis=0)
        lines = cavity_lines_hz("205/55R16", np.array([speed_km_h]))
        middle = (lines.lower_hz[0] + lines.upper_hz[0]) / 2
        below = (hz > 170) & (hz < middle)
        above = (hz > middle) & (hz < 250)
        assert hz[below][np.argmax(power[below])] == pytest.approx(lines.lower_hz[0], abs=2.0)
        assert hz[above][np.argmax(power[above])] == pytest.approx(lines.upper_hz[0], abs=2.0)
