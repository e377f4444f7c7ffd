"""A clip reads what the same stretch reads inside the whole drive."""

import numpy as np
import pytest

from ratings.acoustics.continuation import with_continued_ends
from ratings.acoustics.levels import equivalent_level_db, maximum_level_db, weighted

_RATE_HZ = 48_000
_WHOLE = 10 * _RATE_HZ


def _road_noise(fall_db_per_octave: float) -> np.ndarray:
    spectrum = np.fft.rfft(np.random.default_rng(5).normal(size=_WHOLE))
    frequency_hz = np.fft.rfftfreq(_WHOLE, 1 / _RATE_HZ)
    spectrum *= (np.maximum(frequency_hz, 20) / 20) ** (-fall_db_per_octave / 6.02)
    spectrum[frequency_hz < 8] = 0
    return np.fft.irfft(spectrum)


@pytest.mark.parametrize("fall_db_per_octave", [0.0, 6.0, 12.0])
def test_that_a_clip_reads_its_share_of_the_whole_drive(fall_db_per_octave: float) -> None:
    drive = _road_noise(fall_db_per_octave)
    of_the_whole = weighted(drive, _RATE_HZ, "A")
    for start in (101_003, 200_000, 300_007):
        clip = slice(start, start + 2 * _RATE_HZ)
        expected_db = equivalent_level_db(of_the_whole[clip], _RATE_HZ, "Z")
        expected_max_db = maximum_level_db(of_the_whole[clip], _RATE_HZ, "Z")

        # Filtering the clip from rest is wrong by more than 3 dB in the steepest of these.
        assert equivalent_level_db(drive[clip], _RATE_HZ, "A") == pytest.approx(
            expected_db, abs=0.03
        )
        assert maximum_level_db(drive[clip], _RATE_HZ, "A") == pytest.approx(
            expected_max_db, abs=0.03
        )


def test_that_a_tone_goes_on_as_a_tone() -> None:
    time = np.arange(-2000, 12_000)
    whole = np.sin(0.031 * time + 0.4)

    extended = with_continued_ends(whole[2000:10_000], 2000)

    fade = 0.5 + 0.5 * np.cos(np.pi * (np.arange(2000) + 0.5) / 2000)
    np.testing.assert_allclose(extended[10_000:], whole[10_000:12_000] * fade, atol=1e-3)
    np.testing.assert_allclose(extended[:2000], whole[:2000] * fade[::-1], atol=1e-3)
    np.testing.assert_array_equal(extended[2000:10_000], whole[2000:10_000])


@pytest.mark.parametrize("times_the_rate", [4.8, 2.5, 1.2])
@pytest.mark.parametrize("highest_hz", [3_500, 19_500])
def test_that_a_recording_without_high_frequencies_goes_on_as_loud_as_it_was(
    times_the_rate: float, highest_hz: int
) -> None:
    # As from a recorder whose filter ends far below half its rate.
    rate_hz = round(2 * highest_hz * times_the_rate)
    for seed in range(3):
        spectrum = np.fft.rfft(np.random.default_rng(seed).normal(size=2 * rate_hz))
        frequency_hz = np.fft.rfftfreq(2 * rate_hz, 1 / rate_hz)
        spectrum[frequency_hz > 4] /= np.maximum(frequency_hz[frequency_hz > 4], 20) ** 1.2
        spectrum[frequency_hz <= 4] = 0
        whole = np.fft.irfft(spectrum / np.sqrt(1 + (frequency_hz / highest_hz) ** 80))
        whole = np.roll(whole, round(0.3 * rate_hz))

        extended = with_continued_ends(whole[: round(1.6 * rate_hz)], rate_hz)

        assert np.abs(extended).max() < 1.2 * np.abs(whole).max()


def test_that_a_file_converted_after_it_was_cut_reads_the_same() -> None:
    # The filter of the conversion rings at both ends.
    from scipy.signal import resample_poly

    rate_hz, frames = 96_000, 2 * 96_000
    spectrum = np.fft.rfft(np.random.default_rng(3).normal(size=frames))
    frequency_hz = np.fft.rfftfreq(frames, 1 / rate_hz)
    spectrum[frequency_hz > 4] /= np.maximum(frequency_hz[frequency_hz > 4], 20) ** 1.5
    spectrum[frequency_hz <= 4] = 0
    drive = np.fft.irfft(spectrum / np.sqrt(1 + (frequency_hz / 3_500) ** 80))
    cut = np.roll(drive, 50_000)[20_000:160_000]
    converted = resample_poly(cut, 1, 3, window=("kaiser", 14.0))
    for figure in (equivalent_level_db, maximum_level_db):
        assert figure(converted, 32_000, "A") == pytest.approx(figure(cut, rate_hz, "A"), abs=0.05)


def test_that_silence_is_continued_by_silence() -> None:
    extended = with_continued_ends(np.zeros((100, 2)), 50)

    np.testing.assert_array_equal(extended, np.zeros((200, 2)))


@pytest.mark.parametrize("frames", [1, 2, 5, 9])
def test_that_a_handful_of_samples_is_continued_with_numbers(frames: int) -> None:
    extended = with_continued_ends(np.arange(1.0, frames + 1), frames - 1)

    assert np.isfinite(extended).all()
