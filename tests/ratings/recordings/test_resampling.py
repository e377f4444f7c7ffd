"""Blocks at another rate join to what resampling everything at once gives."""

import math
import tracemalloc

import numpy as np
import pytest
import soundfile
import soxr

from ratings.recordings.opening import open_recording
from ratings.recordings.resampling import at_rate

_RATES = [(51_200, 48_000), (44_100, 48_000), (40_000, 48_000), (48_000, 51_200), (96_000, 48_000)]


@pytest.mark.parametrize(("from_hz", "to_hz"), _RATES)
@pytest.mark.parametrize("block_frames", [1_000, 65_536, None])
def test_that_blocks_equal_the_whole(make_recording, from_hz, to_hz, block_frames) -> None:
    samples = np.random.default_rng(5).uniform(-0.5, 0.5, (150_007, 3))
    path = make_recording(samples=samples, rate_hz=from_hz, subtype="DOUBLE")

    with open_recording(path) as recording:
        if block_frames is None:
            blocks = list(recording.blocks_at(to_hz))
        else:
            blocks = list(at_rate(recording.blocks(block_frames), 3, from_hz, to_hz))

    joined = np.concatenate(blocks)
    assert abs(len(joined) - len(samples) * to_hz / from_hz) <= 1
    np.testing.assert_allclose(
        joined, soxr.resample(samples, from_hz, to_hz, quality="VHQ"), rtol=0, atol=1e-9
    )


def test_that_a_tone_keeps_level_and_place(make_recording) -> None:
    time_s = np.arange(2 * 51_200) / 51_200
    path = make_recording(
        samples=0.5 * np.sin(2 * np.pi * 997 * time_s)[:, np.newaxis],
        rate_hz=51_200,
        subtype="DOUBLE",
    )

    with open_recording(path) as recording:
        found = np.concatenate(list(recording.blocks_at(48_000)))[:, 0]

    expected = 0.5 * np.sin(2 * np.pi * 997 * np.arange(len(found)) / 48_000)
    inner = slice(4_800, -4_800)
    np.testing.assert_allclose(found[inner], expected[inner], rtol=0, atol=1e-6)


def test_that_the_same_rate_leaves_every_sample_alone(make_recording) -> None:
    path = make_recording(channels=2)
    with open_recording(path) as recording:
        whole = recording.read(0, recording.frames)
        np.testing.assert_array_equal(np.concatenate(list(recording.blocks_at(48_000))), whole)


@pytest.mark.parametrize("frames", [1, 2, 997, 65_536])
def test_that_blocks_of_a_wished_length_hold_every_sample_once(make_recording, frames) -> None:
    samples = np.random.default_rng(6).uniform(-0.5, 0.5, (2_000 if frames < 9 else 150_000, 2))
    path = make_recording(samples=samples, subtype="DOUBLE")

    with open_recording(path) as recording:
        blocks = list(recording.blocks(frames))

    assert {len(block) for block in blocks[:-1]} <= {frames}
    assert len(blocks) == math.ceil(len(samples) / frames)
    np.testing.assert_array_equal(np.concatenate(blocks), samples)


def test_that_a_recording_of_one_sample_comes_through(make_recording) -> None:
    path = make_recording(samples=np.array([[0.5, -0.5]]), rate_hz=51_200)
    with open_recording(path) as recording:
        assert sum(map(len, recording.blocks_at(48_000))) in (0, 1, 2)


def test_that_memory_does_not_grow_with_length(tmp_path) -> None:
    second = np.random.default_rng(4).integers(-20_000, 20_000, (51_200, 8), dtype=np.int16)
    peaks = []
    for duration_s in (6, 30):
        path = tmp_path / f"{duration_s}.wav"
        with soundfile.SoundFile(path, "w", 51_200, 8, "PCM_16") as sound_file:
            for _ in range(duration_s):
                sound_file.write(second)
        with open_recording(path) as recording:
            tracemalloc.start()
            frames = sum(map(len, recording.blocks_at(48_000)))
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
        assert frames == duration_s * 48_000

    assert peaks[1] < 1.1 * peaks[0]
