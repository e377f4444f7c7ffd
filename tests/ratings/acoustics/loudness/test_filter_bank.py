"""Third octaves on spectra against the same filters run sample by sample."""

import math

import numpy as np
import pytest
from scipy.signal import lfilter, sosfilt

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.filter_bank import (
    STEP_FRAMES,
    FilterBank,
    Stretch,
    third_octave_response,
)

STRETCH = Stretch(before=9_000, frames=60_000, after=3_000)
HIGH_BANDS = range(12, 28)


def sample_by_sample(pressure_pa, band: int):
    """Square after the filter of ISO 532-1:2017, tables A.1 and A.2, and after smoothing."""
    sections = zip(tables.FILTER_NUMERATORS, tables.FILTER_DENOMINATORS[band], strict=True)
    sos = [[*numerator, 1.0, *denominator] for numerator, denominator in sections]
    squared = (sosfilt(sos, pressure_pa) * tables.FILTER_GAINS[band] / 20e-6) ** 2
    time_constant_s = 2 / (3 * min(tables.THIRD_OCTAVE_CENTRES_HZ[band], 1000))
    decay = math.exp(-1 / (48_000 * time_constant_s))
    smoothed = squared
    for _ in range(3):
        smoothed = lfilter([1 - decay], [1, -decay], smoothed)
    return squared, smoothed[::STEP_FRAMES]


def shaped_noise(frames: int):
    spectrum = np.fft.rfft(np.random.default_rng(4).normal(size=frames))
    frequency_hz = np.arange(len(spectrum)) * 48_000 / frames
    return np.fft.irfft(spectrum / (1 + (frequency_hz / 100) ** 2) ** 0.5, frames)


def decibels(power):
    return 10 * np.log10(np.maximum(power, 1.0))


def test_that_smoothed_powers_are_those_of_the_filters_run_sample_by_sample() -> None:
    signal = shaped_noise(STRETCH.total)
    signal[: STRETCH.before // 2] = 0.0
    powers = FilterBank(HIGH_BANDS, STRETCH).measure(signal[None], [])
    start, stop = (
        edge // STEP_FRAMES for edge in (STRETCH.before, STRETCH.before + STRETCH.frames)
    )
    for index, band in enumerate(HIGH_BANDS):
        _, expected = sample_by_sample(signal, band)
        deviation_db = decibels(powers.smoothed[index, 0]) - decibels(expected[start:stop])
        assert np.abs(deviation_db).max() < 0.1, band
        assert np.abs(deviation_db).mean() < 0.01, band


def test_that_the_lowest_bands_agree_too() -> None:
    stretch = Stretch(before=48_000, frames=240_000, after=12_000)
    signal = shaped_noise(stretch.total)
    powers = FilterBank(range(12), stretch).measure(signal[None], [stretch.frames])
    start, stop = (
        edge // STEP_FRAMES for edge in (stretch.before, stretch.before + stretch.frames)
    )
    for band in range(12):
        squared, expected = sample_by_sample(signal, band)
        deviation_db = decibels(powers.smoothed[band, 0]) - decibels(expected[start:stop])
        # The filters below 40 Hz still tell after a second what the signal was before: nothing
        # here, and in the spectrum its own end.
        assert np.quantile(np.abs(deviation_db), 0.99) < 0.1, band
        energy = squared[stretch.before : stretch.before + stretch.frames].sum() / 48_000
        assert powers.energies[0, band, 0] == pytest.approx(energy, rel=5e-3)


@pytest.mark.parametrize("band", range(28))
def test_that_a_filter_passes_its_centre_and_falls_off_from_its_edges(band: int) -> None:
    # IEC 61260-1:2014, 5.4 and 5.7: exact centres, edges a sixth of an octave away.
    centre_hz = 1000 * 10 ** ((band - 16) / 10)
    edges_hz = centre_hz * 10 ** np.array([-0.05, 0.0, 0.05])
    gain_db = 20 * np.log10(np.abs(third_octave_response(band, edges_hz)))
    assert gain_db[1] == pytest.approx(0.0, abs=0.1)
    # The highest filters are shifted upwards a little, as the standard gives them.
    assert (gain_db[[0, 2]] < -1.2).all()
    assert (gain_db[[0, 2]] > -5.5).all()


def test_that_a_click_is_not_heard_before_it_comes() -> None:
    signal = np.zeros(STRETCH.total)
    click = STRETCH.before + 30_000
    signal[click] = 20.0
    powers = FilterBank(HIGH_BANDS, STRETCH).measure(signal[None], []).smoothed[:, 0]
    before = powers[:, : 30_000 // STEP_FRAMES - 4]
    assert (before.max(axis=1) < 1e-5 * powers.max(axis=1)).all()
