"""What a session counts and says of the sound of the day, without a window."""

import dataclasses
import sqlite3

import pytest
from PySide6.QtCore import QThreadPool
from quiet_player import QuietPlayer
from studies import small_plan

from app.evaluator.session_presenter import SessionPresenter
from app.listening.pair_sound import SessionSound
from ratings.acoustics.levels import clip_levels
from ratings.intake.making import make_study
from ratings.recordings.read import read_sound
from ratings.study.listening import SIDES

OUTPUT_PA = 20.0
#: An hour at 85 dB(A) as seconds at 100 dB(A), so that midnight is far in any time zone.
HOUR_AT_100_S = 3600.0 / 10**1.5


@pytest.fixture
def study(tmp_path):
    plan = small_plan(tmp_path / "in", sets=3)
    recordings = tuple(dataclasses.replace(r, pa_per_full_scale=1.0) for r in plan.recordings)
    study = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    yield study
    QThreadPool.globalInstance().waitForDone()
    study.close()


@pytest.fixture
def opened(desk, player):
    """Open the session, calibrated unless told otherwise, after the dose of hours at 85 dB(A)."""

    def open_(hours_before=0.0, output_pa=OUTPUT_PA):
        if hours_before:
            desk.note_exposure(hours_before * HOUR_AT_100_S, 100.0)
        sound = SessionSound(desk, output_pa)
        sound.measure()
        presenter = SessionPresenter(desk, player, sound)
        presenter.problems = []
        presenter.problem_raised.connect(presenter.problems.append)
        presenter.begin()
        return presenter

    return open_


def rate_all(presenter):
    presenter.player.hear_both()
    for attribute in presenter.attributes:
        presenter.give(attribute.key, "A", 7.0)
        presenter.give(attribute.key, "B", 6.5)


def written(study):
    raw = sqlite3.connect(study.folder.database)
    query = "SELECT clip_id, seconds, level_db_a FROM exposure ORDER BY exposure_id"
    rows = raw.execute(query).fetchall()
    raw.close()
    return rows


def test_that_what_was_played_is_in_the_study_with_the_level_at_the_ear(
    study, desk, player, opened
):
    presenter = opened()
    player.pass_time(6.0)
    player.switch()
    player.pass_time(4.0)
    rate_all(presenter)
    presenter.go_on()
    player.pass_time(3.0)
    presenter.leave()
    assert [(clip, seconds) for clip, seconds, _ in written(study)] == [
        (None, 6.0),
        (None, 4.0),
        (None, 3.0),
    ]
    # Full scale stands for 1 Pa: 93.979 dB above the clips' levels re full scale; no side's own.
    found = []
    for side in SIDES:
        sound = read_sound(desk.clip_file(desk.pairs[0].clip(side)))
        levels = clip_levels(sound.samples, sound.sample_rate_hz)
        found.append(levels.leq_a_db_re_full_scale + 93.9794)
    first, second, _ = (level for _, _, level in written(study))
    assert first == second
    assert min(found) - 0.5 < first < max(found) + 0.5


def test_that_without_a_calibrated_output_seconds_count_and_the_level_is_unknown(
    study, player, opened
):
    presenter = opened(output_pa=None)
    player.pass_time(6.0)
    presenter.leave()
    assert [(seconds, level) for _, seconds, level in written(study)] == [(6.0, None)]
    assert presenter.exposure_words().startswith(
        "Today: less than 1 min played; level not known, so no dose."
    )


def test_that_a_pair_set_aside_counts_nothing(study, player, opened):
    for sound in (*study.folder.clips.iterdir(), *study.folder.recordings.iterdir()):
        sound.unlink()
    presenter = opened()
    player.pass_time(10.0)
    presenter.set_aside()
    presenter.leave()
    assert written(study) == []


def test_that_the_rest_of_the_session_is_told_with_what_was_before(desk, opened):
    desk.note_exposure(1900.0, 85.0)
    words = opened().exposure_words()
    assert words.startswith(
        "Today: 32 min played, 85 dB(A) on average, 7 % of a day's allowed dose"
    )
    assert "Still to come: about " in words
    assert words.endswith("7 % of a day's allowed dose with it.")


def test_that_the_level_of_a_session_is_the_mean_energy_of_its_clips(desk):
    sound = SessionSound(desk, OUTPUT_PA)
    assert sound.level_db_a() is None
    sound.measure()
    levels = [sound.clip_level_db_a(clip) for p in desk.pairs for clip in (p.clip_a, p.clip_b)]
    assert min(levels) < sound.level_db_a() < max(levels)
    sound.output_pa_per_full_scale = None
    assert sound.level_db_a() is None


def test_that_half_a_dose_is_told_once_between_two_pairs(player, opened):
    presenter = opened(hours_before=3.9)
    presenter.exposure._levels_db_a = {"A": 100.0, "B": 100.0}
    player.pass_time(60.0)
    rate_all(presenter)
    assert presenter.problems == []
    presenter.go_on()
    assert [p.what_happened for p in presenter.problems] == [
        "Half of a day's dose of sound has been played to you today."
    ]
    rate_all(presenter)
    presenter.go_on()
    assert len(presenter.problems) == 1
    presenter.leave()


def test_that_who_opens_a_session_above_half_is_not_told_in_the_first_pair(opened):
    assert opened(hours_before=5.0).problems == []


def test_that_a_full_dose_is_told_at_once_and_asks_to_stop_at_the_next_pair(player, opened):
    presenter = opened(hours_before=7.9)
    presenter.exposure._levels_db_a = {"A": 105.0, "B": 105.0}
    player.pass_time(60.0)
    presenter.exposure.keep()
    assert [p.what_happened for p in presenter.problems] == [
        "A full day's dose of sound has been played to you today."
    ]
    player.pass_time(10.0)
    presenter.exposure.keep()
    assert len(presenter.problems) == 1
    rate_all(presenter)
    presenter.go_on()
    assert presenter.is_asked_to_stop
    assert not presenter.is_over
    assert presenter.form is None
    assert not player.is_playing
    assert presenter.exposure_words().startswith("Today: 16 min played, 101 dB(A) on average")
    assert "Still to come" not in presenter.exposure_words()


def test_that_stopping_is_a_request_and_not_a_lock(player, opened):
    presenter = opened(hours_before=9.0)
    assert presenter.is_asked_to_stop
    assert player.loaded == []
    presenter.pass_full_dose()
    assert presenter.form.pair.position == 1
    assert player.is_playing
    rate_all(presenter)
    presenter.go_on()
    assert presenter.form.pair.position == 2
    assert player.rising == [True, False]
    assert presenter.level_words().endswith(
        "A full day's dose is reached: stop as soon as you can."
    )
    assert presenter.problems == []
    presenter.leave()


def test_that_the_sound_rises_again_after_the_request_to_stop(player, opened):
    presenter = opened(hours_before=7.9)
    assert "full day's dose" not in presenter.level_words()
    presenter.exposure._levels_db_a = {"A": 105.0, "B": 105.0}
    player.pass_time(60.0)
    rate_all(presenter)
    presenter.go_on()
    presenter.pass_full_dose()
    assert player.rising == [True, True]


def test_that_a_finished_session_is_not_asked_to_stop(desk, player, opened):
    presenter = opened()
    for _ in range(presenter.pair_count):
        rate_all(presenter)
        presenter.go_on()
    assert presenter.is_over
    assert "Still to come" not in presenter.exposure_words()
    desk.note_exposure(9 * HOUR_AT_100_S, 100.0)
    again = SessionPresenter(desk, QuietPlayer(), SessionSound(desk, OUTPUT_PA))
    again.begin()
    assert again.is_over
    assert not again.is_asked_to_stop
    assert "please stop for today" in again.exposure_words()


def test_that_no_words_about_the_sound_of_the_day_change_with_a_single_clip(player, opened):
    presenter = opened()
    presenter.exposure._levels_db_a = {"A": 60.0, "B": 90.0}
    player.pass_time(20.0)
    presenter.exposure.keep()
    quiet = presenter.exposure_words()
    player.switch()
    player.pass_time(5.0)
    presenter.exposure.keep()
    assert presenter.exposure_words() == quiet
