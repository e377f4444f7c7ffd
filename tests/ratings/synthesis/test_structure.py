from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import coherence

from ratings.synthesis.alder_wagon import ALDER_WAGON
from ratings.synthesis.road import laid_road
from ratings.synthesis.sketch import BodyMode, RoadSketch, TyreSketch
from ratings.synthesis.structure import structure_borne_pa, wheel_drive

RATE_HZ = 6000
PLAIN = RoadSketch("plain", seed=7, wander_db=0.01, patch_db=0.0, edge_m=0.0)
TYRE = TyreSketch("plain")


def driven(modes: tuple[BodyMode, ...], tyre: TyreSketch = TYRE) -> np.ndarray:
    vehicle = replace(ALDER_WAGON, modes=modes)
    speed = np.full(30 * RATE_HZ, 80.0)
    position = np.arange(speed.size) * 80 / 3.6 / RATE_HZ
    drive = wheel_drive(vehicle, laid_road(PLAIN).slope, position, speed)
    return structure_borne_pa(vehicle, tyre, drive, RATE_HZ)


@pytest.mark.parametrize("frequency_hz", [34.0, 100.0, 300.0])
def test_that_one_mode_alone_is_as_loud_as_its_sketch_says(frequency_hz: float) -> None:
    sound = driven((BodyMode(frequency_hz, 0.05, 70.0, "rumble"),))
    # Wheels that move together at low frequency add in phase, so the level is met within 1.5 dB.
    assert 10 * np.log10(np.mean(sound**2) / 4e-10) == pytest.approx(70.0, abs=1.5)


def test_that_only_the_gain_of_its_own_part_reaches_a_mode() -> None:
    changed = TyreSketch("changed", boom_db=-4.0, rumble_db=3.0)
    for part, change_db in (("ride", 0.0), ("boom", -4.0), ("rumble", 3.0)):
        mode = (BodyMode(80.0, 0.05, 70.0, part),)
        ratio = np.mean(driven(mode, changed) ** 2) / np.mean(driven(mode) ** 2)
        assert 10 * np.log10(ratio) == pytest.approx(change_db, abs=1e-6)


def test_that_the_rear_axle_repeats_the_front_one_wheelbase_later() -> None:
    speed = np.full(4 * RATE_HZ, 90.0)
    position = np.arange(speed.size) * 25.0 / RATE_HZ
    drive = wheel_drive(ALDER_WAGON, laid_road(PLAIN).slope, position, speed)
    late = ALDER_WAGON.wheelbase_m / 25.0 * RATE_HZ
    front, rear = np.fft.rfft(drive[[0, 2]], n=2 * speed.size)
    assert np.argmax(np.fft.irfft(rear * front.conj())) == pytest.approx(late, abs=1.0)


def test_that_the_ears_agree_on_boom_and_less_on_rumble() -> None:
    sound = driven(ALDER_WAGON.modes)
    hz, shared = coherence(sound[:, 0], sound[:, 1], RATE_HZ, nperseg=RATE_HZ)
    assert shared[(hz > 25) & (hz < 55)].mean() > 0.9
    assert shared[(hz > 250) & (hz < 420)].mean() < 0.7
