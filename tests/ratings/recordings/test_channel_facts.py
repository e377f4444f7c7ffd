"""Facts of channels do not hang on how the samples come in, and flat peaks are told from round."""

import math

import numpy as np
import pytest

from ratings.recordings.channel_facts import ChannelFacts, ChannelMeter
from ratings.recordings.files.encodings import clipping_magnitude, is_lossy


def _facts(samples: np.ndarray, limit: float, block: int | None = None) -> tuple[ChannelFacts, ...]:
    meter = ChannelMeter(samples.shape[1], limit, 8_000)
    for start in range(0, len(samples), block or len(samples)):
        meter.feed(samples[start : start + (block or len(samples))])
    meter.feed(samples[:0])
    return meter.result()


@pytest.mark.parametrize("limit", [0.9, math.inf])
@pytest.mark.parametrize("block", [1, 2, 3, 7, 997])
def test_that_blocks_of_any_length_give_the_same_facts(limit: float, block: int) -> None:
    generator = np.random.default_rng(1)
    samples = np.clip(generator.normal(0, 1, (3_000, 2)), [-1.0, -5.0], [0.9, 5.0])
    samples[1_200:1_280, 1] = 0.0

    whole, parts = _facts(samples, limit), _facts(samples, limit, block)

    assert whole[0].clipped_samples > 50
    assert [f.clipped_samples for f in parts] == [f.clipped_samples for f in whole]
    assert [f.peak_full_scale for f in parts] == [f.peak_full_scale for f in whole]
    assert [f.lost_s for f in parts] == [f.lost_s for f in whole] == [(), ((0.15, 0.16),)]
    means = [f.mean_full_scale for f in whole]
    assert [f.mean_full_scale for f in parts] == pytest.approx(means, rel=1e-9)
    assert means == pytest.approx(samples.mean(axis=0).tolist(), rel=1e-9)


@pytest.mark.parametrize(
    ("peaks", "flat"),
    [
        ([0, 2, 2, 0, 1], 0),  # two alike happen in sound that is whole
        ([0, 2, 2, 2, 0, 2, 2, 0], 3),
        ([2, 2, 2, 2, 0, 2, 2, 2], 7),
        ([1, 1, 1, 1, 0, 2, 0], 0),  # overtaken by a higher one later
        ([-3, -3, -3, 0, 2, 2, 2], 6),
        ([1, 1, 1, 1], 0),  # nothing but one value is silence
    ],
)
def test_that_runs_at_the_extremes_are_counted(peaks: list[float], flat: int) -> None:
    (facts,) = _facts(np.array(peaks, float)[:, np.newaxis], math.inf)

    assert facts.clipped_samples == flat


def test_that_a_whole_tone_in_pascal_has_no_flat_peaks() -> None:
    time_s = np.arange(48_000) / 48_000
    tone = np.float32(3 * np.sin(2 * np.pi * 250 * time_s)).astype(float)[:, np.newaxis]

    assert _facts(tone, math.inf)[0].clipped_samples == 0
    assert _facts(np.clip(tone, -2.9, 2.9), math.inf)[0].clipped_samples > 5_000


@pytest.mark.parametrize(
    ("encoding", "magnitude", "lossy"),
    [
        ("PCM_16", 32_767 / 32_768, False),
        ("FLOAT", 1.0, False),
        ("VORBIS", 1.0, True),
        ("int16", 32_767.0, False),
        ("float32", math.inf, False),
        ("uint16", math.inf, False),
    ],
)
def test_that_an_encoding_tells_where_clipping_begins(encoding, magnitude, lossy) -> None:
    assert clipping_magnitude(encoding) == magnitude
    assert is_lossy(encoding) is lossy
