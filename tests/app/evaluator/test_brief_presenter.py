"""What a seat sets and hears before the first pair, without a window."""

import dataclasses
import sqlite3

import pytest
import soundfile
from brief_player import BriefPlayer
from PySide6.QtCore import QSettings, QThreadPool
from studies import small_plan

from app.evaluator.brief_presenter import BriefPresenter
from app.listening.seat_state import read_seat
from app.settings import Settings
from ratings.errors import PlaybackError
from ratings.intake.making import make_study
from ratings.recordings.read import content_hash
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.listening import PlayedLevel


@pytest.fixture
def player(qapp):
    return BriefPlayer()


@pytest.fixture
def settings(tmp_path):
    return Settings(QSettings(str(tmp_path / "s.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def study(tmp_path):
    plan = small_plan(tmp_path / "in")
    recordings = tuple(dataclasses.replace(r, pa_per_full_scale=2.0) for r in plan.recordings)
    made = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    yield made
    QThreadPool.globalInstance().waitForDone()
    made.close()


@pytest.fixture
def brief_of(qtbot, player, settings):
    def make(study):
        desk = ListeningDesk(study, session_seats(study)[0].session_id)
        brief = BriefPresenter(desk, player, settings)
        qtbot.waitUntil(lambda: brief.progress is None)
        return brief

    return make


def check_level(brief, level_db=117.0):
    brief.set_level(level_db)
    brief.play_tone()
    brief.player.hear("A", 1.0)
    brief.confirm()


def test_that_everybody_starts_20_db_below_full_output_with_one_gain_for_all(study, brief_of):
    brief = brief_of(study)
    assert "both sides, 20 dB below full output;" in brief.level_words()
    for pair in brief.desk.pairs:
        loaded = brief.sound.read(pair).loaded
        assert loaded.gain_a == loaded.gain_b == pytest.approx(0.1)


def test_that_the_trial_sound_follows_louder_and_softer_by_steps_of_3_db(study, brief_of, player):
    brief = brief_of(study)
    brief.play_noise()
    assert player.rises == 1
    assert player.loaded[-1].gain_a == pytest.approx(0.1)
    brief.change_attenuation(1)
    assert player.gain == pytest.approx(10 ** (-17 / 20))
    for _ in range(20):
        brief.change_attenuation(1)
    assert "both sides, 0 dB below full output;" in brief.level_words()
    assert player.gain == 1.0
    for _ in range(20):
        brief.change_attenuation(-1)
    assert "both sides, 40 dB below full output;" in brief.level_words()
    brief.play_noise()
    assert not player.is_playing


def test_that_without_hearing_the_tone_no_level_is_confirmed(study, brief_of, player):
    brief = brief_of(study)
    brief.set_level(117.0)
    brief.confirm()
    brief.play_noise()
    player.hear("A", 5.0)
    brief.confirm()
    brief.play_tone()
    player.hear("A", 0.9)
    brief.confirm()
    assert not brief.is_confirmed
    assert not brief.sound.is_at_known_level
    player.hear("A", 1.0)
    brief.confirm()
    assert brief.is_confirmed
    assert brief.sound.is_at_known_level


def test_that_another_device_or_another_figure_asks_for_the_tone_again(study, brief_of, player):
    brief = brief_of(study)
    check_level(brief)
    brief.set_level(118.0)
    assert not brief.is_confirmed
    check_level(brief)
    player.open("ALSA: default")
    assert brief.is_confirmed
    player.open("ALSA: another")
    assert not brief.is_confirmed
    assert brief.level_db is None
    player.open("ALSA: default")
    assert brief.level_db == 117.0
    assert not brief.is_confirmed


def test_that_what_follows_the_systems_choice_is_said(study, brief_of, player):
    brief = brief_of(study)
    assert "follows the system's choice" in brief.device_words()
    brief.choose_device("headphones")
    assert brief.device_words() == "Open: ALSA: headphones."


def test_that_a_level_that_needs_too_much_lowering_is_not_believed(study, brief_of, monkeypatch):
    brief = brief_of(study)
    monkeypatch.setattr("app.evaluator.brief_presenter.MOST_LOWERED_DB", 1.0)
    check_level(brief, 80.0)
    assert not brief.can_lower
    assert not brief.can_begin
    assert "measure it again" in brief.problem().what_to_do


def test_that_a_change_of_level_half_way_is_said(study, brief_of):
    brief = brief_of(study)
    desk, pair = brief.desk, brief.desk.pairs[0]
    assert brief.way_words() == ""
    desk.note_exposure(10.0, None)
    for side in "AB":
        desk.record_heard(pair.pair_id, side)
    for attribute in desk.attributes_of(pair):
        desk.record_scores(pair.pair_id, attribute.key, {"A": 7.0, "B": 7.0})
    desk.lock(pair.pair_id)
    brief.come_back(read_seat(brief.desk))
    assert brief.way_words() == ""
    check_level(brief)
    assert "from here on it is known" in brief.way_words()
    desk.note_exposure(10.0, 70.0)
    brief.come_back(read_seat(brief.desk))
    brief.set_level(None)
    assert "from here on it is unknown" in brief.way_words()


def test_that_a_brief_after_a_restart_says_by_how_much_the_pairs_before_were_louder(
    study, brief_of
):
    brief = brief_of(study)
    brief.change_attenuation(3)
    pair = brief.desk.pairs[0]
    brief.desk.record_opened(pair.pair_id, brief.sound.level)
    for side in "AB":
        brief.desk.record_heard(pair.pair_id, side)
    for attribute in brief.desk.attributes_of(pair):
        brief.desk.record_scores(pair.pair_id, attribute.key, {"A": 7.0, "B": 7.0})
    brief.desk.lock(pair.pair_id)
    brief.come_back(read_seat(brief.desk))
    assert brief.way_words() == ""
    again = brief_of(study)
    assert "From pair 2 on 9 dB quieter than before. Louder and Softer" in again.way_words()
    assert "Leave the volume as it was for the pairs before." in again.ears_words()
    again.change_attenuation(3)
    assert again.way_words() == ""


def quieten(study, clip, factor):
    """Put another sound under a clip's name, and its hash into the database."""
    path = study.folder.clip_file(clip.code)
    samples, rate_hz = soundfile.read(path)
    soundfile.write(path, samples * factor, rate_hz, subtype="PCM_24")
    raw = sqlite3.connect(study.folder.database)
    raw.execute(
        "UPDATE clip SET content_hash = ? WHERE clip_id = ?", (content_hash(path), clip.clip_id)
    )
    raw.commit()
    raw.close()


def test_that_sides_far_apart_are_told_before_the_first_pair(study, brief_of):
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    different = next(p for p in desk.pairs if p.clip_a.clip_id != p.clip_b.clip_id)
    quieten(study, different.clip_a, 0.001)
    brief = brief_of(study)
    problem = brief.problem()
    assert "their sides are too far apart" in problem.what_happened
    assert "Tell the person in charge" in problem.what_to_do
    # The others can be rated.
    assert brief.can_begin


def test_that_clips_that_cannot_be_read_are_told_before_the_first_pair(study, brief_of):
    for sound in (*study.folder.clips.iterdir(), *study.folder.recordings.iterdir()):
        sound.unlink()
    brief = brief_of(study)
    assert brief.problem().what_happened == "The sound of 3 of 3 pairs cannot be read."
    assert brief.problem().what_to_do.startswith("When one comes, S sets it aside.")
    # Missing sound keeps nobody from opening the session.
    assert brief.can_begin


def test_that_clips_that_come_back_or_go_are_noticed_at_the_next_coming(study, brief_of, qtbot):
    brief = brief_of(study)
    desk = brief.desk
    lost = desk.clip_file(desk.pairs[0].clip_a)
    away = lost.with_suffix(".away")
    lost.rename(away)
    brief.come_back(read_seat(brief.desk))
    assert brief.can_begin  # nobody waits for the second check
    qtbot.waitUntil(lambda: brief.problem() is not None)
    assert brief.problem().what_happened == "The sound of 1 of 3 pairs cannot be read."
    away.rename(lost)
    qtbot.waitUntil(lambda: brief._check is None)
    brief.come_back(read_seat(brief.desk))
    qtbot.waitUntil(lambda: brief.problem() is None)


def test_that_a_device_that_was_away_has_its_level_checked_again(study, brief_of, player, qtbot):
    brief = brief_of(study)
    check_level(brief)
    player.open("ALSA: default")
    assert brief.is_confirmed
    player.trouble = PlaybackError("The sound device does not answer.", "Plug it in again.")
    assert brief.device_words().startswith("Not open now: ALSA: default.")
    with qtbot.waitSignal(brief.level_lost):
        player.open("ALSA: default")
    player.trouble = None
    assert not brief.is_confirmed
    assert "was away" in brief.problem().what_happened
    # Without the tone one goes on as quietly as without a calibration.
    assert brief.sound.level == PlayedLevel(20.0)
    brief.play_tone()
    player.hear("A", 1.0)
    brief.confirm()
    assert brief.problem() is None
    assert brief.sound.level.output_db == pytest.approx(117.0)


def test_that_no_level_of_the_settings_is_believed_that_no_headphones_give(
    study, brief_of, settings
):
    settings.set_full_scale_sine_db("ALSA: default", 50.0)
    assert brief_of(study).level_db is None


def test_that_nothing_is_said_to_be_at_recorded_level_while_that_is_refused(study, brief_of):
    brief = brief_of(study)
    check_level(brief, 80.0)
    assert brief.lowering_db > 0
    assert "recorded level" not in brief.level_words()
    brief.lower()
    assert brief.level_words().endswith("dB below the recorded level.")


def test_that_the_session_keeps_to_the_device_that_was_set_and_no_trial_goes_on(
    study, brief_of, player
):
    brief = brief_of(study)
    brief.play_noise()
    brief.begin()
    assert player.is_held
    assert not player.is_playing
    assert player.duration_s == 0.0
