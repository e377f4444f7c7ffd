"""Roughness: its unit, its courses, and what it refuses."""

import numpy as np
import pytest

from ratings.acoustics.roughness.meter import Roughness, RoughnessMeter, roughness
from ratings.errors import MeasurementError

RATES_HZ = [44_100, 48_000, 51_200]


def modulated_tone(
    carrier_hz: float = 1000,
    modulation_hz: float = 70,
    level_db: float = 60,
    depth: float = 1.0,
    sample_rate_hz: int = 48_000,
    duration_s: float = 1.0,
):
    time_s = np.arange(round(duration_s * sample_rate_hz)) / sample_rate_hz
    envelope = 1 + depth * np.sin(2 * np.pi * modulation_hz * time_s)
    tone = envelope * np.sin(2 * np.pi * carrier_hz * time_s)
    return (tone * 2e-5 * 10 ** (level_db / 20) / np.sqrt(np.mean(tone**2)))[:, None]


def measured_in_blocks(signal, sample_rate_hz: int, lengths: list[int]) -> Roughness:
    meter = RoughnessMeter(sample_rate_hz, signal.shape[1])
    start, turn = 0, 0
    while start < len(signal):
        length = lengths[turn % len(lengths)]
        meter.feed(signal[start : start + length])
        start, turn = start + length, turn + 1
    return meter.result()


@pytest.mark.parametrize("sample_rate_hz", RATES_HZ)
def test_that_the_reference_tone_is_one_asper(sample_rate_hz: int) -> None:
    # Definition of the unit, Daniel and Weber 1997; ten per cent are asked, one is reached.
    found = roughness(modulated_tone(sample_rate_hz=sample_rate_hz), sample_rate_hz)
    assert found.mean_asper == pytest.approx([1.0], rel=0.01)
    assert found.asper == pytest.approx(1.0, rel=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("lengths", [[997], [1, 65_536, 13], [4_800], [200_000]])
def test_that_blocks_of_any_length_read_the_same(lengths: list[int]) -> None:
    signal = np.random.default_rng(5).normal(scale=0.02, size=(150_000, 3))
    signal[:, 1:2] += modulated_tone(duration_s=150_000 / 48_000)
    whole = roughness(signal, 48_000)
    blocks = measured_in_blocks(signal, 48_000, lengths)
    np.testing.assert_allclose(blocks.asper, whole.asper, rtol=1e-9)
    np.testing.assert_allclose(blocks.specific_mean_asper, whole.specific_mean_asper, rtol=1e-9)


def test_that_a_channel_does_not_depend_on_its_neighbours() -> None:
    signal = np.random.default_rng(6).normal(size=(48_000, 4)) * [1e-4, 0.02, 0.5, 0.02]
    together = roughness(signal, 48_000)
    for channel in range(4):
        alone = roughness(signal[:, channel : channel + 1], 48_000)
        np.testing.assert_allclose(together.asper[:, [channel]], alone.asper, rtol=1e-3)


def test_that_reading_a_result_early_changes_nothing_later() -> None:
    signal = np.random.default_rng(7).normal(scale=0.02, size=(96_000, 1))
    meter = RoughnessMeter(48_000, 1)
    meter.feed(signal[:40_000])
    early = meter.result()
    meter.feed(signal[40_000:])
    np.testing.assert_allclose(meter.result().asper, roughness(signal, 48_000).asper, rtol=1e-9)
    assert len(early.asper) == 7


def test_that_a_block_may_be_overwritten_after_it_was_fed() -> None:
    signal = np.random.default_rng(8).normal(scale=0.02, size=(48_000, 1))
    meter = RoughnessMeter(48_000, 1)
    block = np.empty((4_800, 1))
    for start in range(0, len(signal), len(block)):
        block[:] = signal[start : start + len(block)]
        meter.feed(block)
    np.testing.assert_allclose(meter.result().asper, roughness(signal, 48_000).asper, rtol=1e-9)


def test_that_bands_add_up_and_the_mean_is_that_of_the_course() -> None:
    signal = np.concatenate([modulated_tone(), modulated_tone(level_db=75, carrier_hz=3000)])
    found = roughness(signal, 48_000)
    assert found.specific_mean_asper.shape == (1, 47)
    assert found.specific_mean_asper.sum(axis=1) == pytest.approx(found.mean_asper)
    assert found.asper.mean(axis=0) == pytest.approx(found.mean_asper)
    assert found.time_s[:3] == pytest.approx([0.1, 0.2, 0.3])
    assert len(found.time_s) == len(found.asper) == 19


def test_that_it_sits_at_the_carrier_and_above() -> None:
    # 1 kHz lies at 8.5 Bark (Zwicker 1961); bands are half a Bark apart from 0.5 Bark on.
    specific = roughness(modulated_tone(), 48_000).specific_mean_asper[0]
    assert (specific.argmax() + 1) / 2 == pytest.approx(8.5, abs=1.0)


def test_that_a_steady_tone_is_not_rough_and_depth_makes_it_so() -> None:
    asper = [
        roughness(modulated_tone(depth=depth), 48_000).mean_asper[0] for depth in (0, 0.25, 0.5, 1)
    ]
    assert asper[0] < 0.005
    assert np.all(np.diff(asper) > 0.05)


def test_that_two_beating_tones_are_rough() -> None:
    time_s = np.arange(48_000) / 48_000
    beating = np.sin(2 * np.pi * 965 * time_s) + np.sin(2 * np.pi * 1035 * time_s)
    far = np.sin(2 * np.pi * 500 * time_s) + np.sin(2 * np.pi * 2000 * time_s)
    rough, smooth = (roughness(0.02 * tones[:, None], 48_000) for tones in (beating, far))
    assert rough.mean_asper[0] > 0.3
    assert smooth.mean_asper[0] < 0.01


def test_that_silence_is_not_rough() -> None:
    found = roughness(np.zeros((24_000, 2)), 48_000)
    assert np.all(found.asper == 0)
    assert np.all(found.specific_mean_asper == 0)


def test_that_a_channel_may_be_silent_beside_a_loud_one() -> None:
    loud = modulated_tone(level_db=90)
    found = roughness(np.hstack([np.zeros_like(loud), loud]), 48_000)
    assert found.mean_asper[0] == 0
    assert found.mean_asper[1] > 1


@pytest.mark.parametrize("sample_rate_hz", [8_000, 11_025, 22_050, 40_000, 96_000, 44_099])
def test_that_other_rates_read_the_reference_tone_too(sample_rate_hz: int) -> None:
    found = roughness(modulated_tone(sample_rate_hz=sample_rate_hz), sample_rate_hz)
    assert found.mean_asper == pytest.approx([1.0], rel=0.03)


def test_that_less_than_a_frame_is_refused() -> None:
    with pytest.raises(MeasurementError, match="too short"):
        roughness(np.zeros((9_599, 1)), 48_000)


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_that_what_is_not_a_number_is_refused(value: float) -> None:
    signal = modulated_tone()
    signal[20_000] = value
    with pytest.raises(MeasurementError, match="not numbers"):
        roughness(signal, 48_000)
