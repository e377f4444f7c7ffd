"""The noise of the clips: its level, and that no recorder shows under it."""

import numpy as np
import pytest

from ratings.clips.masking import Mask, masked_codes, recorder_step

SEED = "0123456789abcdef0123456789abcdef"
RATE_HZ = 48_000


def sound(rng, seconds=8.0):
    """Low noise as a recorder of many bits hears it, full scale 1.0."""
    return 0.02 * rng.standard_normal((round(seconds * RATE_HZ), 2))


def recorded(samples, bits):
    return np.rint(samples * 2 ** (bits - 1)) / 2 ** (bits - 1)


@pytest.mark.parametrize(("bits", "step"), [(24, 1), (20, 16), (16, 256), (12, 256)])
def test_that_the_step_of_a_recorder_is_found_in_its_samples(bits, step):
    assert recorder_step(recorded(sound(np.random.default_rng(1), 0.1), bits)) == step


def test_that_samples_between_the_steps_of_24_bits_show_no_recorder():
    assert recorder_step(sound(np.random.default_rng(1), 0.1)) == 1


@pytest.mark.parametrize(("step", "level_db"), [(1.0, -144.5), (256.0, -98.1)])
def test_that_the_noise_has_the_level_that_the_docstring_tells(step, level_db):
    samples = recorded(sound(np.random.default_rng(2)), 16)
    error = masked_codes(samples, step, Mask(step, SEED)) / 2**23 - samples
    rms_db = 20 * np.log10(np.sqrt(np.mean(error**2)))
    # With 24 bits the rounding itself adds 1/12 to 1/6 of a step squared, 1.8 dB.
    assert rms_db == pytest.approx(level_db, abs=0.1)
    assert np.abs(error).max() * 2**23 <= step + 0.5
    assert abs(np.mean(error)) < 4 * np.std(error) / np.sqrt(error.size)


def lattice(codes, step):
    """Say how much the values of codes keep to multiples of a step: 0 not at all, 1 only these."""
    return abs(np.mean(np.exp(2j * np.pi * codes.ravel() / step)))


@pytest.mark.parametrize(
    ("bits", "gain"), [(16, 1.0), (16, 0.93), (16, 0.501), (20, 0.93), (24, 1.0), (24, 0.93)]
)
def test_that_no_recorder_shows_in_the_bits_of_a_clip_beside_one_of_16_bits(bits, gain):
    samples = recorded(sound(np.random.default_rng(3)), bits)
    own = recorder_step(samples) * gain
    codes = masked_codes(samples * gain, own, Mask(256.0, SEED))
    # Chance gives 1 / sqrt(number); five times that is never met by chance.
    chance = 5 / np.sqrt(codes.size)
    for looked_for in (own, 256.0 * gain, 256.0, 16.0, 2.0):
        assert lattice(codes, max(looked_for, 2.0)) < chance
    low_bytes = np.bincount((codes.ravel() & 0xFF).astype(np.int64), minlength=256)
    expected = codes.size / 256
    # Chi-square with 255 degrees of freedom: 350 is exceeded once in ten thousand.
    assert ((low_bytes - expected) ** 2 / expected).sum() < 350


def test_that_without_the_mask_the_same_measure_finds_the_recorder_at_once():
    samples = recorded(sound(np.random.default_rng(3)), 16)
    assert lattice(np.rint(samples * 2**23), 256.0) == pytest.approx(1.0)


def test_that_two_copies_differ_by_their_noise_alone_and_one_seed_gives_one_clip():
    samples = recorded(sound(np.random.default_rng(4)), 16)
    first = masked_codes(samples, 256, Mask(256.0, SEED))
    other = masked_codes(samples, 256, Mask(256.0, SEED[::-1]))
    assert (first == masked_codes(samples, 256, Mask(256.0, SEED))).all()
    difference = (first - other).astype(np.float64)
    # Two independent noises of step / sqrt(6).
    assert np.sqrt(np.mean(difference**2)) == pytest.approx(256 / np.sqrt(3), rel=0.01)


def test_that_the_noise_of_a_seed_is_the_same_for_ever():
    codes = masked_codes(np.zeros((3, 2)), 256, Mask(256.0, SEED))
    assert codes.tolist() == KNOWN


KNOWN = [[168, 103], [-24, -153], [-62, -66]]


def test_that_a_sample_at_full_scale_stays_within_it():
    samples = np.full((1000, 2), 1 - 2**-15)
    samples[500:] = -1.0
    codes = masked_codes(samples, 256, Mask(256.0, SEED))
    assert codes.max() <= 2**23 - 1
    assert codes.min() >= -(2**23)
