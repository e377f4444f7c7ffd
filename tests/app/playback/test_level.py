import math

import pytest

from app.playback.level import (
    Ceiling,
    check_output_level,
    level_at_ear_db_a,
    level_at_ear_offset_db,
    lowering_db,
    playback_gain,
    sides_are_far_apart,
)
from ratings.acoustics.levels import ClipLevels
from ratings.errors import PlaybackError

QUIET = ClipLevels(
    peak_full_scale=0.2, leq_a_db_re_full_scale=-30.0, fast_max_a_db_re_full_scale=-25.0
)
SILENT = ClipLevels(0.0, -math.inf, -math.inf)


def with_leq(level_db: float) -> ClipLevels:
    return ClipLevels(0.2, level_db, level_db)


def with_fast_maximum(level_db: float) -> ClipLevels:
    return ClipLevels(0.2, -60.0, level_db)


def test_that_one_pascal_is_93_979_decibels() -> None:
    # Reference 20 uPa: ISO 1683:2015. 20 lg(1 / 20e-6) = 93.9794.
    assert level_at_ear_offset_db(1.0) == pytest.approx(93.9794, abs=1e-4)


def test_that_the_gain_is_the_ratio_of_the_two_calibrations() -> None:
    gain = playback_gain(2.0, 8.0, Ceiling(), QUIET)
    assert gain.linear == 0.25
    assert gain.level_true
    assert gain.sentence == "At recorded level."


@pytest.mark.parametrize(("clip_pa", "output_pa"), [(None, 2.0), (2.0, None), (None, None)])
def test_that_a_missing_calibration_is_said_and_nothing_is_changed(clip_pa, output_pa):
    gain = playback_gain(clip_pa, output_pa, Ceiling(), QUIET)
    assert gain.linear == 1.0
    assert not gain.level_true
    assert gain.sentence == "Same gain for both sides; true level unknown."


def test_that_full_scale_is_allowed_and_anything_above_it_refused() -> None:
    assert playback_gain(10.0, 2.0, Ceiling(), ClipLevels(0.2, -60.0, -60.0)).linear == 5.0
    with pytest.raises(PlaybackError, match="full scale"):
        playback_gain(10.1, 2.0, Ceiling(), ClipLevels(0.2, -60.0, -60.0))
    with pytest.raises(PlaybackError, match="full scale"):
        playback_gain(None, None, Ceiling(), ClipLevels(1.01, -60.0, -60.0))


# With 2 Pa per full scale, full scale is 100 dB: 20 lg(2 / 20e-6).
@pytest.mark.parametrize(
    ("levels", "is_allowed"),
    [
        (with_leq(-15.0), True),
        (with_leq(-14.9), False),
        (with_fast_maximum(-5.0), True),
        (with_fast_maximum(-4.9), False),
        (SILENT, True),
    ],
)
def test_that_the_ceiling_refuses_just_above_85_and_95_decibels(levels, is_allowed) -> None:
    if is_allowed:
        assert playback_gain(2.0, 4.0, Ceiling(), levels).linear == 0.5
    else:
        with pytest.raises(PlaybackError, match="above the ceiling of 85"):
            playback_gain(2.0, 4.0, Ceiling(), levels)


def test_that_the_ceiling_is_a_setting() -> None:
    assert playback_gain(2.0, 4.0, Ceiling(90.0, 99.0), with_leq(-11.0)).level_true
    with pytest.raises(PlaybackError, match="ceiling of 80"):
        playback_gain(2.0, 4.0, Ceiling(equivalent_db_a=80.0), with_leq(-15.0))


def test_that_a_known_level_is_checked_even_when_it_is_not_true() -> None:
    with pytest.raises(PlaybackError, match="ceiling"):
        playback_gain(None, 2.0, Ceiling(), with_leq(-14.0))


@pytest.mark.parametrize("pressure", [0.0, -1.0, math.nan, math.inf])
def test_that_a_calibration_that_is_no_pressure_is_refused(pressure: float) -> None:
    with pytest.raises(PlaybackError, match="not a pressure"):
        playback_gain(pressure, 2.0, Ceiling(), QUIET)
    with pytest.raises(PlaybackError, match="not a pressure"):
        playback_gain(2.0, pressure, Ceiling(), QUIET)


def test_that_levels_that_are_not_numbers_are_refused() -> None:
    with pytest.raises(PlaybackError):
        playback_gain(2.0, 4.0, Ceiling(), ClipLevels(math.nan, -60.0, -60.0))
    with pytest.raises(PlaybackError):
        playback_gain(2.0, 4.0, Ceiling(), with_leq(math.nan))


def test_that_the_level_at_the_ear_is_that_of_the_recording() -> None:
    # -30 dB re full scale at 2 Pa per full scale, whatever the output: 93.979 + 6.021 - 30.
    for output_pa in (1.0, 8.0):
        assert level_at_ear_db_a(2.0, output_pa, QUIET) == pytest.approx(70.0, abs=0.001)
    assert level_at_ear_db_a(2.0, 8.0, SILENT) == -math.inf


def test_that_the_level_at_the_ear_is_unknown_without_both_calibrations() -> None:
    for clip_pa, output_pa in ((None, 2.0), (2.0, None), (None, None)):
        assert level_at_ear_db_a(clip_pa, output_pa, QUIET) is None


def test_that_below_is_the_same_step_for_every_clip_and_said() -> None:
    gain = playback_gain(2.0, 8.0, Ceiling(), QUIET, below_db=3.0)
    assert gain.linear == pytest.approx(0.25 * 10 ** (-3.0 / 20))
    assert gain.sentence == "3.0 dB below the recorded level."
    assert level_at_ear_db_a(2.0, 8.0, QUIET, below_db=3.0) == pytest.approx(67.0, abs=0.001)
    unknown = playback_gain(2.0, None, Ceiling(), QUIET, below_db=20.0)
    assert unknown.linear == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("levels", "needed_db"),
    [
        (with_leq(-15.0), 0.0),
        (with_leq(-14.9), 0.5),
        (with_leq(-12.0), 3.0),
        (with_fast_maximum(-4.4), 1.0),
        # 2 Pa full scale on an output of 4 Pa: a sample of 1.0 is half of full scale.
        (ClipLevels(2.1, -60.0, -60.0), 0.5),
        (SILENT, 0.0),
    ],
)
def test_that_lowering_is_just_enough_for_the_clip_to_be_played(levels, needed_db) -> None:
    assert lowering_db(2.0, 4.0, Ceiling(), levels) == needed_db
    assert playback_gain(2.0, 4.0, Ceiling(), levels, below_db=needed_db).level_true


@pytest.mark.parametrize("level_db", [50.0, 79.9, 135.1, math.nan, math.inf])
def test_that_what_no_headphones_give_is_refused_as_their_level(level_db) -> None:
    with pytest.raises(PlaybackError, match="not what headphones give"):
        check_output_level(level_db)
    check_output_level(117.0)


def test_that_clips_far_apart_are_told_by_level_and_gain_together() -> None:
    assert not sides_are_far_apart((1.0, with_leq(-30.0)), (1.0, with_leq(-50.0)))
    assert sides_are_far_apart((1.0, with_leq(-30.0)), (1.0, with_leq(-50.1)))
    assert not sides_are_far_apart((0.1, with_leq(-30.0)), (1.0, with_leq(-50.1)))
    assert sides_are_far_apart((0.001, with_leq(-30.0)), (1.0, with_leq(-30.0)))
    assert sides_are_far_apart((1.0, SILENT), (1.0, with_leq(-30.0)))
    assert not sides_are_far_apart((1.0, SILENT), (1.0, SILENT))
    assert sides_are_far_apart((1.0, with_leq(math.nan)), (1.0, with_leq(-30.0)))
