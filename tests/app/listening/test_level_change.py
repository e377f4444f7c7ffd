"""What is said, and asked, when clips are played louder or quieter than before."""

import pytest
from quiet_player import QuietPlayer
from studies import small_study

from app.evaluator.session_presenter import SessionPresenter
from app.listening.level_change import level_change
from app.listening.pair_sound import SessionSound
from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.listening import SIDES, PlayedLevel


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3)
    yield study
    study.close()


@pytest.fixture
def opened(study, qapp):
    """Open the seat as after a restart, so many decibels below the output's full level."""

    def open_(below_db=20.0):
        desk = ListeningDesk(study, session_seats(study)[0].session_id)
        sound = SessionSound(desk)
        sound.attenuation_db = below_db
        presenter = SessionPresenter(desk, QuietPlayer(), sound)
        presenter.problems = []
        presenter.problem_raised.connect(lambda problem: presenter.problems.append(str(problem)))
        presenter.begin()
        return presenter

    return open_


def rate(presenter, score=7.0):
    presenter.player.hear_both()
    for attribute in presenter.attributes:
        for side in SIDES:
            presenter.give(attribute.key, side, score)


def test_that_at_another_level_both_sides_of_the_pair_must_be_heard_again(opened):
    first = opened(20.0)
    first.player.hear("A", 2.5)
    first.leave()
    louder = opened(11.0)
    assert louder.problems == [
        "This pair is played 9 dB louder than when you heard it before. Listen to both sides "
        "again; scores you gave are kept."
    ]
    louder.player.hear("B", 2.5)
    louder.give("boom", "A", 7.0)
    assert louder.form.answers.scores == {}
    louder.player.hear("A", 2.5)
    louder.give("boom", "A", 7.0)
    assert louder.form.answers.scores == {"boom": {"A": 7.0}}


def test_that_at_the_same_level_what_was_heard_still_counts(opened):
    first = opened(20.0)
    first.player.hear("A", 2.5)
    first.leave()
    again = opened(20.0)
    again.player.hear("B", 2.5)
    again.give("boom", "A", 7.0)
    assert again.form.answers.scores == {"boom": {"A": 7.0}}
    assert again.problems == []


def test_that_a_pair_scored_at_another_level_is_not_closed_before_it_was_heard_again(opened):
    first = opened(20.0)
    rate(first)
    first.leave()
    louder = opened(17.0)
    louder.go_on()
    assert louder.form.pair.position == 1
    with pytest.raises(StudyError, match="has not been heard"):
        louder.desk.lock(louder.form.pair.pair_id)
    louder.player.hear_both()
    louder.go_on()
    assert louder.form.pair.position == 2


def test_that_a_pair_opened_louder_in_another_window_can_still_be_scored_in_this_one(opened):
    here = opened(20.0)
    here.player.hear_both()
    there = opened(11.0)
    here.give("boom", "A", 7.0)
    assert here.form.answers.scores == {}
    assert "has not been heard yet" in here.problems[-1]
    # What this window has played counts once more, at its own level.
    here.player.hear_both()
    rate(here)
    here.go_on()
    assert here.form.pair.position == 2
    there.leave()


def test_that_the_session_says_from_which_pair_on_it_is_louder(opened):
    first = opened(20.0)
    rate(first)
    first.go_on()
    assert first.level_words() == "Same gain for both sides; true level unknown."
    first.leave()
    louder = opened(11.0)
    expected = "From pair 2 on 9 dB louder than before."
    assert louder.level_words().endswith(expected)
    rate(louder)
    louder.go_on()
    assert louder.form.pair.position == 3
    assert louder.level_words().endswith(expected)
    louder.leave()
    assert opened(20.0).level_words().endswith("From pair 3 on 9 dB quieter than before.")


def test_that_a_change_before_the_first_closed_pair_is_no_change_between_pairs(opened):
    first = opened(20.0)
    rate(first)
    first.leave()
    louder = opened(11.0)
    assert louder.level_words() == "Same gain for both sides; true level unknown."
    louder.player.hear_both()
    louder.go_on()
    assert louder.level_words() == "Same gain for both sides; true level unknown."


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        (PlayedLevel(0, 110.0), PlayedLevel(9.5, 110.0), "on 9.5 dB quieter than before."),
        (PlayedLevel(0, 110.0), PlayedLevel(0, 95.5), "14.5 dB louder than before at the same vol"),
        (PlayedLevel(20), PlayedLevel(0, 110.0), "on the level is known; before it was unknown."),
        (PlayedLevel(0, 110.0), PlayedLevel(20), "on the level is unknown; before it was known."),
    ],
)
def test_that_each_kind_of_change_has_its_words(opened, before, now, words):
    desk = opened().desk
    answers = desk.answers()
    first = answers[desk.pairs[0].pair_id]
    first.is_locked, first.level = True, before
    assert words in level_change(desk.pairs, answers, now).words()
    assert level_change(desk.pairs, answers, before) is None


def test_that_a_session_from_before_levels_were_kept_claims_no_change(opened):
    first = opened(20.0)
    desk, pair = first.desk, first.form.pair
    answers = desk.answers()
    answers[pair.pair_id].is_locked, answers[pair.pair_id].level = True, None
    assert level_change(desk.pairs, answers, PlayedLevel(11.0)) is None
