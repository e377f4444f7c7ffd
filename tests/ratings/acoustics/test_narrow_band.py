"""The narrow-band spectrum against SciPy's, tones and the scatter of noise."""

import numpy as np
import pytest
from scipy.signal import welch

from ratings.acoustics.narrow_band import NarrowBandSpectrum, SpectrumMeter
from ratings.errors import MeasurementError


def spectrum_of(
    signal, sample_rate_hz: int = 8_000, block: int = 10_007, **options
) -> NarrowBandSpectrum:
    samples = np.atleast_2d(signal.T).T
    meter = SpectrumMeter(sample_rate_hz, samples.shape[1], **options)
    for start in range(0, len(samples), block):
        meter.feed(samples[start : start + block])
    return meter.result()


def noise(seconds: float, sample_rate_hz: int = 8_000, channels: int = 2):
    return np.random.default_rng(3).normal(size=(round(seconds * sample_rate_hz), channels))


@pytest.mark.parametrize("block", [1_000_000, 997, 1])
def test_that_it_equals_the_welch_average_of_scipy(block: int) -> None:
    signal = noise(2.7)
    found = spectrum_of(signal, block=block)
    _, density = welch(signal, 8_000, nperseg=8_000, axis=0, detrend=False)
    np.testing.assert_allclose(found.power.T, density, rtol=1e-9)


def test_that_the_lines_add_up_to_the_mean_square() -> None:
    # Parseval's theorem; the window leaves the scatter of its own weighting.
    signal = noise(60)
    assert spectrum_of(signal).power.sum(axis=1) == pytest.approx(
        (signal**2).mean(axis=0), rel=0.01
    )


@pytest.mark.parametrize("frequency_hz", [100.0, 100.25, 100.5])
def test_that_a_flat_top_reads_a_tone_right_between_lines(frequency_hz: float) -> None:
    time_s = np.arange(5 * 8_000) / 8_000
    tone = np.sqrt(2) * np.sin(2 * np.pi * frequency_hz * time_s)
    level_db = 10 * np.log10(spectrum_of(tone, window="flat top").tone_power().max())
    assert level_db == pytest.approx(0, abs=0.02)


def test_that_the_averages_tell_the_scatter_of_noise() -> None:
    found = spectrum_of(noise(20, channels=6))
    lines = found.power[:, 20:-20]
    # Variance over squared mean of a chi-square average is one over the number of averages.
    assert lines.mean() ** 2 / lines.var() == pytest.approx(found.averages, rel=0.05)


def test_that_swelling_noise_counts_as_fewer_averages() -> None:
    # 5 dB more every second: most of the power comes from the last second or two.
    signal = noise(20, channels=6)
    signal *= 10 ** (5 * np.arange(len(signal)) / 8_000 / 20)[:, None]
    found = spectrum_of(signal)
    lines = found.power[:, 20:-20]
    assert lines.mean() ** 2 / lines.var() == pytest.approx(found.averages, rel=0.15)
    assert found.averages < 4


def test_that_a_tone_and_silence_do_not_change_the_averages() -> None:
    signal = noise(20, channels=3)
    steady = spectrum_of(signal).averages
    signal[:, 1] += 10 * np.sin(np.arange(len(signal)) * 2 * np.pi * 200 / 8_000)
    signal[:, 2] = 0
    assert spectrum_of(signal).averages == pytest.approx(steady, rel=0.01)


def test_that_a_short_recording_is_taken_whole_and_says_its_resolution() -> None:
    found = spectrum_of(noise(0.25))
    assert found.resolution_hz == pytest.approx(4)
    assert found.averages == 1


def test_that_a_handful_of_frames_is_refused() -> None:
    with pytest.raises(MeasurementError, match="too short"):
        spectrum_of(noise(0.0005))


def test_that_an_impossible_resolution_is_refused() -> None:
    with pytest.raises(MeasurementError, match="resolution"):
        SpectrumMeter(8_000, 1, resolution_hz=0)
