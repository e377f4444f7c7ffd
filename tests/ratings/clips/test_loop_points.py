"""The loop lies where its seam is least audible."""

import numpy as np
import pytest

from app.playback.fades import FADE_S, fade_frames
from app.playback.pair import looped
from ratings.clips.loop_points import SEAM_S, Loop, common_loop, seam_level_db
from ratings.errors import RecordingError

_RATE_HZ = 48_000


def _noise(duration_s: float, channels: int = 2, seed: int = 5) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=(round(duration_s * _RATE_HZ), channels)) * 0.05


def find_loop(
    samples: np.ndarray,
    rate_hz: int,
    least_s: float | None = None,
    margin_s: float = 0.0,
    clips: int = 1,
) -> Loop:
    """Give the loop of clips that stand side by side, 0.6 of them at least."""
    least_s = 0.6 * len(samples) / rate_hz if least_s is None else least_s
    found = common_loop(np.split(samples, clips, axis=1), rate_hz, least_s, margin_s)
    assert found.loop is not None, found.no_loop_because
    return found.loop


def test_that_the_seam_is_as_long_as_the_players() -> None:
    assert SEAM_S == FADE_S


@pytest.mark.slow
@pytest.mark.parametrize("shift", [0, 137])
def test_that_a_repeated_piece_is_found(shift: int) -> None:
    clip = _noise(8.0)
    early, late, length = 48_000 + shift, 340_000, 12_000
    clip[late : late + length] = clip[early : early + length]

    loop = find_loop(clip, _RATE_HZ)

    # The A-weighting remembers what came before the piece, by some tens of milliseconds.
    assert loop.seam_db < -40.0
    assert loop.stop_frame - loop.start_frame - round(SEAM_S * _RATE_HZ) == late - early
    assert early <= loop.start_frame < early + length


def test_that_the_joined_tone_keeps_its_level() -> None:
    time_s = np.arange(8 * _RATE_HZ) / _RATE_HZ
    tone = 0.2 * np.sin(2 * np.pi * 1003.2577 * time_s)
    clip = np.stack([tone, tone], axis=1)
    loop = find_loop(clip + _noise(8.0) * 1e-3, _RATE_HZ)
    frames = fade_frames(_RATE_HZ)

    def least_rms(start: int, stop: int) -> float:
        # The player's own join, and the lowest rms of any 2 ms of it.
        joined = looped(clip[start:stop].astype(np.float32), frames)[-frames:, 0]
        squares = np.convolve(joined.astype(np.float64) ** 2, np.ones(96) / 96, mode="valid")
        return float(np.sqrt(squares.min()))

    inside = least_rms(loop.start_frame, loop.stop_frame)
    opposed = least_rms(loop.start_frame + 24, loop.stop_frame)
    assert loop.seam_db < -30.0
    assert 20 * np.log10(inside / (0.2 / np.sqrt(2))) > -0.3
    assert 20 * np.log10(opposed / (0.2 / np.sqrt(2))) < -3.0


@pytest.mark.slow
def test_that_it_is_better_than_the_ends_of_the_clip_and_than_chance() -> None:
    time_s = np.arange(8 * _RATE_HZ) / _RATE_HZ
    ring = 0.1 * np.sin(2 * np.pi * 213.7 * time_s + np.sin(time_s))
    clip = _noise(8.0) + ring[:, np.newaxis]
    found = find_loop(clip, _RATE_HZ)
    generator = np.random.default_rng(1)
    chance = [
        seam_level_db(clip, _RATE_HZ, int(generator.integers(0, 90_000)), 380_000 - 7 * number)
        for number in range(40)
    ]
    assert found.seam_db == pytest.approx(
        seam_level_db(clip, _RATE_HZ, found.start_frame, found.stop_frame)
    )
    assert found.seam_db < min(chance)
    assert found.seam_db < seam_level_db(clip, _RATE_HZ, 0, len(clip)) - 0.3


@pytest.mark.slow
def test_that_level_and_silent_channels_do_not_decide() -> None:
    clip = _noise(6.0)
    scaled = clip * [1.0, 1e-3]
    with_silence = np.concatenate([clip, np.zeros((len(clip), 1))], axis=1)

    loop = find_loop(clip, _RATE_HZ)

    for other in (scaled, with_silence):
        again = find_loop(other, _RATE_HZ)
        assert (again.start_frame, again.stop_frame) == (loop.start_frame, loop.stop_frame)
        assert again.seam_db == pytest.approx(loop.seam_db, abs=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize(("least_s", "margin_s"), [(None, 0.0), (7.5, 0.02), (3.0, 0.5)])
def test_that_length_and_margins_are_kept(least_s: float | None, margin_s: float) -> None:
    loop = find_loop(_noise(8.0), _RATE_HZ, least_s, margin_s)

    least = 0.6 * 8.0 if least_s is None else least_s
    assert loop.start_frame >= margin_s * _RATE_HZ
    assert loop.stop_frame <= (8.0 - margin_s) * _RATE_HZ
    assert loop.stop_frame - loop.start_frame >= least * _RATE_HZ


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 51_200])
def test_that_other_rates_work_too(rate_hz: int) -> None:
    clip = np.random.default_rng(1).normal(size=(4 * rate_hz, 2))
    loop = find_loop(clip, rate_hz)
    assert loop.stop_frame <= len(clip)
    assert loop.seam_db < 0.0


def test_that_no_loop_is_told() -> None:
    found = common_loop([_noise(1.0)], _RATE_HZ, 0.6)
    assert found.no_loop_because == "1.00 s are too short to find a loop of 1.00 s in them."
    assert common_loop([_noise(8.0)], _RATE_HZ, 7.95).loop is None
    with pytest.raises(RecordingError, match="silent"):
        common_loop([np.zeros((8 * _RATE_HZ, 2))], _RATE_HZ, 5.0)


@pytest.mark.slow
def test_that_of_several_clips_the_worst_decides() -> None:
    clips = [_noise(8.0, channels=1, seed=seed) for seed in range(5)]
    length = 12_000
    for clip in clips[1:]:
        # Here all but the first repeat themselves.
        clip[340_000 : 340_000 + length] = clip[48_000 : 48_000 + length]
    for clip in clips:
        # Here all do so in part: seams of 10 log10(1 - 0.75), -6 dB.
        late, early = slice(360_000, 360_000 + length), slice(24_000, 24_000 + length)
        clip[late] = 0.75 * clip[early] + np.sqrt(1 - 0.75**2) * clip[late]
    together = np.concatenate(clips, axis=1)

    def seams_db(loop: Loop) -> list[float]:
        ends = loop.start_frame, loop.stop_frame
        return [seam_level_db(clip, _RATE_HZ, *ends) for clip in clips]

    pooled = find_loop(together, _RATE_HZ)
    for_the_worst = find_loop(together, _RATE_HZ, clips=5)

    assert max(seams_db(pooled)[1:]) < -20.0
    assert seams_db(pooled)[0] > -2.0
    assert for_the_worst.seam_db == pytest.approx(max(seams_db(for_the_worst)))
    assert -8.0 < for_the_worst.seam_db < -4.5


@pytest.mark.slow
def test_that_a_clip_without_sound_does_not_decide() -> None:
    clip = _noise(6.0)
    silent = np.zeros((len(clip), 2))
    loop = find_loop(np.concatenate([clip, silent], axis=1), _RATE_HZ, clips=2)
    assert loop == find_loop(clip, _RATE_HZ)


def test_that_clips_whose_ends_meet_best_have_no_better_loop() -> None:
    clip = np.random.default_rng(5).normal(size=(round(7.0 * 8000) + 37, 2)) * 0.05
    # As long as the seam: no other two places are alike.
    clip[-80:] = clip[:80]
    assert seam_level_db(clip, 8000, 0, len(clip)) < -3.0
    found = common_loop([clip, clip[:, ::-1]], 8000, 5.0)
    assert found.loop is None
    assert found.remark == "whole window: no better loop was found"
    assert found.no_loop_because.startswith("No loop of 5 s or more joins better")
