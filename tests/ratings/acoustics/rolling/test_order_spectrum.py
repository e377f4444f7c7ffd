"""Sweeps of known order and level, read at equal angles."""

import numpy as np
import numpy.typing as npt
import pytest

from ratings.acoustics.rolling.order_spectrum import OrderSpectrumMeter, order_spectrum
from ratings.acoustics.rolling.pattern_orders import highest_order_for, pitch_orders
from ratings.errors import MeasurementError
from ratings.study.speed_trace import SpeedTrace

Array = npt.NDArray[np.float64]
C_M = 1.927
HIGHEST = highest_order_for(64)


def coast_down(duration_s: float = 12.0) -> SpeedTrace:
    times_s = np.linspace(0.0, duration_s, 41)
    return SpeedTrace(times_s, 100.0 - 65.0 * (times_s / duration_s) ** 1.3)


def sweep(trace: SpeedTrace, rate_hz: int, levels_db: dict[float, float]) -> Array:
    """Tones that keep their orders, levels re 1, shape (frames, 1)."""
    time_s = np.arange(round(trace.times_s[-1] * rate_hz)) / rate_hz
    per_s = trace.at(time_s) / 3.6 / C_M
    # The trace is linear in pieces of many samples: the trapezium is exact but at its corners.
    turns = np.concatenate([[0.0], np.cumsum((per_s[1:] + per_s[:-1]) / 2)]) / rate_hz
    tones = [
        np.sqrt(2) * 10 ** (level_db / 20) * np.sin(2 * np.pi * order * turns)
        for order, level_db in levels_db.items()
    ]
    return np.sum(tones, axis=0)[:, np.newaxis]


@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 48_000, 51_200])
def test_that_a_sweep_is_one_line_at_its_order_with_its_level(rate_hz: int) -> None:
    trace = coast_down()
    tones = {64.0: 0.0, 128.0: -6.0, 192.0: -20.0}
    spectrum = order_spectrum(sweep(trace, rate_hz, tones), rate_hz, trace, C_M, HIGHEST)
    assert spectrum.order[np.argmax(spectrum.power[0])] == 64.0
    read_db = [float(each.level_db[0]) for each in pitch_orders(spectrum, 64, reference=1.0)]
    assert read_db == pytest.approx([0.0, -6.0, -20.0], abs=0.05)


@pytest.mark.parametrize("slip_percent", [-2.5, 1.0, 2.0])
def test_that_a_coast_down_on_worn_tread_keeps_the_levels_of_its_orders(
    slip_percent: float,
) -> None:
    trace, rng = coast_down(), np.random.default_rng(8)
    slipped = 1 + slip_percent / 100
    tones = sweep(trace, 8_000, {64.0 * slipped: 0.0, 128.0 * slipped: -6.0})
    sound = tones + 0.1 * rng.standard_normal(tones.shape)
    first, second, third = pitch_orders(
        order_spectrum(sound, 8_000, trace, C_M, HIGHEST), 64, reference=1.0
    )
    assert first.slip_percent[0] == pytest.approx(slip_percent, abs=0.05)
    assert second.slip_percent[0] == pytest.approx(slip_percent, abs=0.05)
    assert first.level_db[0] == pytest.approx(0.0, abs=0.1)
    assert second.level_db[0] == pytest.approx(-6.0, abs=0.1)
    assert not third.stands_out[0]


def test_that_a_steady_tone_reads_the_same_as_in_an_ordinary_spectrum() -> None:
    from scipy.signal import periodogram

    trace = SpeedTrace.constant(80.0, 10.0)
    sound = sweep(trace, 12_000, {64.0: 3.0})
    spectrum = order_spectrum(sound, 12_000, trace, C_M, HIGHEST)
    plain = periodogram(sound[:, 0], 12_000, scaling="spectrum")[1]
    first = pitch_orders(spectrum, 64, reference=1.0)[0]
    assert first.level_db[0] == pytest.approx(10 * np.log10(plain.sum()), abs=0.05)
    assert first.frequency_hz == pytest.approx(64 * 80 / 3.6 / C_M, rel=1e-6)


def test_that_a_tone_that_does_not_follow_the_speed_spreads() -> None:
    trace = coast_down()
    time_s = np.arange(12 * 12_000) / 12_000
    fixed = np.sin(2 * np.pi * 600.0 * time_s)[:, np.newaxis]
    spectrum = order_spectrum(fixed, 12_000, trace, C_M, HIGHEST)
    assert spectrum.power.max() / spectrum.power.sum() < 0.05
    assert spectrum.power.sum() == pytest.approx(0.5, rel=0.05)


def test_that_blocks_of_any_length_give_the_same_numbers() -> None:
    trace, rate_hz = coast_down(), 48_000
    rng = np.random.default_rng(2)
    sound = rng.standard_normal((12 * rate_hz, 2))
    whole = order_spectrum(sound, rate_hz, trace, C_M, HIGHEST)
    meter = OrderSpectrumMeter(rate_hz, 2, trace, C_M, HIGHEST)
    start = 0
    for length in (1, 997, 65_536, 3, 100_000, len(sound)):
        meter.feed(sound[start : start + length])
        start += length
    pieces = meter.result()
    np.testing.assert_allclose(pieces.power, whole.power, rtol=1e-9, atol=1e-15)
    assert (pieces.averages, pieces.turns) == (whole.averages, whole.turns)


def test_that_what_lies_above_the_orders_does_not_fold_into_them() -> None:
    trace, rate_hz = coast_down(), 48_000
    time_s = np.arange(12 * rate_hz) / rate_hz
    high = np.sin(2 * np.pi * 15_000 * time_s)[:, np.newaxis]
    spectrum = order_spectrum(high, rate_hz, trace, C_M, HIGHEST)
    assert 10 * np.log10(spectrum.power.sum() / 0.5) < -70


def test_that_a_trace_that_starts_before_and_ends_after_the_sound_is_used_where_both_are() -> None:
    long = coast_down(12.0)
    shifted = SpeedTrace(long.times_s - 3.0, long.speed_km_h)
    inner = sweep(long, 12_000, {64.0: 0.0})[3 * 12_000 : 9 * 12_000]
    spectrum = order_spectrum(inner, 12_000, shifted, C_M, HIGHEST)
    first = pitch_orders(spectrum, 64, reference=1.0)[0]
    assert first.level_db[0] == pytest.approx(0.0, abs=0.05)
    mean_km_h = shifted.mean_km_h(0.0, 6.0)
    assert first.frequency_hz == pytest.approx(64 * mean_km_h / 3.6 / C_M, rel=2e-3)


def test_that_silence_has_no_power_and_no_warning() -> None:
    trace = coast_down()
    spectrum = order_spectrum(np.zeros((12 * 8000, 2)), 8000, trace, C_M, HIGHEST)
    assert spectrum.power.max() == 0.0
    first = pitch_orders(spectrum, 64)[0]
    assert np.isnan(first.level_db).all()
    assert not first.stands_out.any()


def test_that_a_recording_shorter_than_eight_turns_is_refused() -> None:
    with pytest.raises(MeasurementError, match="shorter than 8 turns"):
        order_spectrum(np.zeros((4000, 1)), 8000, SpeedTrace.constant(50.0, 0.5), C_M, HIGHEST)


def test_that_a_rate_that_carries_no_order_is_refused() -> None:
    with pytest.raises(MeasurementError, match="no order"):
        OrderSpectrumMeter(30, 1, SpeedTrace.constant(100.0, 60.0), C_M, HIGHEST)
