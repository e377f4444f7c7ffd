import functools
import sqlite3

import pytest
from quiet_player import QuietPlayer
from studies import Clock, small_study

from app.evaluator.session_presenter import SessionPresenter
from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import restore_clip
from ratings.study.attributes import DEFAULT_ATTRIBUTES


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    yield study
    study.close()


@pytest.fixture
def player(qapp):
    return QuietPlayer()


@pytest.fixture
def presenter(study, player):
    mend = functools.partial(restore_clip, study)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock(), mend)
    presenter = SessionPresenter(desk, player)
    presenter.problems = []
    presenter.problem_raised.connect(presenter.problems.append)
    presenter.begin()
    return presenter


def rate_all(presenter):
    presenter.player.hear_both()
    for attribute in presenter.attributes:
        presenter.give(attribute.key, "A", 7.0)
        presenter.give(attribute.key, "B", 6.5)


def score(presenter, typed):
    for character in typed:
        presenter.type_score(character)
    presenter.settle()


def stored_scores(study):
    return (
        sqlite3.connect(study.folder.database)
        .execute("SELECT side, value, said_equal FROM score ORDER BY score_id")
        .fetchall()
    )


def test_that_a_session_begins_with_its_first_pair_sounding_on_side_a(presenter, player):
    assert presenter.form.pair.position == 1
    assert player.is_playing
    assert player.is_looping
    assert player.side == "A"


def test_that_a_digit_scores_the_sounding_side_and_is_on_the_disk(study, presenter, player):
    player.hear_both()
    score(presenter, "7")
    player.switch()
    score(presenter, "0")
    assert presenter.form.answers.scores == {"boom": {"A": 7.0, "B": 10.0}}
    assert stored_scores(study) == [("A", 7.0, 0), ("B", 10.0, 0)]


def test_that_a_digit_before_both_sides_were_heard_is_refused_in_words(study, presenter, player):
    player.hear("A", 3.0)
    score(presenter, "7")
    assert [str(p) for p in presenter.problems] == ["Listen to B 3 s longer, then score."]
    assert stored_scores(study) == []
    assert presenter.unheard_words() == "listen to B 3 s longer"


def test_that_a_glimpse_of_a_side_does_not_count_as_hearing_it(presenter, player):
    player.hear("A", 2.3)
    assert presenter.unheard_words() == "listen to both sides first"
    player.hear("A", 2.45)  # steady clips of 2.5 s
    assert presenter.unheard_words() == "listen to B 3 s longer"


def test_that_no_difference_copies_the_score_of_the_sounding_side(study, presenter, player):
    player.hear_both()
    score(presenter, "6")
    player.switch()
    score(presenter, "8")
    presenter.say_equal()
    assert presenter.form.answers.scores["boom"] == {"A": 8.0, "B": 8.0}
    assert presenter.form.answers.said_equal == {"boom"}
    assert stored_scores(study)[-2:] == [("A", 8.0, 1), ("B", 8.0, 1)]


def test_that_no_difference_without_a_score_lets_the_next_one_count_for_both(presenter, player):
    player.hear_both()
    presenter.say_equal()
    assert presenter.form.answers.scores == {}
    assert "No difference" in presenter.hint()
    score(presenter, "9")
    assert presenter.form.answers.scores["boom"] == {"A": 9.0, "B": 9.0}
    presenter.nudge(-1)
    assert presenter.form.answers.scores["boom"] == {"A": 8.75, "B": 9.0}
    assert presenter.form.answers.said_equal == set()


def test_that_a_nudge_stays_inside_the_scale_and_needs_a_score(study, presenter, player):
    player.hear_both()
    presenter.nudge(1)
    assert presenter.problems[-1].what_happened == "Side A has no score to move yet."
    score(presenter, "0")
    presenter.nudge(1)
    assert presenter.form.answers.scores["boom"] == {"A": 10.0}
    assert len(stored_scores(study)) == 1


def test_that_a_score_taken_back_leaves_the_ladder_untouched(presenter, player):
    player.hear_both()
    score(presenter, "4")
    presenter.take_back()
    assert presenter.form.score_of("boom", "A") is None


def test_that_a_pair_that_is_not_complete_stays_and_names_what_is_missing(presenter, player):
    player.hear_both()
    presenter.give("boom", "A", 7.0)
    presenter.give("boom", "B", 7.0)
    presenter.go_on()
    assert presenter.form.pair.position == 1
    assert presenter.problems[-1].what_happened == "Rumble has no score for side A yet."
    assert presenter.form.attribute.key == "rumble"


def test_that_a_complete_pair_is_locked_and_the_next_one_sounds(presenter, player):
    rate_all(presenter)
    presenter.go_on()
    assert presenter.form.pair.position == 2
    assert presenter.locked_count == 1
    assert len(player.loaded) == 2
    assert presenter.form.answers.scores == {}
    assert presenter.unheard_words() == "listen to both sides first"


def test_that_a_session_can_be_rated_to_the_end(presenter):
    for _ in range(presenter.pair_count):
        rate_all(presenter)
        presenter.go_on()
    assert presenter.is_finished
    assert presenter.form is None
    assert presenter.problems == []


def test_that_a_session_left_in_the_middle_of_a_pair_goes_on_there(study, presenter, player):
    rate_all(presenter)
    presenter.go_on()
    player.hear_both()
    score(presenter, "3")
    presenter.write_note("B", "  howls above 60 ")
    presenter.leave()
    again = SessionPresenter(ListeningDesk(study, presenter.desk.session_id), QuietPlayer())
    again.begin()
    assert again.form.pair.position == 2
    assert again.form.answers.scores == {"boom": {"A": 3.0}}
    assert again.note("B") == "howls above 60"
    assert again.unheard_words() == ""
    assert again.form.attribute.key == "boom"


def test_that_a_break_is_proposed_and_then_ended(tmp_path, player):
    study = small_study(tmp_path, sets=3, conditions=2, attributes=DEFAULT_ATTRIBUTES * 1)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    desk.breaks = (1,)
    presenter = SessionPresenter(desk, player)
    presenter.begin()
    rate_all(presenter)
    presenter.go_on()
    assert presenter.is_resting
    assert presenter.form is None
    assert not player.is_playing
    presenter.end_rest()
    assert not presenter.is_resting
    assert presenter.form.pair.position == 2
    assert player.is_playing
    rate_all(presenter)
    presenter.go_on()
    # The headphones were off: after the break it rises as at the first pair, and only then.
    assert player.rising == [True, True, False]


def test_that_a_damaged_clip_is_cut_again_from_its_recording(study, presenter):
    rate_all(presenter)
    whole = {clip: clip.read_bytes() for clip in study.folder.clips.iterdir()}
    for clip in whole:
        clip.write_bytes(b"RIFF damaged")
    presenter.go_on()
    assert presenter.problems == []
    assert presenter.player.is_playing
    mended = presenter.desk.clip_file(presenter.form.pair.clip_a)
    assert mended.read_bytes() == whole[mended]


def test_that_a_clip_that_cannot_be_mended_is_told_without_naming_a_file(study, presenter):
    rate_all(presenter)
    for sound in (*study.folder.clips.iterdir(), *study.folder.recordings.iterdir()):
        sound.unlink()
    presenter.go_on()
    problem = presenter.problems[-1]
    assert "clip" in problem.what_happened.lower()
    assert ".wav" not in str(problem)
    assert presenter.is_silent
    assert presenter.locked_count == 1


def test_that_a_session_left_at_its_break_comes_back_to_it(study, presenter):
    presenter.desk.breaks = (1,)
    rate_all(presenter)
    presenter.go_on()
    presenter.leave()
    desk = ListeningDesk(study, presenter.desk.session_id, presenter.desk._clock)
    desk.breaks = (1,)
    again = SessionPresenter(desk, QuietPlayer())
    again.begin()
    assert again.is_resting
    again.end_rest()
    assert again.form.pair.position == 2


def test_that_a_score_the_disk_refuses_is_not_shown_as_given(study, presenter, player, monkeypatch):
    player.hear_both()
    score(presenter, "5")
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.02)
    holder = sqlite3.connect(study.folder.database)
    holder.execute("BEGIN EXCLUSIVE")
    score(presenter, "9")
    holder.rollback()
    assert "was not saved" in presenter.problems[-1].what_happened
    assert presenter.form.score_of("boom", "A") == 5.0


def test_that_a_lost_device_is_told_and_its_return_clears_the_message(presenter, player, qtbot):
    from ratings.errors import PlaybackError

    player.trouble_raised.emit(PlaybackError("The sound device is gone.", "Plug it in again."))
    assert presenter.problems[-1].what_happened == "The sound device is gone."
    with qtbot.waitSignal(presenter.problem_cleared, timeout=1000):
        player.trouble_cleared.emit()
    player.hear_both()
    score(presenter, "7")
    assert presenter.form.score_of("boom", "A") == 7.0


def test_that_setting_a_pair_aside_that_has_its_sound_is_refused_in_words(presenter, player):
    from ratings.errors import PlaybackError

    presenter.set_aside()
    assert presenter.problems[-1].what_happened == "This pair has its sound."
    player.trouble = PlaybackError("The sound device is gone.", "Plug it in again.")
    presenter.set_aside()
    assert "device is away" in presenter.problems[-1].what_happened
    assert presenter.aside_count == 0


def test_that_a_busy_disk_does_not_leave_the_next_pair_silent(presenter, player):
    rate_all(presenter)
    real = presenter.desk.record_opened

    def refuse(_pair_id, _level):
        raise StudyError("Another program holds the study.", "Wait a moment.")

    presenter.desk.record_opened = refuse
    presenter.go_on()
    presenter.desk.record_opened = real
    assert player.is_playing
    assert len(player.loaded) == 2
    assert "Another program" in presenter.problems[-1].what_happened


def test_that_a_pair_closed_in_another_window_is_passed_over(study, presenter):
    from studies import rate_pair

    other = ListeningDesk(study, presenter.desk.session_id)
    rate_pair(other, other.pairs[0])
    presenter.go_on()
    assert presenter.form.pair.position == 2
    assert presenter.problems == []


def test_that_a_coast_down_must_be_heard_as_a_whole(tmp_path, player):
    study = small_study(tmp_path, conditions=2)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    presenter = SessionPresenter(desk, player)
    presenter.begin()
    while presenter.form.pair.manoeuvre != "coast-down":
        rate_all(presenter)
        presenter.go_on()
    player.duration_s = 12.0
    player.hear("A", 12.0)
    player.switch()
    player.hear("B", 8.0)
    assert presenter.unheard_words() == "listen to B 4 s longer"
    player.hear("B", 12.0)
    assert presenter.unheard_words() == ""


def test_that_a_session_open_twice_is_told_and_only_while_it_is(study, presenter):
    desk = ListeningDesk(study, presenter.desk.session_id)
    second = SessionPresenter(desk, QuietPlayer())
    told = []
    second.problem_raised.connect(told.append)
    second.begin()
    assert "This seat is open in another window here since" in str(told[-1])
    second.leave()
    presenter.leave()
    third = SessionPresenter(desk, QuietPlayer())
    third.problem_raised.connect(told.append)
    third.begin()
    assert len(told) == 1
    third.leave()


def test_that_sound_heard_while_a_write_waits_is_kept_once(study, presenter, player, monkeypatch):
    # The window lives on while another program holds the study, and the player goes on telling.
    real = presenter.desk.record_heard

    def wait(pair_id, side):
        for _ in range(3):
            player.heard_changed.emit()
        real(pair_id, side)

    monkeypatch.setattr(presenter.desk, "record_heard", wait)
    player.hear("A", 2.45)
    player.hear("B", 2.45)
    query = "SELECT kind FROM pair_event WHERE kind LIKE 'heard%' ORDER BY pair_event_id"
    heard = sqlite3.connect(study.folder.database).execute(query).fetchall()
    assert heard == [("heard A",), ("heard B",)]
