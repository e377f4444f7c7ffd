import numpy as np
import pytest
from scipy.signal import coherence, welch

from ratings.synthesis.airborne import (
    HISS,
    ROAR,
    WIND,
    NoiseColour,
    airborne_amplitude_pa,
    coloured_noise,
    gusts_db,
)

RATE_HZ = 16_000


@pytest.mark.parametrize("colour", [ROAR, HISS, WIND])
def test_that_a_colour_comes_with_unit_power_at_each_ear(colour: NoiseColour) -> None:
    noise = coloured_noise(colour, 20 * RATE_HZ, RATE_HZ, np.random.default_rng(1))
    assert np.sqrt(np.mean(noise**2, axis=0)) == pytest.approx([1.0, 1.0], rel=0.05)


def test_that_the_hiss_lies_between_one_and_four_kilohertz() -> None:
    noise = coloured_noise(HISS, 10 * RATE_HZ, RATE_HZ, np.random.default_rng(1))
    hz, power = welch(noise[:, 0], RATE_HZ, nperseg=RATE_HZ)
    assert power[(hz >= 900) & (hz < 4000)].sum() / power.sum() > 0.85


def test_that_the_ears_hear_the_same_noise_only_where_the_wave_is_long() -> None:
    noise = coloured_noise(WIND, 20 * RATE_HZ, RATE_HZ, np.random.default_rng(1))
    hz, shared = coherence(noise[:, 0], noise[:, 1], RATE_HZ, nperseg=RATE_HZ)
    # sin(kd)/(kd) squared, d = 0.18 m: 0.86 at 200 Hz and under 0.05 from 1 kHz on.
    assert shared[(hz > 150) & (hz < 250)].mean() == pytest.approx(0.86, abs=0.06)
    assert shared[(hz > 1000) & (hz < 4000)].mean() < 0.1


def test_that_wind_grows_with_the_sixth_power_of_speed() -> None:
    slow, fast = airborne_amplitude_pa(WIND, 60.0, np.array([60.0, 120.0]))
    assert (fast / slow) ** 2 == pytest.approx(2.0**6)
    assert airborne_amplitude_pa(WIND, 93.979, np.array([80.0]))[0] == pytest.approx(1.0, rel=1e-4)


def test_that_gusts_rise_and_fall_slowly() -> None:
    level = gusts_db(60 * RATE_HZ, RATE_HZ, np.random.default_rng(4))
    assert 0.8 < level.std() < 1.7
    assert np.abs(np.diff(level)).max() * RATE_HZ * 0.01 < 0.25
