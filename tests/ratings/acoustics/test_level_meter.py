"""Levels measured block by block, against the standards' limits and against whole arrays."""

import itertools
import math

import numpy as np
import pytest
from reference_data import copied_rows

from ratings.acoustics.level_meter import LevelMeter, Levels
from ratings.acoustics.levels import equivalent_level_db, maximum_level_db, time_weighted_levels_db
from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.errors import MeasurementError
from ratings.study.bands import DEFAULT_BANDS, Band

RATES_HZ = [44_100, 48_000, 51_200]


def measured(signal, sample_rate_hz: int, bands=(), block: int = 30_011, **options) -> Levels:
    samples = np.atleast_2d(signal.T).T
    meter = LevelMeter(sample_rate_hz, samples.shape[1], bands, **options)
    for start in range(0, len(samples), block):
        meter.feed(samples[start : start + block])
    return meter.result()


def tone(frequency_hz: float, sample_rate_hz: int, duration_s: float = 3.0, phase: float = 0.7):
    time_s = np.arange(round(duration_s * sample_rate_hz)) / sample_rate_hz
    return math.sqrt(2) * np.sin(2 * np.pi * frequency_hz * time_s + phase)


def road_noise(seconds: float, sample_rate_hz: int, channels: int = 2):
    noise = np.random.default_rng(7).normal(size=(round(seconds * sample_rate_hz), channels))
    spectrum = np.fft.rfft(noise, axis=0)
    frequency_hz = np.arange(len(spectrum)) * sample_rate_hz / len(noise)
    # Falls by 12 dB per octave above 40 Hz, as inside a car.
    return np.fft.irfft(spectrum / (1 + (frequency_hz[:, None] / 40) ** 2), len(noise), axis=0)


@pytest.mark.slow
@pytest.mark.parametrize("sample_rate_hz", RATES_HZ)
def test_that_a_long_recording_reads_what_whole_arrays_give(sample_rate_hz: int) -> None:
    signal = road_noise(13, sample_rate_hz)
    levels = measured(signal, sample_rate_hz)
    for weighting, found in (("A", levels.leq_a_db), ("C", levels.leq_c_db), ("Z", levels.leq_db)):
        expected = equivalent_level_db(signal, sample_rate_hz, weighting)
        assert found == pytest.approx(expected, abs=0.001)
    expected = maximum_level_db(signal, sample_rate_hz, "A")
    assert levels.fast_max_a_db == pytest.approx(expected, abs=0.001)


def test_that_the_course_is_the_fast_level_every_tenth_of_a_second() -> None:
    signal = road_noise(13, 44_100)
    levels = measured(signal, 44_100)
    course = time_weighted_levels_db(signal, 44_100, "A")[4410 - 1 :: 4410]
    assert levels.fast_a_db.shape == course.shape == (130, 2)
    assert levels.fast_a_db == pytest.approx(course, abs=0.001)


def test_that_the_size_of_the_blocks_changes_nothing() -> None:
    signal = road_noise(12, 8_000)
    whole = measured(signal, 8_000, DEFAULT_BANDS.bands[:3], block=len(signal))
    for block in (997, 65_536):
        pieces = measured(signal, 8_000, DEFAULT_BANDS.bands[:3], block=block)
        for name in Levels.__slots__:
            np.testing.assert_allclose(getattr(pieces, name), getattr(whole, name), rtol=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("sample_rate_hz", RATES_HZ)
def test_that_weighted_tones_read_the_standards_table(sample_rate_hz: int) -> None:
    for row in copied_rows("acoustics/frequency_weightings"):
        frequency_hz = 1000 * 10 ** (row["third"] / 10)
        whole_periods_s = round(2 * frequency_hz) / frequency_hz
        levels = measured(
            tone(frequency_hz, sample_rate_hz, whole_periods_s), sample_rate_hz, reference=1.0
        )
        # The table is rounded to 0.1 dB; the smallest class 1 limit is 0.7 dB (from memory).
        assert levels.leq_a_db[0] == pytest.approx(row["a_db"], abs=0.055), frequency_hz
        assert levels.leq_c_db[0] == pytest.approx(row["c_db"], abs=0.055), frequency_hz


#: Class 1 limits at the breakpoints, from the mid-band frequency outwards.
LIMITS = copied_rows("acoustics/third_octave_limits")


def class_1_range_db(distance: float) -> tuple[float, float]:
    """Least and greatest attenuation so far from the middle, in powers of ten of frequency.

    Between two breakpoints those of the inner one, the stricter for the greatest attenuation; at
    one, also the least of its own.
    """
    inner = [row for row in LIMITS if row["distance"] < distance - 1e-9] or LIMITS[:1]
    reached = [row for row in LIMITS if row["distance"] < distance + 1e-9]
    greatest_db = 5.3 if math.isclose(distance, 0.05) else inner[-1]["greatest_db"]
    return reached[-1]["least_db"], greatest_db


@pytest.mark.slow
@pytest.mark.parametrize("sample_rate_hz", RATES_HZ)
def test_that_third_octaves_stay_inside_class_1(sample_rate_hz: int) -> None:
    steps, breakpoints = np.arange(0, 0.42, 0.0125), np.unique([row["distance"] for row in LIMITS])
    distances = {20: steps, 500: steps, 1000: breakpoints, 2000: breakpoints, 12_500: steps}
    for third in (each for each in THIRD_OCTAVES if each.nominal_hz in distances):
        offsets = np.concatenate([distances[third.nominal_hz], -distances[third.nominal_hz]])
        frequencies_hz = third.centre_hz * 10**offsets
        offsets = offsets[frequencies_hz < 0.49 * sample_rate_hz]
        tones = [tone(third.centre_hz * 10**offset, sample_rate_hz) for offset in offsets]
        levels = measured(np.stack(tones, axis=1), sample_rate_hz, reference=1.0)
        attenuations_db = -levels.third_octave_db[:, THIRD_OCTAVES.index(third)]
        for offset, attenuation_db in zip(offsets, attenuations_db, strict=True):
            low_db, high_db = class_1_range_db(abs(offset))
            assert low_db <= attenuation_db <= high_db, (third, offset)


def test_that_third_octaves_together_hold_the_whole_signal() -> None:
    signal = road_noise(9, 48_000, 1)
    spectrum = np.fft.rfft(signal, axis=0)
    frequency_hz = np.arange(len(spectrum)) / 9
    inside = (frequency_hz > 25) & (frequency_hz < 10_000)
    signal = np.fft.irfft(spectrum * inside[:, None], len(signal), axis=0)
    levels = measured(signal, 48_000)
    together_db = 10 * np.log10((10 ** (levels.third_octave_db[0] / 10)).sum())
    assert together_db == pytest.approx(levels.leq_db[0], abs=0.02)


def test_that_a_band_reads_the_sum_of_the_tones_inside_it() -> None:
    signal = sum(tone(f, 48_000, 5) * a for f, a in ((120, 0.1), (250, 0.2), (380, 0.3), (450, 1)))
    levels = measured(signal, 48_000, (Band("b", "B", 100, 400),), reference=1.0)
    # 20 log10 of the root of the summed mean squares.
    expected_db = 10 * math.log10(0.1**2 + 0.2**2 + 0.3**2)
    assert levels.band_db[0, 0] == pytest.approx(expected_db, abs=0.01)


def test_that_an_a_weighted_band_reads_the_weighted_sum() -> None:
    # -16.1 and -3.2 dB are the A weighting of 125 and 500 Hz (IEC 61672-1:2013, table 3).
    signal = tone(1000 * 10**-0.9, 48_000, 5) + tone(1000 * 10**-0.3, 48_000, 5)
    levels = measured(signal, 48_000, (Band("b", "B", 60, 900),), reference=1.0)
    expected_db = 10 * math.log10(10**-1.61 + 10**-0.32)
    assert levels.band_a_db[0, 0] == pytest.approx(expected_db, abs=0.05)


def test_that_overlapping_bands_each_hold_their_own_energy() -> None:
    bands = DEFAULT_BANDS.bands
    levels = measured(tone(200, 48_000, 5), 48_000, bands, reference=1.0)
    by_key = dict(zip([band.key for band in bands], levels.band_db[0], strict=True))
    assert by_key["structure_borne"] == pytest.approx(0, abs=0.01)
    assert by_key["cavity"] == pytest.approx(0, abs=0.01)
    assert by_key["boom"] < -70


def test_that_one_pascal_is_93_98_decibels() -> None:
    # 20 log10(1 / 20e-6), with the reference of ISO 1683:2015.
    assert measured(tone(1000, 48_000), 48_000).leq_db[0] == pytest.approx(93.979, abs=0.001)


def test_that_bands_above_half_the_rate_are_left_undefined() -> None:
    levels = measured(road_noise(3, 8_000), 8_000, DEFAULT_BANDS.bands)
    defined = ~np.isnan(levels.third_octave_db).any(axis=0)
    assert THIRD_OCTAVES[int(np.flatnonzero(defined)[-1])].nominal_hz == 3150
    assert np.isnan(levels.band_db[:, 3]).all()
    assert np.isnan(levels.band_a_db[:, 3]).all()
    assert np.isfinite(levels.band_db[:, [0, 1, 2, 4]]).all()


@pytest.mark.parametrize("frames", [1, 2, 3, 50, 4000])
def test_that_a_few_frames_still_have_a_level(frames: int) -> None:
    levels = measured(np.ones((frames, 1)), 48_000, reference=1.0)
    assert levels.leq_db[0] == pytest.approx(0, abs=1e-9)
    assert not np.isnan(levels.leq_a_db).any()


def test_that_silence_reads_minus_infinity_without_a_warning() -> None:
    levels = measured(np.zeros((20_000, 2)), 48_000, DEFAULT_BANDS.bands)
    for level in (levels.leq_db, levels.leq_a_db, levels.third_octave_db, levels.band_a_db):
        assert np.isneginf(level).all()


def test_that_no_samples_have_no_level() -> None:
    with pytest.raises(MeasurementError, match="no samples"):
        LevelMeter(48_000, 1).result()


def test_that_names_and_frequencies_of_third_octaves_are_the_standards() -> None:
    # IEC 61260-1:2014, annex E: nominal and exact frequencies (from memory, base ten).
    names = [third.name for third in THIRD_OCTAVES]
    assert names[:6] == ["20", "25", "31.5", "40", "50", "63"]
    assert names[-4:] == ["6300", "8000", "10000", "12500"]
    assert THIRD_OCTAVES[0].centre_hz == pytest.approx(19.953, abs=0.001)
    for lower, upper in itertools.pairwise(THIRD_OCTAVES):
        assert lower.high_hz == pytest.approx(upper.low_hz)


@pytest.mark.parametrize("rate_hz", [44_100, 51_200])
@pytest.mark.parametrize(
    ("burst_s", "expected_db"), [(1.0, -2.0), (0.5, -4.1), (0.2, -7.4), (0.1, -10.2), (0.05, -13.1)]
)
def test_that_slow_answers_a_burst_as_the_standard_says(
    burst_s: float, expected_db: float, rate_hz: int
) -> None:
    # Expected: IEC 61672-1:2013, table 4, column LAS (10 lg(1 - exp(-T / 1 s))), from memory.
    burst = tone(4000, rate_hz, burst_s)
    signal = np.zeros(12 * rate_hz)
    signal[5 * rate_hz : 5 * rate_hz + len(burst)] = burst
    steady = measured(tone(4000, rate_hz, 8.0), rate_hz)
    assert steady.slow_max_a_db[0] == pytest.approx(steady.leq_a_db[0], abs=0.05)
    found_db = measured(signal, rate_hz).slow_max_a_db[0] - steady.leq_a_db[0]
    assert found_db == pytest.approx(expected_db, abs=0.15)


def test_that_levels_exceeded_are_those_of_the_share_of_time() -> None:
    # A quarter of the time 20 dB louder: L5 and L10 are loud, L50 to L95 quiet.
    rate_hz = 8_000
    signal = tone(1000, rate_hz, 40.0)
    signal[20 * rate_hz : 30 * rate_hz] *= 10.0
    levels = measured(np.stack([signal, 0.1 * signal], axis=1), rate_hz)
    quiet_db = equivalent_level_db(tone(1000, rate_hz, 4.0), rate_hz, "A")
    for exceeded_db in (levels.fast_exceeded_a_db, levels.slow_exceeded_a_db):
        np.testing.assert_allclose(exceeded_db[0, :2] - quiet_db, 20.0, atol=0.1)
        np.testing.assert_allclose(exceeded_db[0, 2:] - quiet_db, 0.0, atol=0.1)
        np.testing.assert_allclose(exceeded_db[0] - exceeded_db[1], 20.0, atol=1e-6)


def test_that_the_size_of_the_blocks_changes_no_slow_level() -> None:
    signal = road_noise(23.0, 12_800)
    whole, pieces = (measured(signal, 12_800, block=block) for block in (10**7, 997))
    np.testing.assert_allclose(whole.slow_exceeded_a_db, pieces.slow_exceeded_a_db, atol=1e-9)
    np.testing.assert_allclose(whole.slow_max_a_db, pieces.slow_max_a_db, atol=1e-9)
