"""Whole recordings measured from files of known content."""

import math
from dataclasses import replace

import numpy as np
import pytest
from known_recordings import FULL_SCALE_PA, noise_pa, resonance_pa, tone_pa

from ratings.errors import Cancelled, MeasurementError
from ratings.measuring.arrays import arrays_of
from ratings.measuring.coasting import shift_words
from ratings.measuring.figures import figures_of
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size

FREE = MeasuringSettings(field="free")
RATES_HZ = [44_100, 48_000, 51_200]


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_that_a_tone_reads_its_level_loudness_and_sharpness(write, rate_hz: int) -> None:
    path = write(tone_pa(1000, 60, 4, rate_hz), rate_hz=rate_hz)
    (channel,) = measure(path, FREE, [FULL_SCALE_PA]).by_channel()
    assert channel.leq_db == pytest.approx(60, abs=0.01)
    assert channel.leq_a_db == pytest.approx(60, abs=0.01)
    assert channel.third_octave_db["1000"] == pytest.approx(60, abs=0.01)
    assert channel.band_db["airborne"] == pytest.approx(60, abs=0.01)
    assert channel.hearing is not None
    # By definition 4 sone at 60 phon; ISO 532-1:2017 allows 5 %.
    assert channel.hearing.n_sone == pytest.approx(4, rel=0.05)
    assert channel.hearing.nmax_sone == pytest.approx(4, rel=0.05)
    (tone,) = channel.tones
    assert tone.frequency_hz == pytest.approx(1000, abs=0.1)


def test_that_an_uncalibrated_recording_is_measured_relative_to_full_scale(write) -> None:
    path = write(tone_pa(1000, 60, 2, 48_000))
    (channel,) = measure(path, FREE).by_channel()
    assert not channel.is_level_true
    assert channel.hearing is None
    # 60 dB re 20 uPa is 60 - 20 log10(20 / 20e-6) re full scale of 20 Pa.
    assert channel.leq_a_db == pytest.approx(60 - 120, abs=0.01)


def test_that_channels_with_and_without_calibration_are_told_apart(write) -> None:
    loud = tone_pa(1000, 70, 2, 48_000)
    path = write(loud, loud)
    measurement = measure(path, FREE, [None, FULL_SCALE_PA])
    first, second = measurement.by_channel()
    assert (first.is_level_true, second.is_level_true) == (False, True)
    assert (first.hearing, second.hearing is None) == (None, False)
    assert second.leq_db - first.leq_db == pytest.approx(120, abs=1e-6)
    assert any(r.channel == 1 and "not calibrated" in r.sentence for r in measurement.remarks)


def test_that_only_the_chosen_channels_are_measured_under_their_numbers(write) -> None:
    path = write(*(tone_pa(500, level, 2, 48_000) for level in (50, 60, 70)))
    measurement = measure(path, FREE, [FULL_SCALE_PA] * 3, numbers=[3, 1])
    assert [(c.number, round(c.leq_db)) for c in measurement.by_channel()] == [(3, 70), (1, 50)]


@pytest.mark.slow
def test_that_a_cavity_pair_is_found_where_the_tyre_says(write) -> None:
    rate_hz = 48_000
    size = tyre_size("205/55R16")
    speed = SpeedTrace.constant(80, 20)
    settings = replace(FREE, tyre=size, speed=speed, speed_km_h=80)
    # 66 dB of white noise up to 24 kHz hold 66 - 43.8 = 22.2 dB in each hertz.
    lines = resonance_pa(199, 40, 20, rate_hz) + resonance_pa(222, 40, 20, rate_hz)
    path = write(noise_pa(66, 20, rate_hz) + lines)
    measurement = measure(path, settings, [FULL_SCALE_PA])
    (channel,) = measurement.by_channel()
    # c / (pi (D + d) / 2) at 20 C is 210.4 Hz, split by half the load split and the rotation.
    assert np.mean(channel.predicted_cavity_hz) == pytest.approx(210.4, abs=0.1)
    assert channel.cavity_line is not None
    found = [line.frequency_hz for line in channel.cavity_line.lines]
    assert found == pytest.approx([199, 222], abs=1)
    # 78 % of a line 3.6 Hz wide lie within 5 Hz of its middle.
    assert channel.cavity_line.level_db == pytest.approx(43 - 1.1, abs=0.7)


def test_that_a_steady_tone_is_no_cavity_line_and_named(write) -> None:
    path = write(noise_pa(66, 12, 48_000) + tone_pa(205, 45, 12, 48_000))
    measurement = measure(path, replace(FREE, tyre=tyre_size("205/55R16")), [FULL_SCALE_PA])
    assert measurement.cavity_lines == (None,)
    (told,) = [each for each in measurement.remarks if "cavity" in each.sentence]
    assert told.severity == "note"
    assert told.sentence.startswith("Channel 1: what stands out at 205 Hz is a steady tone")


def test_that_noise_alone_has_no_cavity_line(write) -> None:
    path = write(noise_pa(66, 12, 48_000))
    settings = replace(FREE, tyre=tyre_size("205/55R16"))
    (channel,) = measure(path, settings, [FULL_SCALE_PA]).by_channel()
    assert channel.cavity_line is None


@pytest.mark.slow
def test_that_the_first_pattern_order_stands_at_pitches_times_turns(write) -> None:
    # 64 pitches, 80 km/h, 205/55R16: 738 Hz (trade notes; circumference 3.05 D).
    size = tyre_size("205/55R16")
    frequency_hz = 64 * 80 / 3.6 / size.rolling_circumference_m
    path = write(noise_pa(50, 10, 48_000) + tone_pa(frequency_hz, 55, 10, 48_000))
    settings = replace(
        FREE, tyre=size, pitches=64, speed=SpeedTrace.constant(80, 10), speed_km_h=80
    )
    (channel,) = measure(path, settings, [FULL_SCALE_PA]).by_channel()
    first = channel.pattern_orders[0]
    assert first.frequency_hz == pytest.approx(738, abs=1)
    assert first.level_db == pytest.approx(55, abs=0.3)
    assert [order.stands_out for order in channel.pattern_orders] == [True, False, False]


@pytest.mark.slow
def test_that_a_coast_down_is_sorted_by_speed(write) -> None:
    seconds, rate_hz = 20, 16_000
    time_s = np.arange(seconds * rate_hz) / rate_hz
    speed_km_h = 100 - 3 * time_s
    # Thirty decibels per decade of speed.
    path = write(noise_pa(60, seconds, rate_hz) * (speed_km_h / 100) ** 1.5, rate_hz=rate_hz)
    trace = SpeedTrace(time_s[::1600], speed_km_h[::1600])
    measurement = measure(path, replace(FREE, speed=trace), [FULL_SCALE_PA])
    assert measurement.coast_down is not None
    assert measurement.coasting[0].law.slope_db_per_decade == pytest.approx(30, abs=1)
    rise = [f for f in figures_of(measurement) if f.key == "speed_slope_a"]
    assert [(f.unit, round(f.value)) for f in rise] == [("dB per decade", 30)]


@pytest.mark.slow
def test_that_a_coast_down_tells_order_from_frequency_and_where_a_tone_comes(write) -> None:
    size = tyre_size("205/55R16")
    seconds, rate_hz = 24, 16_000
    time_s = np.arange(seconds * rate_hz) / rate_hz
    speed_km_h = 100 - 3 * time_s
    turns = np.cumsum(speed_km_h) / 3.6 / size.rolling_circumference_m / rate_hz
    order = 0.004 * np.sin(2 * np.pi * 64 * turns)
    late = 0.004 * np.sin(2 * np.pi * 330 * time_s) * (speed_km_h < 60)
    path = write(noise_pa(55, seconds, rate_hz) + order + late, rate_hz=rate_hz)
    trace = SpeedTrace(time_s[::1600], speed_km_h[::1600])
    measurement = measure(path, replace(FREE, speed=trace, tyre=size), [FULL_SCALE_PA])
    (found,) = measurement.coasting
    by_kind = {ridge.kind: ridge for ridge in found.ridges}
    assert by_kind["order"].order == pytest.approx(64, abs=0.2)
    assert by_kind["frequency"].frequency_hz == pytest.approx(330, abs=2)
    comes = [shift for shift in found.shifts if shift.kind == "appears"]
    assert any(shift.speed_km_h == pytest.approx(60, abs=2) for shift in comes)
    arrays = arrays_of(measurement)
    assert set(arrays["ridge_channel"].tolist()) == {"1"}
    assert arrays["shift_kind"].tolist() == [shift.kind for shift in found.shifts]
    assert arrays["shift_band"].tolist() == [shift.band or "" for shift in found.shifts]
    told = [shift_words(shift) for shift in found.shifts]
    assert any("330 Hz tone starts at 60 km/h" in words for words in told)


@pytest.mark.slow
def test_that_two_passes_at_once_read_what_one_after_the_other_does(write) -> None:
    path = write(noise_pa(60, 3, 44_100), noise_pa(62, 3, 44_100, seed=2), rate_hz=44_100)
    both = measure(path, FREE, [FULL_SCALE_PA] * 2, threads=2)
    one = measure(path, FREE, [FULL_SCALE_PA] * 2, threads=1)
    assert figures_of(both, (1, 2)) == figures_of(one, (1, 2))


def test_that_the_cavity_line_of_the_ears_is_no_mean_of_two_lines(write) -> None:
    # The lower line is stronger in the left ear, the upper in the right.
    lower, upper = (resonance_pa(hz, 50, 10, 48_000) for hz in (199, 222))
    ears = [
        noise_pa(66, 10, 48_000, seed=1) + lower + 0.6 * upper,
        noise_pa(66, 10, 48_000, seed=2) + 0.6 * lower + upper,
    ]
    path = write(*ears)
    settings = replace(
        FREE, tyre=tyre_size("205/55R16"), speed=SpeedTrace.constant(80, 10), speed_km_h=80
    )
    figures = figures_of(measure(path, settings, [FULL_SCALE_PA] * 2), ear_numbers=(1, 2))
    found = {(f.channel, f.key): f.value for f in figures if f.key.startswith("cavity_line")}
    assert found["1", "cavity_line_hz"] == pytest.approx(199, abs=2)
    assert found["2", "cavity_line_hz"] == pytest.approx(222, abs=2)
    assert min(abs(found["ears", "cavity_line_hz"] - hz) for hz in (199, 222)) < 2
    assert found["ears", "cavity_line_lower_hz"] == pytest.approx(199, abs=2)
    assert found["ears", "cavity_line_upper_hz"] == pytest.approx(222, abs=2)


def test_that_the_mean_of_ears_is_a_mean_of_powers(write) -> None:
    path = write(tone_pa(1000, 60, 2, 48_000), tone_pa(1000, 66, 2, 48_000))
    figures = figures_of(measure(path, FREE, [FULL_SCALE_PA] * 2), ear_numbers=(1, 2))
    ears = {figure.key: figure for figure in figures if figure.channel == "ears"}
    expected_db = 10 * math.log10((10**6.0 + 10**6.6) / 2)
    assert ears["leq_a"].value == pytest.approx(expected_db, abs=0.01)
    assert ears["leq_a"].unit == "dB(A)"
    loudness = [f.value for f in figures if f.key == "loudness_n" and f.channel != "ears"]
    assert ears["loudness_n"].value == pytest.approx(np.mean(loudness))


def test_that_silence_is_measured_without_a_warning(write) -> None:
    measurement = measure(write(np.zeros(96_000)), FREE, [FULL_SCALE_PA])
    (channel,) = measurement.by_channel()
    assert channel.leq_a_db == -math.inf
    assert channel.hearing is not None
    assert channel.hearing.n_sone == 0
    assert "void" in {remark.severity for remark in measurement.remarks}


def test_that_clipped_samples_are_counted_and_said(write) -> None:
    samples = np.clip(tone_pa(100, 122, 2, 48_000), -FULL_SCALE_PA, FULL_SCALE_PA)
    measurement = measure(write(samples), FREE, [FULL_SCALE_PA])
    (channel,) = measurement.by_channel()
    assert channel.clipped_samples > 1000
    assert any("clipped" in remark.sentence for remark in measurement.remarks)


def test_that_progress_is_told_and_can_stop_the_work(write) -> None:
    path = write(noise_pa(60, 30, 48_000))
    told: list[float] = []

    def stop(part: float, words: str) -> None:
        told.append(part)
        assert words == "Measuring run.wav"
        raise Cancelled

    with pytest.raises(Cancelled):
        measure(path, FREE, [FULL_SCALE_PA], progress=stop)
    assert told[0] < 1


def test_that_a_calibration_for_another_number_of_channels_is_refused(write) -> None:
    with pytest.raises(MeasurementError, match="2 calibrations were given for 1 channels"):
        measure(write(noise_pa(60, 1, 48_000)), FREE, [1.0, 1.0])


@pytest.mark.parametrize("factor", [0.0, -1.0, math.inf, math.nan])
def test_that_a_senseless_factor_is_refused(write, factor: float) -> None:
    with pytest.raises(MeasurementError, match="is not a valid Pa per full scale"):
        measure(write(noise_pa(60, 1, 48_000)), FREE, [factor])


@pytest.mark.parametrize("frames", [1, 7, 100, 1000, 11_999])
def test_that_a_recording_too_short_says_so(write, frames: int) -> None:
    with pytest.raises(MeasurementError) as refusal:
        measure(write(noise_pa(60, 1, 48_000)[:frames]), FREE, [FULL_SCALE_PA])
    assert "too short to be measured" in refusal.value.what_happened


def test_that_missing_speed_at_the_end_is_said(write) -> None:
    path = write(noise_pa(60, 6, 48_000))
    settings = replace(FREE, speed=SpeedTrace.constant(80, 3), speed_km_h=80)
    remarks = measure(path, settings, [FULL_SCALE_PA]).remarks
    assert any("belong together" in remark.sentence for remark in remarks)


def test_that_a_speed_off_by_more_than_one_is_said(write) -> None:
    path = write(noise_pa(60, 6, 48_000))
    settings = replace(FREE, speed=SpeedTrace.constant(82, 6), speed_km_h=80)
    remarks = measure(path, settings, [FULL_SCALE_PA]).remarks
    assert any("80 +/- 1 km/h" in remark.sentence for remark in remarks)


def test_that_channels_are_measured_in_the_order_asked_for(write) -> None:
    path = write(*(tone_pa(1000, level, 2, 48_000) for level in (50, 60, 70)))
    factors = [FULL_SCALE_PA, None, 2 * FULL_SCALE_PA]
    third, second, first = measure(path, FREE, factors, [3, 2, 1]).by_channel()
    assert (third.number, second.number, first.number) == (3, 2, 1)
    # Twice the pascal per full scale read 6 dB more; the second is relative to full scale.
    assert third.leq_db == pytest.approx(70 + 20 * math.log10(2), abs=0.01)
    assert second.leq_db == pytest.approx(60 - 120, abs=0.01)
    assert first.leq_db == pytest.approx(50, abs=0.01)
    assert second.hearing is None
    assert first.hearing.n_sone == pytest.approx(2, rel=0.05)
    assert third.hearing.n_sone > 8


@pytest.mark.parametrize("numbers", [[0], [4], [-1], [1, 1], []])
def test_that_channels_that_are_not_there_or_named_twice_are_refused(write, numbers) -> None:
    path = write(*(tone_pa(1000, level, 1, 48_000) for level in (50, 60, 70)))
    with pytest.raises(MeasurementError, match="channel"):
        measure(path, FREE, numbers=numbers)


def test_that_a_run_of_a_few_turns_is_measured_without_orders(write) -> None:
    settings = replace(
        FREE, tyre=tyre_size("205/55R16"), pitches=64, speed=SpeedTrace.constant(80, 0.6)
    )
    measurement = measure(write(noise_pa(60, 0.6, 48_000)), settings, [FULL_SCALE_PA])
    (channel,) = measurement.by_channel()
    assert channel.pattern_orders == ()
    assert channel.leq_db == pytest.approx(60, abs=0.2)


def test_that_a_steady_run_whose_speed_sinks_a_little_is_measured_as_steady(write) -> None:
    path = write(tone_pa(500, 70, 6, 48_000))
    sinking = SpeedTrace(np.array([0.0, 6.0]), np.array([81.1, 79.1]))
    measurement = measure(path, MeasuringSettings(speed=sinking, speed_km_h=80.0), [FULL_SCALE_PA])
    assert measurement.coast_down is None
    assert measurement.settings.steady_speed_km_h == pytest.approx(80.1)


def test_that_a_speed_that_falls_by_too_little_for_a_coast_down_is_told(write) -> None:
    path = write(tone_pa(500, 70, 6, 48_000))
    falling = SpeedTrace(np.array([0.0, 6.0]), np.array([85.0, 76.0]))
    measurement = measure(path, MeasuringSettings(speed=falling), [FULL_SCALE_PA])
    assert measurement.coast_down is None
    assert measurement.settings.steady_speed_km_h is None
    (told,) = [each.sentence for each in measurement.remarks if "km/h" in each.sentence]
    assert "between 76.0 and 85.0 km/h by too little" in told


@pytest.mark.parametrize(("level_db", "is_told"), [(70, False), (130, True), (25, True)])
def test_that_a_level_no_cabin_has_is_doubted(write, level_db: float, is_told: bool) -> None:
    path = write(tone_pa(1000, 100, 3, 48_000))
    factor = FULL_SCALE_PA * 10 ** ((level_db - 100) / 20)
    remarks = measure(path, FREE, [factor]).remarks
    told = [each for each in remarks if "cabins have 40 to 100" in each.sentence]
    assert [(each.severity, each.channel) for each in told] == [("doubtful", 1)] * is_told
    assert not told or f"has {level_db} dB(A)" in told[0].sentence
