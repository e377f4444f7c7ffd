"""Recordings and one wish become clips alike, whoever asks."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from studies import write_noise

from ratings.clips.alike import ClipWish, cut_alike, expected_length_s, scale_of
from ratings.clips.sources import ClipSource, clip_source
from ratings.errors import DesignError, FullScaleError, RecordingError
from ratings.study.runs import ConstantSpeed
from ratings.study.sets import Condition

RATE_HZ = 8000


@pytest.fixture
def runs(tmp_path: Path) -> list[ClipSource]:
    """Three recordings of 10 s."""
    return [
        clip_source(write_noise(tmp_path / f"{name}.wav", seed, 10.0), speed=ConstantSpeed(80.0))
        for seed, name in enumerate(("first", "second", "third"))
    ]


def test_that_a_few_lines_give_clips_of_one_loop(runs: list[ClipSource]) -> None:
    alike = cut_alike(runs)

    sounds = [clip.sound() for clip in alike.clips]
    assert alike.loop is not None
    assert {len(sound.codes) for sound in sounds} == {alike.loop.stop_frame}
    assert 5 * RATE_HZ <= alike.loop.stop_frame < 8 * RATE_HZ
    for run, clip, sound in zip(runs, alike.clips, sounds, strict=True):
        first = round(clip.cut.start_s * RATE_HZ)
        whole = soundfile.read(run.path)[0]
        np.testing.assert_array_equal(sound.samples, whole[first : first + len(sound.codes)])


def test_that_a_marked_loop_lies_in_the_whole_window_clear_of_its_fades(runs) -> None:
    marked = cut_alike(runs, ClipWish(loop="mark", fade_s=0.5))
    (ends,) = {(clip.cut.start_s, clip.cut.stop_s) for clip in marked.clips}
    assert ends == (1.0, 9.0)
    assert marked.loop.start_frame >= 0.5 * RATE_HZ
    assert marked.loop.stop_frame <= 7.5 * RATE_HZ
    assert cut_alike(runs, ClipWish(loop="none")).loop is None
    with pytest.raises(RecordingError, match="have no fades"):
        ClipWish(fade_s=0.02)


def test_that_a_wish_by_speed_needs_every_speed(runs, tmp_path: Path) -> None:
    unknown = clip_source(write_noise(tmp_path / "unknown.wav", 9, 10.0))
    wish = ClipWish(speeds_km_h=(80.0, 80.0))
    assert cut_alike(runs, wish).clips[0].speeds_km_h == (80.0, 80.0)
    with pytest.raises(RecordingError, match=r"The speed over 'unknown\.wav' is not known"):
        cut_alike([*runs, unknown], wish)


def test_that_of_clips_that_are_too_loud_the_loudest_is_named(runs, tmp_path: Path) -> None:
    loud = tmp_path / "loud.wav"
    soundfile.write(loud, 4 * soundfile.read(runs[0].path)[0], RATE_HZ)
    sources = [*runs, clip_source(loud)]
    peak = np.abs(soundfile.read(loud)[0][RATE_HZ:-RATE_HZ]).max()
    with pytest.raises(FullScaleError, match=r"'loud\.wav' would exceed") as told:
        cut_alike(sources, scale=scale_of(sources, gain_db=30.0))
    assert told.value.clips == 4
    assert told.value.over_db == pytest.approx(30 + 20 * np.log10(peak), abs=0.1)


def test_that_only_some_known_calibrations_are_refused(runs) -> None:
    known = clip_source(runs[0].path, pa_per_full_scale=20.0)
    with pytest.raises(DesignError, match="1 of 3 recordings are calibrated"):
        cut_alike([known, *runs[1:]])


def test_that_a_channel_that_is_not_there_is_refused_at_once(runs) -> None:
    with pytest.raises(RecordingError, match=r"'first\.wav' has no channel 3; it has 2"):
        clip_source(runs[0].path, right_channel=2)


@pytest.mark.parametrize(
    ("condition", "longest_s"),
    [
        (Condition(1, "asphalt", "steady", 80), 8.0),
        (Condition(1, "asphalt", "coast-down", 80, 40), 12.0),
        (Condition(1, "asphalt", "coast-down"), 12.0),
    ],
)
def test_that_the_length_to_be_expected_is_that_of_the_window(condition, longest_s) -> None:
    assert expected_length_s(condition, [30.0, 20.0]) == longest_s
    assert expected_length_s(condition, [30.0, 6.5]) == 6.5
