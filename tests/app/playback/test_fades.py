import numpy as np
import pytest

from app.playback.fades import (
    correlation_within_full_scale,
    crossfade,
    fade_frames,
    start_ramp,
    zero_lag_correlation,
)

CORRELATIONS = [0.0, 0.3, 0.75, 1.0]


def weights(correlation: float) -> tuple[np.ndarray, np.ndarray]:
    fade = crossfade(480, correlation)
    first = fade.first[:, 0].astype(float)
    return first, fade.both[:, 0].astype(float) - first


def test_that_a_fade_takes_ten_milliseconds() -> None:
    assert fade_frames(48000) == 480
    assert fade_frames(44100) == 441


@pytest.mark.parametrize("correlation", CORRELATIONS)
def test_that_the_power_of_equally_strong_sounds_stays_the_same(correlation: float) -> None:
    # Variance of a weighted sum: g1^2 + g2^2 + 2 r g1 g2 (any probability text).
    first, second = weights(correlation)
    power = first**2 + second**2 + 2 * correlation * first * second
    np.testing.assert_allclose(power, 1.0, atol=5e-7)


def test_that_the_usual_laws_are_the_two_ends() -> None:
    angle = np.arange(481) / 480 * np.pi / 2
    np.testing.assert_allclose(weights(0.0)[0], np.cos(angle), atol=1e-7)
    np.testing.assert_allclose(weights(1.0)[0] + weights(1.0)[1], 1.0, atol=1e-7)


@pytest.mark.parametrize("correlation", CORRELATIONS)
def test_that_a_fade_begins_with_the_first_and_ends_with_the_second(correlation: float) -> None:
    first, second = weights(correlation)
    assert (first[0], second[0]) == (1.0, 0.0)
    assert (first[-1], second[-1]) == (0.0, 1.0)


def test_that_identical_sounds_have_weights_that_add_up_to_exactly_one() -> None:
    assert np.all(crossfade(480, 1.0).both == np.float32(1.0))


def test_that_correlations_below_zero_are_faded_as_zero() -> None:
    np.testing.assert_array_equal(crossfade(480, -0.4).first, crossfade(480, 0.0).first)


def test_that_the_measured_correlation_is_numpys_for_sounds_without_offset(noise) -> None:
    x, y = noise(0.5, 1), noise(0.5, 2)
    second = (0.6 * x + 0.8 * y).astype(np.float32)
    x, second = x - x.mean(), second - second.mean()
    independent = np.corrcoef(x.ravel(), second.ravel())[0, 1]
    assert zero_lag_correlation(x, second) == pytest.approx(independent, abs=1e-6)
    assert zero_lag_correlation(x, second) == pytest.approx(0.6, abs=0.02)


def test_that_silence_is_correlated_with_nothing(noise) -> None:
    silence = np.zeros((480, 2), np.float32)
    assert zero_lag_correlation(silence, noise(0.01, 1)) == 0.0


@pytest.mark.parametrize("peak", [0.5, 0.8, 0.95, 1.0])
def test_that_a_fade_between_loud_sounds_stays_within_full_scale(peak: float) -> None:
    correlation = correlation_within_full_scale(0.1, peak)
    first, second = weights(correlation)
    assert np.max((first + second) * peak) <= 1.0 + 1e-6
    assert correlation >= 0.1


def test_that_the_start_ramp_rises_from_silence_to_full_without_a_step() -> None:
    ramp = start_ramp(480)[:, 0]
    assert ramp[0] == 0.0
    assert ramp[-1] == 1.0
    assert 0.0 < np.diff(ramp).min() <= np.diff(ramp).max() < 0.0033
