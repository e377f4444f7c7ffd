"""Tones in noise against their expected ratios and against another library's readings."""

import math

import numpy as np
import pytest

from ratings.acoustics.narrow_band import SpectrumMeter
from ratings.acoustics.tones.prominent import (
    Tone,
    prominence_criterion_db,
    prominent_tones,
    tone_to_noise_criterion_db,
)
from ratings.errors import MeasurementError

RATES_HZ = [44_100, 48_000, 51_200]

# MoSQITo 1.2.1 (tnr_ecma_st, pr_ecma_st) on the same samples: a tone of 60 dB, or two, in white
# noise of 60 dB. Its labels lie half a hertz high, so noise in its bands differs a little.
OTHER_LIBRARY_DB = [
    ((1000,), 44_100, 21.44, 21.31),
    ((1000,), 48_000, 21.74, 21.70),
    ((1000,), 51_200, 22.07, 22.06),
    ((300,), 48_000, 22.93, 23.38),
    ((3000,), 44_100, 16.46, 16.50),
    ((3000,), 51_200, 17.36, 17.04),
    ((8000,), 48_000, 11.51, 11.68),
    ((1000, 1060), 44_100, 24.20, 24.28),
    ((1000, 1060), 51_200, 24.83, 24.77),
]


def level(signal, level_db: float):
    return signal / np.sqrt(np.mean(signal**2)) * 2e-5 * 10 ** (level_db / 20)


def sine(frequency_hz: float, level_db: float, sample_rate_hz: int = 48_000, duration_s: int = 10):
    time_s = np.arange(duration_s * sample_rate_hz) / sample_rate_hz
    return level(np.sin(2 * np.pi * frequency_hz * time_s), level_db)


def white_noise(level_db: float = 60, sample_rate_hz: int = 48_000, duration_s: int = 10, seed=9):
    noise = np.random.default_rng(seed).normal(size=duration_s * sample_rate_hz)
    return level(noise, level_db)


def shaped_noise(gain_of, level_db: float, seed: int = 10):
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(size=480_000))
    return level(np.fft.irfft(spectrum * gain_of(np.arange(len(spectrum)) / 10)), level_db)


def road_noise(level_db: float = 72):
    return shaped_noise(lambda frequency_hz: 1 / (1 + (frequency_hz / 150) ** 1.2), level_db)


def hump(centre_hz: float, width_hz: float, level_db: float):
    return shaped_noise(
        lambda frequency_hz: np.exp(-(((frequency_hz - centre_hz) / width_hz) ** 2)), level_db, 11
    )


def tones_of(signal, sample_rate_hz: int = 48_000, resolution_hz: float = 1.0) -> tuple[Tone, ...]:
    meter = SpectrumMeter(sample_rate_hz, 1, resolution_hz)
    meter.feed(signal[:, None])
    found = meter.result()
    return prominent_tones(found.power, found.resolution_hz)[0]


def expected_tone_to_noise_db(
    frequency_hz: float, tone_db: float, noise_db: float, sample_rate_hz: int
) -> float:
    width_hz = 25 + 75 * (1 + 1.4 * (frequency_hz / 1000) ** 2) ** 0.69
    return tone_db - noise_db + 10 * math.log10(sample_rate_hz / 2 / width_hz)


@pytest.mark.slow
@pytest.mark.parametrize("sample_rate_hz", RATES_HZ)
@pytest.mark.parametrize("frequency_hz", [100.0, 250.25, 1000.0, 1000.5, 3000.3, 8000.0])
def test_that_a_tone_in_white_noise_reads_what_the_densities_say(
    frequency_hz: float, sample_rate_hz: int
) -> None:
    signal = white_noise(60, sample_rate_hz) + sine(frequency_hz, 60, sample_rate_hz)
    (tone,) = tones_of(signal, sample_rate_hz)
    expected_db = expected_tone_to_noise_db(frequency_hz, 60, 60, sample_rate_hz)
    assert tone.frequency_hz == pytest.approx(frequency_hz, abs=0.1)
    assert tone.level_db == pytest.approx(60, abs=0.1)
    # A finite stretch of noise scatters by some tenths of a decibel in a narrow band.
    assert tone.tone_to_noise_db == pytest.approx(expected_db, abs=0.6)
    # In even noise the neighbours hold as much as the band without its tone.
    assert tone.prominence_db == pytest.approx(
        10 * math.log10(10 ** (expected_db / 10) + 1), abs=0.6
    )
    assert tone.is_prominent_by_tnr
    assert tone.is_prominent_by_pr


@pytest.mark.parametrize(
    ("frequencies_hz", "sample_rate_hz", "tone_to_noise_db", "prominence_db"), OTHER_LIBRARY_DB
)
def test_that_another_library_reads_the_same(
    frequencies_hz: tuple[float, ...],
    sample_rate_hz: int,
    tone_to_noise_db: float,
    prominence_db: float,
) -> None:
    signal = white_noise(60, sample_rate_hz, 2)
    for frequency_hz in frequencies_hz:
        signal = signal + sine(frequency_hz, 60, sample_rate_hz, 2)
    (tone,) = tones_of(signal, sample_rate_hz, resolution_hz=0.5)
    assert tone.tone_to_noise_db == pytest.approx(tone_to_noise_db, abs=0.35)
    assert tone.prominence_db == pytest.approx(prominence_db, abs=0.1)


def test_that_criteria_rise_below_1_khz() -> None:
    assert [tone_to_noise_criterion_db(f) for f in (1000, 8000)] == [8, 8]
    assert [prominence_criterion_db(f) for f in (1000, 8000)] == [9, 9]
    assert tone_to_noise_criterion_db(100) == pytest.approx(16.33)
    assert prominence_criterion_db(100) == pytest.approx(19)


@pytest.mark.parametrize(("surplus_db", "is_prominent"), [(-1.5, False), (1.5, True)])
@pytest.mark.parametrize("frequency_hz", [150.0, 600.0, 2000.0])
def test_that_a_tone_becomes_prominent_at_the_criterion(
    frequency_hz: float, surplus_db: float, is_prominent: bool
) -> None:
    ratio_db = tone_to_noise_criterion_db(frequency_hz) + surplus_db
    tone_db = ratio_db - expected_tone_to_noise_db(frequency_hz, 0, 60, 48_000)
    (tone,) = tones_of(white_noise(60) + sine(frequency_hz, tone_db))
    assert tone.is_prominent_by_tnr is is_prominent


def test_that_near_tones_count_as_one_and_far_ones_in_a_band_do_not() -> None:
    # At 200 Hz the band is 102 Hz wide and nearness ends at 21 Hz.
    (one,) = tones_of(white_noise() + sine(200, 50) + sine(215, 49))
    assert one.level_db == pytest.approx(52.5, abs=0.2)
    two = tones_of(white_noise() + sine(200, 50) + sine(235, 49))
    assert sorted(round(tone.frequency_hz) for tone in two) == [200, 235]
    for tone in two:
        expected_db = expected_tone_to_noise_db(tone.frequency_hz, tone.level_db, 60, 48_000)
        assert tone.tone_to_noise_db == pytest.approx(expected_db, abs=0.7)
    # The band's prominence speaks for its strongest tone only.
    assert [round(tone.frequency_hz) for tone in two if tone.is_prominent_by_pr] == [200]


def test_that_harmonics_hide_each_other_from_the_prominence_ratio_only() -> None:
    # ECMA-418-1 prefers the tone-to-noise ratio for harmonics in neighbouring bands.
    signal = white_noise() + sum(sine(150 * number, 52) for number in range(1, 8))
    tones = tones_of(signal)
    assert sorted(round(tone.frequency_hz) for tone in tones) == [150 * n for n in range(1, 8)]
    middle = [tone for tone in tones if 200 < tone.frequency_hz < 1000]
    assert all(tone.is_prominent_by_tnr for tone in middle)
    assert not any(tone.is_prominent_by_pr for tone in middle)


@pytest.mark.parametrize("seconds", [1, 2, 10])
def test_that_noise_alone_has_no_prominent_tone(seconds: int) -> None:
    noise = np.random.default_rng(4).normal(scale=0.02, size=(seconds * 48_000, 8))
    meter = SpectrumMeter(48_000, 8)
    meter.feed(noise)
    found = meter.result()
    assert prominent_tones(found.power, found.resolution_hz) == ((),) * 8


def test_that_a_fifth_of_a_second_of_noise_has_no_prominent_tone() -> None:
    found = [
        tone
        for seed in range(40)
        for tone in tones_of(white_noise(60, 48_000, 1, seed)[:9_600])
        if tone.is_prominent_by_tnr or tone.is_prominent_by_pr
    ]
    assert found == []


def test_that_road_noise_and_its_humps_are_no_tones() -> None:
    assert tones_of(road_noise()) == ()
    for centre_hz, width_hz in ((210, 25), (500, 60), (900, 150)):
        assert tones_of(road_noise() + hump(centre_hz, width_hz, 72)) == ()


def test_that_a_tone_on_a_hump_is_found() -> None:
    (tone,) = tones_of(road_noise() + hump(900, 150, 55) + sine(870, 66))
    assert tone.frequency_hz == pytest.approx(870, abs=0.2)
    assert tone.is_prominent_by_tnr


def test_that_a_tone_that_drifts_reads_too_low() -> None:
    time_s = np.arange(480_000) / 48_000
    drifting = level(np.sin(2 * np.pi * (700 * time_s + 6 * time_s**2)), 60)
    steady = tones_of(road_noise() + sine(760, 60))[0]
    ratios_db = [tone.tone_to_noise_db for tone in tones_of(road_noise() + drifting)]
    assert max(ratios_db, default=-math.inf) < steady.tone_to_noise_db - 6


def test_that_no_more_than_ten_come_back_strongest_first() -> None:
    frequencies_hz = 100 * 1.35 ** np.arange(14)
    signal = white_noise(50) + sum(sine(round(f), 55 + n) for n, f in enumerate(frequencies_hz))
    tones = tones_of(signal)
    ratios_db = [tone.tone_to_noise_db for tone in tones]
    assert len(tones) == 10
    assert ratios_db == sorted(ratios_db, reverse=True)


def test_that_tones_outside_the_range_are_left_out() -> None:
    assert tones_of(white_noise() + sine(80, 65) + sine(12_000, 65)) == ()


def test_that_what_nobody_hears_is_no_tone() -> None:
    # The threshold in quiet at 100 Hz lies near 25 dB (Zwicker and Fastl 1990).
    noise = white_noise(-20)
    assert tones_of(noise + sine(100, 20)) == ()
    assert len(tones_of(noise + sine(100, 30))) == 1


def test_that_a_spectrum_relative_to_full_scale_has_the_same_ratios() -> None:
    meter = SpectrumMeter(48_000, 1)
    meter.feed((white_noise() + sine(1000, 60))[:, None] * 1e-3)
    power = meter.result().power
    (tone,) = prominent_tones(power, 1.0, reference=1.0)[0]
    assert tone.level_db == pytest.approx(60 - 93.98 - 60, abs=0.1)
    assert tone.tone_to_noise_db == pytest.approx(
        expected_tone_to_noise_db(1000, 60, 60, 48_000), abs=0.5
    )


def test_that_a_low_rate_leaves_out_the_ratio_that_does_not_fit() -> None:
    (tone,) = tones_of(white_noise(60, 8_000) + sine(3200, 60, 8_000), 8_000)
    assert math.isnan(tone.prominence_db)
    assert not tone.is_prominent_by_pr
    assert tone.is_prominent_by_tnr


def test_that_silence_and_a_bare_tone_give_finite_answers() -> None:
    assert tones_of(np.zeros(96_000)) == ()
    (tone,) = tones_of(sine(1000, 60))
    assert tone.level_db == pytest.approx(60, abs=0.1)
    assert 60 < tone.tone_to_noise_db <= 120


def test_that_a_coarse_spectrum_leaves_low_tones_out_and_finds_high_ones() -> None:
    signal = white_noise() + sine(120, 65) + sine(4000, 65)
    assert [round(tone.frequency_hz, -1) for tone in tones_of(signal, resolution_hz=20)] == [4000]


def test_that_a_spectrum_with_holes_is_refused() -> None:
    power = np.ones((1, 1000))
    power[0, 30] = np.nan
    with pytest.raises(MeasurementError, match="not numbers"):
        prominent_tones(power, 1.0)
