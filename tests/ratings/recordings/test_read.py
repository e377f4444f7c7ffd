"""What is read is what was written, and the facts are those of the samples."""

import hashlib
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile

from ratings.recordings.read import describe, read_sound


@pytest.mark.parametrize(
    ("name", "subtype", "bits"),
    [
        ("run.wav", "PCM_U8", 8),
        ("run.wav", "PCM_16", 16),
        ("run.wav", "PCM_24", 24),
        ("run.wav", "PCM_32", 32),
        ("run.flac", "PCM_16", 16),
        ("run.flac", "PCM_24", 24),
    ],
)
def test_that_integer_samples_are_read_as_fractions_of_full_scale(
    make_recording, name: str, subtype: str, bits: int
) -> None:
    generator = np.random.default_rng(1)
    codes = generator.integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (5000, 3))
    path = make_recording(name, (codes << (32 - bits)).astype(np.int32), subtype=subtype)

    sound = read_sound(path)

    assert sound.samples.dtype == np.float64
    np.testing.assert_array_equal(sound.samples, codes / 2 ** (bits - 1))
    assert sound.sample_rate_hz == 48_000


def test_that_floating_point_beyond_full_scale_is_kept(make_recording) -> None:
    samples = np.array([[0.0], [1.5], [-2.25]] * 100)
    path = make_recording(samples=samples, subtype="FLOAT")

    np.testing.assert_array_equal(read_sound(path).samples, samples)
    assert describe(path).peak_full_scale == 2.25
    assert describe(path).clipped_samples == 200


@pytest.mark.parametrize("name", ["run.wav", "run.flac", "run.ogg"])
def test_that_a_stretch_equals_that_part_of_the_whole(make_recording, name: str) -> None:
    path = make_recording(name)
    whole = read_sound(path).samples

    np.testing.assert_array_equal(read_sound(path, 50_001, 90_017).samples, whole[50_001:90_017])


@pytest.mark.parametrize(("start", "stop"), [(-1, 10), (10, 5), (0, 10_000_000)])
def test_that_a_stretch_outside_the_recording_is_refused(make_recording, start, stop) -> None:
    with pytest.raises(ValueError, match="do not lie within"):
        read_sound(make_recording(), start, stop)


def test_that_the_facts_are_those_of_the_file(make_recording) -> None:
    # Longer than one block, with the extremes at known places.
    samples = np.random.default_rng(2).uniform(-0.2, 0.2, (400_000, 2))
    samples[:, 0] += 0.05
    samples[399_999, 1] = -0.75
    samples[7, 0] = 0.5
    path = make_recording("run.flac", samples, rate_hz=44_100, subtype="PCM_24")
    read = soundfile.read(path)[0]

    facts = describe(path)

    assert facts.name == "run.flac"
    assert (facts.container, facts.encoding) == ("FLAC", "PCM_24")
    assert (facts.channels, facts.frames, facts.sample_rate_hz) == (2, 400_000, 44_100)
    assert facts.duration_s == pytest.approx(400_000 / 44_100)
    assert facts.content_hash == hashlib.sha256(path.read_bytes()).hexdigest()
    assert facts.peak_full_scale == 0.75
    assert [channel.peak_full_scale for channel in facts.by_channel] == [0.5, 0.75]
    means = [channel.mean_full_scale for channel in facts.by_channel]
    assert means == pytest.approx(read.mean(axis=0).tolist(), abs=1e-12)
    assert facts.clipped_samples == 0
    assert not facts.is_silent
    assert not facts.is_lossy


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24"])
def test_that_samples_at_full_scale_are_counted_per_channel(make_recording, subtype) -> None:
    samples = np.full((1000, 2), 0.5)
    samples[10:15, 0] = 1.0
    samples[20:22, 0] = -1.0
    samples[700, 1] = -1.0

    facts = describe(make_recording(samples=samples, subtype=subtype))

    assert [channel.clipped_samples for channel in facts.by_channel] == [7, 1]
    assert facts.clipped_samples == 8


def test_that_a_silent_channel_and_a_silent_file_are_seen(make_recording) -> None:
    half = np.zeros((5000, 2))
    half[:, 1] = np.sin(np.arange(5000))
    half[:, 0] = 0.25  # an offset is nothing to hear either
    facts = describe(make_recording(samples=half))

    assert [channel.is_silent for channel in facts.by_channel] == [True, False]
    assert not facts.is_silent
    assert describe(make_recording("still.wav", np.zeros((5000, 2)))).is_silent


def test_that_one_sample_is_a_recording_with_facts(make_recording) -> None:
    facts = describe(make_recording(samples=np.array([[0.5, -0.25]])))

    assert facts.frames == 1
    assert facts.is_silent


def test_that_lossy_recordings_are_known(make_recording) -> None:
    assert describe(make_recording("run.ogg")).is_lossy


def _long_file(path: Path, duration_s: int) -> Path:
    second = np.random.default_rng(4).integers(-20_000, 20_000, (48_000, 8), dtype=np.int16)
    with soundfile.SoundFile(path, "w", 48_000, 8, "PCM_16") as sound_file:
        for _ in range(duration_s):
            sound_file.write(second)
    return path


def test_that_memory_for_the_facts_does_not_grow_with_length(tmp_path: Path) -> None:
    peaks = []
    for duration_s in (6, 60):
        path = _long_file(tmp_path / f"{duration_s}.wav", duration_s)
        tracemalloc.start()
        facts = describe(path)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert facts.frames == duration_s * 48_000

    # 60 s of 8 channels would be 184 MB as a whole.
    assert peaks[1] < 1.1 * peaks[0]
    assert peaks[1] < 12e6
