"""Switching between two copies of one stretch, as a null pair does, is not heard."""

import numpy as np
import pytest

from app.playback.fades import (
    correlation_within_full_scale,
    crossfade,
    fade_frames,
    zero_lag_correlation,
)
from ratings.clips.masking import Mask, masked_codes

RATE_HZ = 48_000
SEEDS = ("0123456789abcdef" * 2, "fedcba9876543210" * 2)


@pytest.mark.parametrize("step", [1.0, 256.0])
@pytest.mark.parametrize("rms", [0.001, 0.05, 0.2])
def test_that_a_switch_between_copies_adds_nothing_to_their_noise(step, rms):
    rng = np.random.default_rng(5)
    recorded = np.clip(rms * rng.standard_normal((RATE_HZ, 2)), -0.9, 0.9)
    first, second = (
        (masked_codes(recorded, 0.0, Mask(step, seed)) / 2**23).astype(np.float32) for seed in SEEDS
    )
    peak = float(max(np.abs(first).max(), np.abs(second).max()))
    correlation = zero_lag_correlation(first, second)
    fade = crossfade(fade_frames(RATE_HZ), correlation_within_full_scale(correlation, peak))
    frames = len(fade.both)
    noise = (second - recorded).std()
    worst = 0.0
    for start in range(0, RATE_HZ - frames, frames):
        stretch = slice(start, start + frames)
        x, y = first[stretch], second[stretch]
        mixed = fade.both * y + fade.first * (x - y)
        worst = max(worst, (mixed - recorded[stretch]).std() / noise)
    # Nowhere in a hundred switches more than the noise of either copy, but for its own scatter
    # over the 960 values of a fade.
    assert worst < 1.15
