from dataclasses import replace

import numpy as np
import pytest

from ratings.synthesis.alder_wagon import ALDER_WAGON, SMOOTH_ASPHALT
from ratings.synthesis.pattern import (
    pattern_level_db,
    pattern_noise_pa,
    pitch_starts,
    tread_wave,
)
from ratings.synthesis.sketch import TyreSketch

RATE_HZ = 12_000
TYRE = TyreSketch("plain")


def sounded(tyre: TyreSketch, speed_km_h: float, duration_s: int = 4) -> np.ndarray:
    speed = np.full(duration_s * RATE_HZ, speed_km_h)
    travelled = np.arange(speed.size) * speed_km_h / 3.6 / RATE_HZ
    level = pattern_level_db(ALDER_WAGON, tyre, SMOOTH_ASPHALT, speed)
    rng = np.random.default_rng(2)
    return pattern_noise_pa(ALDER_WAGON, tyre, level, travelled, RATE_HZ, rng)


def test_that_pitches_go_once_round_the_tyre_in_four_lengths() -> None:
    lengths = np.diff(np.append(pitch_starts(TYRE), 1.0))
    assert lengths.size == TYRE.pitch_count
    assert lengths.sum() == pytest.approx(1.0)
    assert np.unique(np.round(lengths, 9)).size == 4
    assert lengths.max() / lengths.min() == pytest.approx(1.14 / 0.86)


def test_that_equal_pitches_sound_one_tone_and_unequal_ones_spread() -> None:
    def share_of_the_pitch_order(randomness: float) -> float:
        wave = tread_wave(replace(TYRE, pitch_randomness=randomness))
        power = np.abs(np.fft.rfft(wave)) ** 2
        return float(power[TYRE.pitch_count] / power.sum())

    assert share_of_the_pitch_order(0.0) > 0.95
    assert share_of_the_pitch_order(1.0) < 0.3


@pytest.mark.parametrize(("speed_km_h", "tabled_hz"), [(40, 404), (80, 808), (120, 1212)])
def test_that_70_pitches_sound_where_the_trade_table_puts_them(
    speed_km_h: float, tabled_hz: float
) -> None:
    # Shared trade notes, 2.4: 70 pitches on 205/55R16, computed elsewhere, rough to 5 %.
    sound = sounded(replace(TYRE, pitch_count=70, pitch_randomness=0.0), speed_km_h)[:, 0]
    power = np.abs(np.fft.rfft(sound * np.hanning(sound.size)))
    loudest_hz = np.fft.rfftfreq(sound.size, 1 / RATE_HZ)[np.argmax(power)]
    assert loudest_hz == pytest.approx(tabled_hz, rel=0.05)


def test_that_64_pitches_at_80_km_h_sound_at_738_hz() -> None:
    # Shared acoustics notes: 64 pitches, 80 km/h, 205/55R16: 738 Hz.
    sound = sounded(replace(TYRE, pitch_randomness=0.0), 80.0)[:, 0]
    power = np.abs(np.fft.rfft(sound * np.hanning(sound.size)))
    assert np.argmax(power) / 4 == pytest.approx(738.0, abs=2.0)


def test_that_the_level_follows_35_log_v_and_the_peak_stays_at_its_speed() -> None:
    speed = np.array([40.0, 59.0, 80.0])
    plain = pattern_level_db(ALDER_WAGON, TYRE, SMOOTH_ASPHALT, speed)
    assert plain[2] - plain[0] == pytest.approx(35 * np.log10(2))
    peaked = replace(TYRE, whine_peak_db=6.0, whine_peak_km_h=59.0, whine_peak_width_km_h=3.0)
    more = pattern_level_db(ALDER_WAGON, peaked, SMOOTH_ASPHALT, speed) - plain
    assert more == pytest.approx([0.0, 6.0, 0.0], abs=0.01)


def test_that_the_whine_beats_because_the_wheels_differ() -> None:
    sound = sounded(replace(TYRE, pitch_randomness=0.0), 80.0, duration_s=8)[:, 0]
    blocks = sound.reshape(80, -1)
    level_db = 10 * np.log10(np.mean(blocks**2, axis=1))
    assert np.ptp(level_db) > 3.0
