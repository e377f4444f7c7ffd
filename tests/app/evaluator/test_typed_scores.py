"""Scores typed as numbers at the session's screen, by key events."""

import sqlite3

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from studies import small_study

from app.listening.session_keys import key_line
from app.parts.ladder import ScoreLadder
from app.parts.sides import SidePanel
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.attributes import DEFAULT_ATTRIBUTES

K = Qt.Key


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, conditions=2, attributes=DEFAULT_ATTRIBUTES)
    yield study
    study.close()


@pytest.fixture
def scores(screen):
    """Both sides have been heard; the scores given so far, attribute by attribute."""
    screen.player.hear_both()
    return screen.presenter.form.answers.scores


def rows(study):
    query = "SELECT side, value, said_equal FROM score ORDER BY score_id"
    return sqlite3.connect(study.folder.database).execute(query).fetchall()


def boom(screen):
    return next(x for x in screen.findChildren(ScoreLadder) if x.accessibleName() == "Boom")


@pytest.mark.parametrize(
    ("typed", "score"),
    [
        ((K.Key_7, K.Key_Period, K.Key_5), 7.5),
        ((K.Key_7, K.Key_Comma, K.Key_2, K.Key_5), 7.25),
        ((K.Key_1, K.Key_0), 10.0),
        ((K.Key_0,), 10.0),
        ((K.Key_7,), 7.0),
        ((K.Key_7, K.Key_Period), 7.0),
        ((K.Key_7, K.Key_8, K.Key_Backspace), 7.0),
    ],
)
@pytest.mark.parametrize("end", [K.Key_Return, K.Key_Tab, K.Key_Space])
def test_that_digits_make_a_number(study, screen, scores, press, typed, score, end):
    press(*typed)
    assert rows(study) == []
    press(end)
    assert rows(study) == [("A", score, 0)]
    assert scores == {"boom": {"A": score}}


def test_that_a_pause_takes_the_number(screen, scores, press, qtbot):
    screen.presenter.entry._pause.setInterval(1)
    press(K.Key_7)
    qtbot.waitUntil(lambda: scores == {"boom": {"A": 7.0}})


@pytest.mark.parametrize(("typed", "stands"), [((K.Key_0,), "10"), ((K.Key_7, K.Key_Comma), "7")])
def test_that_the_foot_says_which_score_is_typed_and_what_takes_it(
    screen, scores, press, typed, stands
):
    press(*typed)
    expected = f"{stands} for side A: Enter or a short pause takes it, Esc drops it."
    assert screen._hint.text() == expected


def test_that_a_decimal_mark_goes_on_with_the_number_just_taken(screen, scores, press):
    press(K.Key_7)
    screen.presenter.settle()
    press(K.Key_Period, K.Key_5, K.Key_Return)
    assert scores == {"boom": {"A": 7.5}}


@pytest.mark.parametrize("between", [K.Key_Space, K.Key_Tab, K.Key_Right])
def test_that_a_decimal_mark_alone_goes_on_with_nothing_else(study, screen, scores, press, between):
    press(K.Key_7, between)
    before = rows(study)
    press(K.Key_Period)
    assert "A score begins with a digit." in screen._hint.text()
    press(K.Key_Return)
    assert rows(study) == before


def test_that_the_number_is_shown_on_its_ladder_while_it_is_typed(screen, scores, press):
    ladder = boom(screen)
    press(K.Key_7, K.Key_Period)
    assert ladder.sentence() == "typing for A: 7."
    assert "typing for A: 7." in ladder.accessibleDescription()
    assert ladder.mark_box("A") is None
    press(K.Key_5, K.Key_Return)
    assert ladder.sentence() == "B not rated yet"
    assert ladder.mark_box("A") is not None


@pytest.mark.parametrize(
    "typed", [(K.Key_7, K.Key_Period, K.Key_3), (K.Key_1, K.Key_1), (K.Key_0, K.Key_Comma, K.Key_5)]
)
@pytest.mark.parametrize("end", [K.Key_Return, K.Key_Tab, K.Key_Space])
def test_that_what_is_off_the_scale_is_refused_and_nothing_moves(
    study, screen, scores, press, typed, end
):
    press(*typed, end)
    assert "is not a score of this scale: 1 to 10 in steps of 0.25" in screen._hint.text()
    assert screen._hint.property("look") == "attention"
    assert rows(study) == []
    assert screen.presenter.form.active == 0
    assert screen.player.side == "A"


def test_that_a_pending_number_stays_with_its_side_and_attribute(screen, scores, press):
    press(K.Key_7, K.Key_Space, K.Key_6, K.Key_Down, K.Key_4, K.Key_A, K.Key_3, K.Key_Return)
    assert scores == {"boom": {"A": 7.0, "B": 6.0}, "rumble": {"B": 4.0, "A": 3.0}}


def test_that_a_click_on_the_other_side_takes_the_number_for_its_own(screen, scores, press):
    press(K.Key_7)
    panel = next(x for x in screen.findChildren(SidePanel) if x.accessibleName() == "side B")
    QTest.mouseClick(panel, Qt.MouseButton.LeftButton)
    press(K.Key_6, K.Key_Return)
    assert scores == {"boom": {"A": 7.0, "B": 6.0}}


def test_that_a_side_changed_elsewhere_takes_the_number_for_its_own(screen, scores, press):
    press(K.Key_7)
    screen.player.switch_to("B")
    assert scores == {"boom": {"A": 7.0}}


def test_that_a_click_on_the_rail_stands_instead_of_what_was_typed(study, screen, scores, press):
    press(K.Key_7)
    ladder = boom(screen)
    place = QPoint(ladder.rail_x(4.5), ladder.rail_y())
    QTest.mouseClick(ladder, Qt.MouseButton.LeftButton, pos=place)
    assert rows(study) == [("A", 4.5, 0)]


def test_that_enter_takes_the_number_before_it_closes_the_pair(screen, scores, press):
    form = screen.presenter.form
    for attribute in form.attributes:
        screen.presenter.give(attribute.key, "A", 7.0)
        screen.presenter.give(attribute.key, "B", 7.0)
    press(K.Key_8, K.Key_Return)
    assert screen.presenter.form is form
    assert scores["boom"] == {"A": 8.0, "B": 7.0}
    press(K.Key_Return)
    assert form.answers.is_locked


def test_that_escape_drops_the_number_and_leaves_only_then(study, screen, scores, press, qtbot):
    press(K.Key_7)
    with qtbot.assertNotEmitted(screen.left):
        press(K.Key_Escape)
    assert screen.presenter.entry.typed is None
    assert rows(study) == []
    with qtbot.waitSignal(screen.left):
        press(K.Key_Escape)


def test_that_escape_drops_a_refusal_and_leaves_only_then(study, screen, scores, press, qtbot):
    press(K.Key_4, K.Key_Period, K.Key_3, K.Key_Tab)
    assert screen._hint.text().startswith("4.3 is not a score")
    with qtbot.assertNotEmitted(screen.left):
        press(K.Key_Escape)
    assert screen._hint.text() == key_line()
    assert screen._hint.property("look") == "soft"
    with qtbot.waitSignal(screen.left):
        press(K.Key_Escape)


def test_that_leaving_keeps_the_number(study, screen, scores, press):
    press(K.Key_7)
    screen.put_away()
    assert rows(study) == [("A", 7.0, 0)]


def test_that_a_digit_held_down_is_typed_once(screen, scores, press):
    press(K.Key_7)
    held = QKeyEvent(QEvent.Type.KeyPress, K.Key_7, Qt.KeyboardModifier.NoModifier, "7", True)
    QApplication.sendEvent(screen.focusWidget(), held)
    press(K.Key_Return)
    assert scores == {"boom": {"A": 7.0}}


def test_that_the_french_row_scores_at_the_screen(screen, scores, press):
    for key, text, code in (
        (K.Key_Egrave, "è", 16),
        (K.Key_Comma, ",", 58),
        (K.Key_ParenLeft, "(", 14),
    ):
        event = QKeyEvent(
            QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, code, 0, 0, text, False, 1
        )
        QApplication.sendEvent(screen.focusWidget(), event)
    press(K.Key_Return)
    assert scores == {"boom": {"A": 7.5}}


def test_that_taking_no_difference_back_restores_both_sides(study, screen, scores, press):
    press(K.Key_7, K.Key_Space, K.Key_4, K.Key_Return, K.Key_Equal)
    assert scores == {"boom": {"A": 4.0, "B": 4.0}}
    press(K.Key_Backspace)
    assert scores == {"boom": {"A": 7.0, "B": 4.0}}
    assert rows(study)[-2:] == [("B", 4.0, 0), ("A", 7.0, 0)]
    assert screen.presenter.form.answers.said_equal == set()
    press(K.Key_Backspace)
    assert scores == {"boom": {"A": 7.0}}


def test_that_taking_back_goes_through_every_score_of_a_side(screen, scores, press):
    press(K.Key_7, K.Key_Return, K.Key_8, K.Key_Return, K.Key_Left)
    seen = []
    for _ in range(4):
        press(K.Key_Backspace)
        seen.append(scores["boom"].get("A"))
    assert seen == [8.0, 7.0, None, None]


def test_that_no_difference_is_taken_back_after_a_reopening(study, screen, scores, press):
    presenter = screen.presenter
    press(K.Key_7, K.Key_Space, K.Key_4, K.Key_Return, K.Key_Equal)
    again = ListeningDesk(study, presenter.desk.session_id)
    answers = again.answers()[presenter.form.pair.pair_id]
    assert answers.trails["boom", "A"].before.value == 7.0
    presenter.form.answers = answers
    press(K.Key_Backspace)
    assert answers.scores == {"boom": {"A": 7.0, "B": 4.0}}


def test_that_a_score_changed_after_no_difference_goes_back_to_it(screen, scores, press):
    press(K.Key_Equal, K.Key_7, K.Key_Return, K.Key_8, K.Key_Return)
    assert scores == {"boom": {"A": 8.0, "B": 7.0}}
    press(K.Key_Backspace)
    assert scores == {"boom": {"A": 7.0, "B": 7.0}}
    assert screen.presenter.form.answers.said_equal == {"boom"}
    press(K.Key_Backspace)
    assert scores == {"boom": {}}
