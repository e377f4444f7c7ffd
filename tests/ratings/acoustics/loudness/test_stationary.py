"""Sharpness against the reference sounds of DIN 45692."""

import numpy as np
import pytest
from known_recordings import band_noise_pa
from reference_data import beside

from ratings.acoustics.loudness.filter_bank import third_octave_response
from ratings.acoustics.loudness.meter import loudness
from ratings.acoustics.loudness.stationary import sharpness_acum, stationary_loudness


def noise_levels_db(low_hz: float, high_hz: float, level_db: float = 60.0):
    """Third-octave levels of noise with a flat spectrum between two edges."""
    frequency_hz = np.linspace(low_hz, high_hz, 4001)
    powers = [np.mean(np.abs(third_octave_response(band, frequency_hz)) ** 2) for band in range(28)]
    return level_db + 10 * np.log10(powers)


def test_that_the_reference_noise_has_one_acum() -> None:
    # DIN 45692:2009: critical band of noise around 1 kHz, 60 dB.
    found = stationary_loudness(noise_levels_db(920, 1080), "free").sharpness_acum
    assert found == pytest.approx(1.0, abs=0.0005)


@pytest.mark.parametrize(
    ("low_hz", "high_hz", "expected_acum"),
    # Expected: DIN 45692:2009, tables of narrow-band and broadband noises at 60 dB. The edges of
    # the critical bands are those of Zwicker 1961, JASA 33, 248.
    [(920, 1080, 1.0), (2320, 2700, 1.78), (3700, 4400, 2.82), (1000, 10_000, 3.05)],
)
def test_that_noises_lie_within_5_percent(low_hz, high_hz, expected_acum) -> None:
    found = stationary_loudness(noise_levels_db(low_hz, high_hz), "free").sharpness_acum
    assert found == pytest.approx(expected_acum, rel=0.05)
    sound_pa = band_noise_pa(low_hz, high_hz, 60, 2.0, 48_000)[:, None]
    assert loudness(sound_pa, 48_000, "free").sharpness_acum == pytest.approx([found], rel=0.01)


@pytest.mark.parametrize(
    ("name", "expected_acum"), [("narrowband_1000", 1.00), ("broadband_1000", 3.05)]
)
def test_that_recorded_reference_sounds_lie_within_5_percent(name: str, expected_acum) -> None:
    import soundfile

    samples, rate_hz = soundfile.read(beside(f"acoustics/din45692/{name}.wav"), always_2d=True)
    found = loudness(samples, rate_hz, "free").sharpness_acum
    assert found == pytest.approx(np.array([expected_acum]), rel=0.05)


def test_that_silence_is_neither_sharp_nor_dull() -> None:
    assert np.isnan(sharpness_acum(np.zeros((2, 240)))).all()


def test_that_the_centre_of_gravity_counts_and_not_the_loudness() -> None:
    pattern = np.random.default_rng(3).gamma(1.0, 1.0, 240)
    assert sharpness_acum(7 * pattern) == pytest.approx(sharpness_acum(pattern), rel=1e-12)
    lower, higher = np.zeros(240), np.zeros(240)
    lower[50], higher[100] = 1.0, 1.0
    assert sharpness_acum(higher) / sharpness_acum(lower) == pytest.approx(10.1 / 5.1)
