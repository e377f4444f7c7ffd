import numpy as np
import pytest

from app.playback.pair import prepared
from app.playback.trial import level_tone, trial_noise
from ratings.acoustics.levels import clip_levels

FULL_SCALE_SINE_DB_RE_FULL_SCALE = -3.0103


def played_db_a(pair) -> float:
    samples = pair.a.astype(float) * pair.gain_a
    return clip_levels(samples, pair.sample_rate_hz).leq_a_db_re_full_scale


@pytest.mark.parametrize("output_db", [80.0, 100.0, 120.0, 135.0])
def test_that_the_tone_gives_60_db_if_the_figure_is_right(output_db: float) -> None:
    # Where a full-scale sine gives output_db, 0 dB re full scale gives 3.01 dB more.
    at_ear_db = played_db_a(level_tone(output_db)) + output_db - FULL_SCALE_SINE_DB_RE_FULL_SCALE
    assert at_ear_db == pytest.approx(60.0, abs=0.02)


def test_that_a_figure_20_db_too_low_makes_the_tone_20_db_too_loud() -> None:
    right, mistyped = level_tone(120.0), level_tone(100.0)
    assert played_db_a(mistyped) - played_db_a(right) == pytest.approx(20.0, abs=0.01)


def test_that_the_tone_loops_without_a_seam() -> None:
    audio = prepared(level_tone(120.0))
    whole = np.concatenate([audio.looped_a[-2000:], audio.looped_a[480:2480]])[:, 0].astype(float)
    # A sine meets its own next value: x[n + 1] + x[n - 1] = 2 cos(w) x[n].
    rest = whole[2:] + whole[:-2] - 2 * np.cos(2 * np.pi / 48) * whole[1:-1]
    assert np.abs(rest).max() < 1e-5


@pytest.mark.parametrize("clip_db", [-45.0, -25.0])
def test_that_the_trial_noise_is_as_loud_as_the_clip(clip_db: float) -> None:
    noise = trial_noise(clip_db, 0.1)
    assert played_db_a(noise) == pytest.approx(clip_db - 20.0, abs=0.02)
    assert prepared(noise).highest_gain_a == 1.0


def test_that_a_loud_trial_noise_stays_within_full_scale() -> None:
    assert np.abs(trial_noise(3.0, 0.1).a).max() == pytest.approx(0.99, abs=1e-6)
