"""The speed in a channel of the recording."""

from pathlib import Path

import numpy as np
import pytest

from ratings.errors import RecordingError
from ratings.recordings.speed.channels import speed_from_channel, speed_from_pulses


def test_that_a_voltage_times_its_factor_is_the_speed(make_recording, tmp_path: Path) -> None:
    time_s = np.arange(6 * 44_100) / 44_100
    speed_km_h = 100.0 - 5.0 * time_s
    hum = 0.002 * np.sin(2 * np.pi * 50 * time_s)
    samples = np.stack([np.zeros_like(time_s), speed_km_h / 250 + hum], axis=1)
    path = make_recording(samples=samples, rate_hz=44_100, subtype="PCM_24")

    record = speed_from_channel(path, 1, km_h_per_unit=250.0, offset_s=1.0)

    trace = record.trace
    assert len(trace.times_s) == 60
    # Five periods of the hum per mean: it leaves nothing.
    np.testing.assert_allclose(trace.speed_km_h, 100.0 - 5.0 * (trace.times_s - 1.0), atol=1e-3)
    assert record.remarks == ("speed from channel 2, means over 0.1 s",)


def test_that_a_standing_car_is_no_negative_speed(make_recording) -> None:
    samples = np.full((48_000, 1), -0.001)
    record = speed_from_channel(make_recording(samples=samples, subtype="FLOAT"), 0, 250.0)

    assert not record.trace.speed_km_h.any()
    assert "10 speeds just below zero" in record.remarks[1]


@pytest.mark.parametrize(
    ("channel", "factor", "sentence"),
    [
        (2, 250.0, "has no channel 3; it has 2"),
        (-1, 250.0, "has no channel 0"),
        (0, 0.0, "factor"),
        (0, float("nan"), "factor"),
        (0, -250.0, "below zero"),
    ],
)
def test_that_a_wrong_channel_is_refused(
    make_recording, channel: int, factor: float, sentence: str
) -> None:
    path = make_recording(samples=np.full((48_000, 2), 0.2))
    with pytest.raises(RecordingError, match=sentence):
        speed_from_channel(path, channel, factor)


@pytest.mark.parametrize("level", [0.0, -0.4])
def test_that_pulses_count_the_way(make_recording, level: float) -> None:
    # 100 pulses per metre at a speed that falls from 20 to 8 m/s: a closed form of the way.
    time_s = np.arange(6 * 48_000) / 48_000
    way_m = 20.0 * time_s - time_s**2
    noise = np.random.default_rng(2).uniform(-0.1, 0.1, len(time_s))
    pulses = 0.4 * np.sign(np.sin(2 * np.pi * 100.0 * way_m)) + level + noise
    path = make_recording(samples=pulses[:, np.newaxis], subtype="PCM_24")

    trace = speed_from_pulses(path, 0, pulses_per_metre=100.0).trace

    expected = 3.6 * (20.0 - 2.0 * trace.times_s)
    # An edge lies within a frame of 0.02 ms, of 0.1 s.
    np.testing.assert_allclose(trace.speed_km_h, expected, rtol=5e-4)
    assert trace.times_s[0] < 0.1
    assert trace.times_s[-1] > 5.8


def test_that_pulses_at_the_edges_of_blocks_are_counted_once(make_recording) -> None:
    # A block of one channel holds 2^18 frames; a rise stands exactly there.
    frames = 2**18 + 48_000
    pulses = np.where(np.arange(frames) % 64 < 32, 0.4, -0.4)
    path = make_recording(samples=pulses[:, np.newaxis], subtype="PCM_24")

    trace = speed_from_pulses(path, 0, pulses_per_metre=75.0).trace

    np.testing.assert_allclose(trace.speed_km_h, 750 / 75 * 3.6, rtol=1e-9)


def test_that_too_few_pulses_are_told(make_recording) -> None:
    path = make_recording(samples=np.zeros((48_000, 1)))
    with pytest.raises(RecordingError, match="too few pulses"):
        speed_from_pulses(path, 0, 100.0)
    with pytest.raises(RecordingError, match="above 0"):
        speed_from_pulses(path, 0, 0.0)
