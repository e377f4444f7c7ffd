import numpy as np
import pytest

from app.playback.pair import LoadedPair, prepared
from ratings.errors import PlaybackError

RATE_HZ = 48000


def test_that_the_seam_is_the_clips_end_faded_into_its_beginning(noise_pair) -> None:
    audio = prepared(noise_pair)
    clip = noise_pair.a.astype(float)
    head, tail = clip[:480], clip[-480:]
    correlation = max(0.0, (head * tail).sum() / np.sqrt((head**2).sum() * (tail**2).sum()))
    angle = (np.arange(1, 481) / 480 * np.pi / 2)[:, np.newaxis]
    root = np.sqrt(1 + correlation * np.sin(2 * angle))
    expected = (np.cos(angle) * tail + np.sin(angle) * head) / root
    np.testing.assert_allclose(audio.looped_a[-480:], expected, atol=1e-6)
    np.testing.assert_array_equal(audio.looped_a[:-480], noise_pair.a[:-480])


def test_that_the_frame_after_the_seam_follows_without_a_step() -> None:
    time_s = np.arange(RATE_HZ) / RATE_HZ
    tone = np.sin(2 * np.pi * 100.3 * time_s)[:, np.newaxis].repeat(2, axis=1).astype(np.float32)
    looped = prepared(LoadedPair(tone, tone, RATE_HZ)).looped_a
    joined = np.concatenate([looped, looped[480:]])
    own_step = np.abs(np.diff(tone, axis=0)).max()
    assert np.abs(np.diff(joined, axis=0)).max() < own_step + np.pi / 2 / 480 * 2
    np.testing.assert_array_equal(looped[-1], tone[479])


def test_that_the_seam_is_not_louder_than_the_clip() -> None:
    # Head and tail out of phase in one channel only: an equal-power seam would add up to 1.4.
    clip = np.full((RATE_HZ, 2), 0.9, np.float32)
    clip[:480, 1] = -0.9
    assert np.abs(prepared(LoadedPair(clip, clip, RATE_HZ)).looped_a).max() <= np.float32(0.9)


def test_that_the_ending_fades_to_exactly_nothing(noise_pair) -> None:
    ending = prepared(noise_pair).ending_b
    angle = (np.arange(479, -1, -1) / 480 * np.pi / 2)[:, np.newaxis]
    np.testing.assert_allclose(ending, noise_pair.b[-480:] * np.sin(angle) ** 2, atol=1e-7)
    assert np.all(ending[-1] == 0.0)


def test_that_the_clips_themselves_are_left_alone(noise_pair) -> None:
    before = noise_pair.a.copy()
    prepared(noise_pair)
    np.testing.assert_array_equal(noise_pair.a, before)


def refused(a: np.ndarray, b: np.ndarray, gain: float = 1.0) -> str:
    with pytest.raises(PlaybackError) as refusal:
        prepared(LoadedPair(a, b, RATE_HZ, gain, gain))
    assert refusal.value.what_to_do
    return refusal.value.what_happened


def test_that_clips_that_cannot_be_compared_are_refused_in_words(noise) -> None:
    clip = noise(0.5, 1)
    broken = clip.copy()
    broken[7, 1] = np.nan
    assert "equally long" in refused(clip, clip[:-1])
    assert "shorter than" in refused(clip[:100], clip[:100])
    assert "two channels" in refused(clip[:, :1], clip[:, :1])
    assert "two channels" in refused(clip.astype(np.float64), clip)
    assert "not numbers" in refused(clip, broken)
    assert "full scale" in refused(clip, clip, gain=1.01 / float(np.abs(clip).max()))


def test_that_sides_more_than_20_db_apart_are_refused_by_the_player_itself(noise) -> None:
    clip = noise(1.0, 1)
    prepared(LoadedPair(clip, clip, RATE_HZ, 1.0, 0.101))
    for gain in (0.099, 0.001, 0.0):
        with pytest.raises(PlaybackError, match="sides are more than 20 dB apart"):
            prepared(LoadedPair(clip, clip, RATE_HZ, 1.0, gain))
    with pytest.raises(PlaybackError, match="more than 20 dB apart"):
        prepared(LoadedPair(clip, clip * np.float32(0.001), RATE_HZ))


@pytest.mark.parametrize("gain", [float("nan"), float("inf"), -1.0])
def test_that_what_is_no_gain_is_refused_before_it_is_played(noise, gain) -> None:
    with pytest.raises(PlaybackError, match="is not one"):
        prepared(LoadedPair(noise(1.0, 1), noise(1.0, 2), RATE_HZ, 1.0, gain))
