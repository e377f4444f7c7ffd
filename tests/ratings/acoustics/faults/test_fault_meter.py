"""Faults put into known signals come back; clean signals have none."""

import math
from itertools import cycle

import numpy as np
import pytest
from annex_signals import MADE, made_signal

from ratings.acoustics.faults.fault_meter import FaultMeter, faults_of
from ratings.acoustics.faults.words import run_remarks
from ratings.errors import MeasurementError
from ratings.synthesis.alder_wagon import ALDER_WAGON, COARSE_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.sample_study import SAMPLE_STUDY, recording
from ratings.synthesis.sketch import TyreSketch

RATE_HZ = 48_000
CAR_RATE_HZ = 12_000


def road_noise(seconds: float, channels: int = 1, rate_hz: int = RATE_HZ, seed: int = 3):
    """Normal noise with a flat spectrum to 60 Hz that falls by 12 dB per octave; rms 0.1."""
    white = np.random.default_rng(seed).normal(size=(round(seconds * rate_hz), channels))
    spectrum = np.fft.rfft(white, axis=0)
    hz = np.fft.rfftfreq(len(white), 1 / rate_hz)[:, None]
    noise = np.fft.irfft(spectrum * (hz > 5) / (1 + (hz / 60) ** 2), len(white), axis=0)
    return 0.1 * noise / noise.std(axis=0)


def in_16_bits(samples):
    return np.round(samples * 32768) / 32768


def only(samples, limit=None, rate_hz=RATE_HZ):
    return faults_of(samples, rate_hz, limit).channels[0]


def assert_clean(faults):
    for channel in faults.channels:
        assert not channel.is_silent
        assert channel.full_scale_samples == 0
        assert channel.clipping.count == channel.drop_outs.count == channel.clicks.count == 0
        assert abs(channel.offset_ratio) < 0.05
        assert channel.hum is None
        assert channel.gain_step is None
    assert faults.same_channels == faults.opposite_channels == faults.inverted_channels == ()


@pytest.fixture(scope="module")
def car():
    def driven(first_km_h: float, last_km_h: float):
        speed = np.linspace(first_km_h, last_km_h, 20 * CAR_RATE_HZ)
        rng = np.random.default_rng(5)
        return cabin_pressure_pa(
            ALDER_WAGON, TyreSketch("205/55R16"), COARSE_ASPHALT, speed, CAR_RATE_HZ, rng
        )

    return driven


@pytest.mark.slow
@pytest.mark.parametrize("speeds", [(80.0, 80.0), (90.0, 90.0), (100.0, 30.0)])
def test_that_the_invented_car_is_clean_at_steady_speed_and_in_a_coast_down(car, speeds):
    faults = faults_of(in_16_bits(car(*speeds) / 10), CAR_RATE_HZ, 1.0)
    assert faults.is_hum_judged
    assert_clean(faults)


@pytest.mark.parametrize("full_scale_pa", [3.0, 30.0, 100.0])
def test_that_a_quiet_recording_of_the_car_is_not_clipped(car, full_scale_pa):
    for speeds in ((80.0, 80.0), (100.0, 30.0)):
        assert_clean(faults_of(in_16_bits(car(*speeds) / full_scale_pa), CAR_RATE_HZ, 1.0))


@pytest.mark.slow
def test_that_the_recordings_of_the_sample_study_have_no_fault():
    # Every set once and every condition at least once.
    for each, condition in zip(SAMPLE_STUDY.sets, cycle(SAMPLE_STUDY.conditions)):
        made = recording(SAMPLE_STUDY, each.name, condition.key)
        samples = in_16_bits(made.pressure_pa / 10)
        assert_clean(faults_of(samples, made.sample_rate_hz, 1.0))


@pytest.mark.slow
@pytest.mark.parametrize("tilt", [0.0, 0.5, 1.0])
def test_that_white_pink_and_red_noise_are_clean(tilt):
    white = np.random.default_rng(2).normal(size=(30 * RATE_HZ, 2))
    hz = np.maximum(np.fft.rfftfreq(len(white), 1 / RATE_HZ), 20.0)[:, None]
    spectrum = np.fft.rfft(white, axis=0)
    spectrum[0] = 0.0
    noise = np.fft.irfft(spectrum / hz**tilt, len(white), axis=0)
    assert_clean(faults_of(in_16_bits(0.1 * noise / noise.std()), RATE_HZ, 1.0))


@pytest.mark.parametrize("frequency_hz", [31.7, 1000.0])
def test_that_a_quiet_tone_rounded_to_16_bits_is_not_clipped(frequency_hz):
    time_s = np.arange(10 * RATE_HZ) / RATE_HZ
    tone = in_16_bits(0.01 * np.sin(2 * np.pi * frequency_hz * time_s))[:, None]
    assert_clean(faults_of(tone, RATE_HZ, 1.0))


@pytest.mark.parametrize("number", MADE)
def test_that_no_made_signal_of_iso_532_1_has_a_fault_but_its_length(number):
    # Full scale of the annex's files: a sine of 100 dB re 20 uPa.
    samples = in_16_bits(made_signal(number) / (2 * math.sqrt(2)))
    remarks = run_remarks(faults_of(samples, RATE_HZ, 1.0))
    assert [each.sentence for each in remarks if "The run lasts" not in each.sentence] == []


def test_that_clipping_at_full_scale_is_counted_with_its_first_time():
    samples = road_noise(5)
    for start_s in (1.5, 2.0, 4.25):
        start = round(start_s * RATE_HZ)
        samples[start : start + 5] = 1.0
    samples[100] = -1.0
    found = only(samples, 1.0)
    assert found.clipping.count == 3
    assert found.clipping.first_s == pytest.approx(1.5)
    assert found.full_scale_samples == 16


def test_that_one_sample_at_full_scale_is_counted_but_is_no_clipping():
    samples = road_noise(2)
    samples[5000] = 1.0
    found = only(samples, 1.0)
    assert (found.full_scale_samples, found.clipping.count) == (1, 0)


@pytest.mark.parametrize("limit", [None, math.inf, 1.0])
def test_that_peaks_flattened_below_full_scale_are_found(limit):
    clean = road_noise(5)
    flattened = np.clip(clean, -0.25, 0.25)
    runs = sum(
        np.count_nonzero(np.diff(np.concatenate([[0], each, [0]])) == 1)
        for each in ((clean[:, 0] > 0.25).astype(int), (clean[:, 0] < -0.25).astype(int))
    )
    found = only(in_16_bits(flattened), limit)
    # Excursions of one or two samples are left out on purpose.
    assert 0.8 * runs <= found.clipping.count <= runs
    first = np.argmax(np.abs(clean[:, 0]) > 0.25) / RATE_HZ
    assert found.clipping.first_s == pytest.approx(first, abs=0.01)


@pytest.mark.parametrize("held", ["zero", "last value"])
def test_that_lost_stretches_are_found_wherever_they_lie(held):
    samples = road_noise(6)
    # The second one runs over the joint of the meter's own blocks of half a second.
    for start_s, length_s in ((1.0, 0.010), (1.99, 0.7), (4.3, 0.005)):
        start = round(start_s * RATE_HZ)
        stop = start + round(length_s * RATE_HZ)
        samples[start:stop] = 0.0 if held == "zero" else samples[start - 1]
    found = only(samples, 1.0)
    assert found.drop_outs.count == 3
    assert found.drop_outs.first_s == pytest.approx(1.0, abs=1e-3)


def test_that_two_runs_of_10_ms_of_zeros_near_the_end_leave_the_run_usable():
    samples = road_noise(20)
    for start_s in (19.3, 19.6):
        samples[round(start_s * RATE_HZ) : round((start_s + 0.01) * RATE_HZ)] = 0.0
    faults = faults_of(samples, RATE_HZ, 1.0)
    assert faults.channels[0].drop_outs.count == 2
    assert faults.channels[0].drop_outs.end_s == pytest.approx(19.61, abs=1e-3)
    (remark,) = run_remarks(faults)
    assert remark.severity == "doubtful"
    assert "trim the last 0.8 s" in remark.sentence


def test_that_silence_before_and_after_a_sound_is_no_drop_out():
    samples = road_noise(4)
    samples[:RATE_HZ] = 0.0
    samples[-RATE_HZ:] = 0.0
    assert only(samples, 1.0).drop_outs.count == 0


def test_that_lost_samples_and_spikes_are_clicks():
    samples = in_16_bits(road_noise(6))
    joined = np.concatenate([samples[: 2 * RATE_HZ], samples[2 * RATE_HZ + 4000 :]])
    joined[4 * RATE_HZ] += 0.05
    found = only(joined, 1.0)
    assert found.clicks.count == 2
    assert found.clicks.first_s == pytest.approx(2.0, abs=0.003)


def test_that_a_blow_that_rings_on_is_no_click():
    samples = road_noise(4)
    time_s = np.arange(RATE_HZ // 2) / RATE_HZ
    blow = np.exp(-time_s / 0.008) * np.sin(2 * np.pi * 900 * time_s)
    samples[RATE_HZ : RATE_HZ + len(blow), 0] += 0.5 * blow * (1 - np.exp(-time_s / 0.0005))
    assert only(samples, 1.0).clicks.count == 0


def test_that_an_offset_is_told_against_the_rms_of_the_rest():
    samples = road_noise(3) + 0.05
    assert only(samples).offset_ratio == pytest.approx(0.5, abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
@pytest.mark.parametrize("off_hz", [0.0, 0.06])
def test_that_hum_is_found_at_the_mains_frequency(mains_hz, off_hz):
    samples = road_noise(24)
    turns = 2 * np.pi * (mains_hz + off_hz) * np.arange(len(samples)) / RATE_HZ
    for harmonic in (1, 2, 3, 5):
        samples[:, 0] += 0.02 / harmonic * np.sin(harmonic * turns)
    hum = only(samples).hum
    assert hum is not None
    assert hum.mains_hz == mains_hz
    assert hum.harmonics == (1, 2, 3, 5)
    assert hum.prominence_db > 10


@pytest.mark.slow
@pytest.mark.parametrize("base_hz", [49.4, 50.6, 59.3, 61.0])
def test_that_orders_beside_the_mains_are_no_hum(base_hz):
    samples = road_noise(24)
    time_s = np.arange(len(samples)) / RATE_HZ
    for harmonic in range(1, 7):
        samples[:, 0] += 0.02 * np.sin(2 * np.pi * harmonic * base_hz * time_s)
    assert only(samples).hum is None


def test_that_orders_sweeping_through_the_mains_are_no_hum():
    samples = road_noise(24)
    time_s = np.arange(len(samples)) / RATE_HZ
    turns = 55 * time_s - 0.2 * time_s**2
    for harmonic in range(1, 7):
        samples[:, 0] += 0.02 * np.sin(2 * np.pi * harmonic * turns)
    assert only(samples).hum is None


def test_that_two_mains_lines_are_too_few_for_hum():
    samples = road_noise(24)
    time_s = np.arange(len(samples)) / RATE_HZ
    for hz in (50, 100):
        samples[:, 0] += 0.02 * np.sin(2 * np.pi * hz * time_s)
    assert only(samples).hum is None


def test_that_the_rounding_errors_of_a_high_tone_are_no_hum():
    time_s = np.arange(8 * RATE_HZ) / RATE_HZ
    tone = np.sin(2 * np.pi * 14_000 * time_s)[:, None]
    assert only(1e-4 * tone).hum is None
    lines = sum(np.sin(2 * np.pi * hz * time_s) for hz in (50, 100, 150, 200))
    assert only(tone + 1e-7 * lines[:, None]).hum is None
    assert only(tone + 1e-2 * lines[:, None]).hum is not None


def test_that_a_switched_gain_is_found_with_time_and_size():
    samples = road_noise(20, seed=8)
    samples[round(9.8 * RATE_HZ) :] *= 10 ** (-10 / 20)
    step = only(samples).gain_step
    assert step is not None
    assert step.change_db == pytest.approx(-10.0, abs=0.2)
    assert step.time_s == pytest.approx(9.8, abs=0.6)


def test_that_another_surface_is_no_switched_gain():
    samples = road_noise(20, seed=8)
    half = len(samples) // 2
    other = np.random.default_rng(1).normal(scale=0.02, size=(half, 1))
    samples[half:] = 1.5 * samples[half:] + other
    assert only(samples).gain_step is None


def test_that_constant_last_digit_and_very_weak_channels_are_silent():
    frames = 2 * RATE_HZ
    digit = np.random.default_rng(1).integers(0, 2, frames) / 32768
    weak = 1e-6 * road_noise(2)[:, 0]
    faults = faults_of(
        np.stack([np.zeros(frames), np.full(frames, 0.3), digit, weak], 1), RATE_HZ, 1.0
    )
    assert [channel.is_silent for channel in faults.channels] == [True] * 4
    assert faults.same_channels == faults.opposite_channels == ()


def test_that_a_clear_channel_at_an_unknown_scale_is_not_silent():
    assert not only(1e-6 * road_noise(2)).is_silent


def test_that_channels_with_one_signal_and_inverted_ones_are_named():
    common = road_noise(8, seed=1)
    own = 0.3 * road_noise(8, channels=5, seed=2)
    samples = common + own
    samples[:, 2] = -samples[:, 2]
    samples[:, 4] = 0.5 * samples[:, 0]
    faults = faults_of(samples, RATE_HZ, 1.0)
    assert faults.same_channels == ((0, 4),)
    assert faults.inverted_channels == (2,)
    assert set(faults.opposite_channels) == {(0, 2), (1, 2), (2, 3), (2, 4)}


@pytest.mark.slow
def test_that_two_ears_of_one_car_are_neither_same_nor_opposite(car):
    faults = faults_of(car(80.0, 80.0), CAR_RATE_HZ)
    assert (faults.same_channels, faults.opposite_channels) == ((), ())


@pytest.mark.parametrize("blocks", [[1, 997, 65_536], [30_011], [7, 48_000]])
def test_that_blocks_of_any_length_give_the_same_faults(blocks):
    samples = np.clip(road_noise(12, channels=2), -0.25, 0.25)
    samples[100_000:101_000] = 0.0
    samples[200_000] += 0.1
    meter = FaultMeter(RATE_HZ, 2, [0.25, math.inf])
    start = turn = 0
    while start < len(samples):
        length = blocks[turn % len(blocks)]
        meter.feed(samples[start : start + length])
        start, turn = start + length, turn + 1
    found = meter.result()
    assert found == faults_of(samples, RATE_HZ, [0.25, math.inf])
    assert found.channels[0].drop_outs.count == 1
    assert found.duration_s == 12.0


@pytest.mark.parametrize("frames", [1, 2, 3, 50, 500])
def test_that_very_short_signals_are_judged_without_complaint(frames):
    faults = faults_of(road_noise(1)[:frames], RATE_HZ)
    assert faults.duration_s == frames / RATE_HZ
    assert not faults.is_hum_judged


def test_that_nothing_and_what_is_no_number_are_refused():
    with pytest.raises(MeasurementError, match="no samples"):
        FaultMeter(RATE_HZ, 2).result()
    with pytest.raises(MeasurementError, match="not numbers"):
        faults_of(np.full((100, 1), np.nan), RATE_HZ)
