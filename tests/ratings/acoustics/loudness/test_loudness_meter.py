"""Loudness of sounds made here, with expected values of the standard."""

import math

import numpy as np
import pytest
from known_recordings import tone_pa

from ratings.acoustics.loudness.meter import TIME_STEP_S, Loudness, LoudnessMeter, loudness
from ratings.errors import MeasurementError

RATE_HZ = 48_000


def road_noise(duration_s: float, channels: int, level_db: float = 80.0):
    frames = round(duration_s * RATE_HZ)
    spectrum = np.fft.rfft(np.random.default_rng(9).normal(size=(frames, channels)), axis=0)
    frequency_hz = np.arange(len(spectrum))[:, None] * RATE_HZ / frames
    noise = np.fft.irfft(spectrum / (1 + (frequency_hz / 40) ** 2) ** 0.75, frames, axis=0)
    return noise * (20e-6 * 10 ** (level_db / 20) / np.sqrt(np.mean(noise**2, axis=0)))


def of_one_channel(signal, field="free") -> Loudness:
    return loudness(signal[:, None], RATE_HZ, field)


@pytest.mark.parametrize(
    ("frequency_hz", "level_db", "expected_sone"),
    # ISO 532-1:2017, clause 5 (sone and phon: 1 sone at 40 phon, twice as loud every 10 phon).
    [(1000, 40, 1.0), (1000, 50, 2.0), (1000, 70, 8.0)],
)
def test_that_a_tone_has_the_loudness_of_the_standard(
    frequency_hz, level_db, expected_sone
) -> None:
    found = of_one_channel(tone_pa(frequency_hz, level_db, 2.0, RATE_HZ))
    assert found.n_sone == pytest.approx([expected_sone], rel=0.015)
    assert found.n5_sone == pytest.approx([expected_sone], rel=0.015)
    assert found.time_history_sone[-1] == pytest.approx(found.n_sone, rel=1e-4)


def test_that_every_figure_is_the_same_for_any_blocks() -> None:
    signal = road_noise(6.3, 2)
    whole = loudness(signal, RATE_HZ, "diffuse")
    meter = LoudnessMeter(RATE_HZ, 2, "diffuse")
    start = 0
    sizes = [1, 997, 65_536, 0, 240_000]
    for index in range(100):
        size = sizes[index % len(sizes)]
        meter.feed(signal[start : start + size])
        start += size
    in_blocks = meter.result()
    for name in Loudness.__slots__:
        found, expected = getattr(in_blocks, name), getattr(whole, name)
        assert found == pytest.approx(expected, rel=1e-9), name


@pytest.mark.slow
def test_that_a_channel_does_not_hear_the_others() -> None:
    signal = road_noise(1.2, 12)
    signal[:, 5] *= 0.01
    together = loudness(signal, RATE_HZ, "free")
    for channel in (0, 5, 11):
        alone = of_one_channel(signal[:, channel])
        assert together.time_history_sone[:, channel] == pytest.approx(
            alone.time_history_sone[:, 0], rel=1e-5
        )
        assert together.n_sone[channel] == pytest.approx(alone.n_sone[0], rel=1e-9)
        assert together.sharpness_acum[channel] == pytest.approx(alone.sharpness_acum[0], rel=1e-9)


def test_that_there_is_no_joint_between_the_stretches() -> None:
    # Stretches of 5 s: the same sound 1.7 s later is cut elsewhere.
    signal = road_noise(7.0, 1)
    later = np.concatenate([np.zeros((81_600, 1)), signal])
    found, shifted = loudness(signal, RATE_HZ), loudness(later, RATE_HZ)
    assert shifted.time_history_sone[850:] == pytest.approx(found.time_history_sone, rel=1e-3)


def test_that_the_blow_at_the_start_does_not_count_in_the_steady_loudness() -> None:
    signal = road_noise(3.0, 1, 90.0)
    from_the_middle = loudness(signal[24_000:], RATE_HZ).n_sone
    assert loudness(signal, RATE_HZ).n_sone == pytest.approx(from_the_middle, rel=0.03)
    offset = loudness(signal + 2.0, RATE_HZ).n_sone
    assert offset == pytest.approx(loudness(signal, RATE_HZ).n_sone, rel=1e-3)


def test_that_a_constant_offset_has_no_loudness() -> None:
    # A meter's microphone does not pass it; and it would begin with a blow.
    signal = road_noise(6.0, 2)
    plain, offset = loudness(signal, RATE_HZ), loudness(signal + np.array([1.0, -5.0]), RATE_HZ)
    # The sound's own mean goes with it, which shows at the very beginning.
    assert offset.nmax_sone == pytest.approx(plain.nmax_sone, rel=0.02)
    assert offset.n5_sone == pytest.approx(plain.n5_sone, rel=1e-3)
    assert offset.time_history_sone[250:] == pytest.approx(plain.time_history_sone[250:], rel=1e-3)
    assert offset.n_sone == pytest.approx(plain.n_sone, rel=1e-6)


def test_that_steady_noise_reads_alike_in_every_way() -> None:
    found = loudness(road_noise(4.0, 3), RATE_HZ, "diffuse")
    assert found.time_history_sone.shape == (2000, 3)
    assert found.specific_loudness.shape == found.mean_specific_loudness.shape == (3, 240)
    assert found.specific_loudness.sum(axis=1) * 0.1 == pytest.approx(found.n_sone, rel=0.02)
    assert found.mean_specific_loudness.sum(axis=1) * 0.1 == pytest.approx(found.n_sone, rel=0.05)
    assert np.median(found.time_history_sone, axis=0) == pytest.approx(found.n_sone, rel=0.05)
    assert (found.nmax_sone >= found.n5_sone).all()
    expected = [40 + 10 * math.log2(n_sone) for n_sone in found.n_sone]
    assert found.loudness_level_phon == pytest.approx(expected, rel=1e-12)


def test_that_silence_has_no_loudness_and_no_sharpness() -> None:
    found = loudness(np.zeros((RATE_HZ, 2)), RATE_HZ)
    for n_sone in (found.n_sone, found.n5_sone, found.nmax_sone):
        assert n_sone.tolist() == [0.0, 0.0]
    assert np.isnan(found.sharpness_acum).all()
    assert found.loudness_level_phon.tolist() == [3.0, 3.0]


def test_that_a_tenth_of_a_second_is_enough() -> None:
    found = of_one_channel(tone_pa(1000, 60, 0.1, RATE_HZ))
    assert len(found.time_history_sone) * TIME_STEP_S == pytest.approx(0.1)
    assert found.n_sone == pytest.approx([4.0], rel=0.1)


def test_that_less_than_two_milliseconds_are_refused() -> None:
    meter = LoudnessMeter(RATE_HZ, 1)
    meter.feed(np.zeros((95, 1)))
    with pytest.raises(MeasurementError, match="2 ms"):
        meter.result()


def test_that_other_rates_are_refused() -> None:
    with pytest.raises(MeasurementError, match="44100 Hz"):
        LoudnessMeter(44_100, 1)


@pytest.mark.parametrize("value", [math.nan, math.inf, 1e9])
def test_that_what_is_no_sound_pressure_is_refused(value: float) -> None:
    signal = np.zeros((480, 2))
    signal[7, 1] = value
    with pytest.raises(MeasurementError, match="not numbers"):
        loudness(signal, RATE_HZ)
