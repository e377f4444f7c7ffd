"""A session while another program holds its study: the real worker, real threads."""

import sqlite3
import threading

import pytest
from PySide6.QtCore import QSettings, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QPlainTextEdit
from quiet_player import QuietPlayer
from studies import hear_both, small_study

from app.background.database import ask
from app.evaluator.session_presenter import SessionPresenter
from app.evaluator.session_screen import SessionScreen
from app.listening.hints import LEFT_OUT
from app.parts.note_box import NoteBox
from app.parts.theme import apply_theme
from app.settings import Settings
from app.window import MainWindow
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.attributes import DEFAULT_ATTRIBUTES

pytestmark = pytest.mark.real_worker


@pytest.fixture
def study(tmp_path):
    of_coasting = tuple(each for each in DEFAULT_ATTRIBUTES if each.manoeuvre == "coast-down")
    asked = (*DEFAULT_ATTRIBUTES[:2], *of_coasting)
    study = small_study(tmp_path, sets=3, conditions=2, attributes=asked)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    for pair in desk.pairs:
        hear_both(desk, pair.pair_id)
    yield study
    study.close()


@pytest.fixture
def screen(study, qtbot, qapp):
    """A session whose pairs were all heard before, in the program's window."""
    apply_theme(qapp, "light")
    settings = Settings(QSettings(str(study.folder.path / "s.ini"), QSettings.Format.IniFormat))
    window = MainWindow(settings)
    qtbot.addWidget(window)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    screen = SessionScreen(SessionPresenter(desk, QuietPlayer()))
    screen.presenter = screen._presenter
    screen.presenter.setParent(screen)
    screen.problems = []
    screen.presenter.problem_raised.connect(screen.problems.append)
    window.show_screen(screen)
    screen.main_window = window
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    screen.begin()
    qtbot.waitUntil(lambda: screen.presenter.form is not None and is_idle(screen))
    return screen


@pytest.fixture
def held(study):
    """The study, held by another program until `rollback`."""
    raw = sqlite3.connect(study.folder.database, isolation_level=None)
    raw.execute("BEGIN IMMEDIATE")
    yield raw
    raw.close()


def test_that_nothing_can_be_pressed_before_the_first_pair_is_read(study, qtbot, request):
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    screen = SessionScreen(SessionPresenter(desk, QuietPlayer()))
    presenter = screen._presenter
    presenter.setParent(screen)
    qtbot.addWidget(screen)
    screen.show()
    slow = threading.Event()
    request.addfinalizer(slow.set)
    ask(screen, slow.wait, bool, bool)
    screen.begin()
    qtbot.waitExposed(screen)
    assert presenter.form is None
    buttons = screen.findChildren(QAbstractButton)
    assert not any(button.isVisible() for button in buttons)
    slow.set()
    qtbot.waitUntil(lambda: presenter.form is not None and presenter.is_idle)
    assert any(button.isVisible() for button in buttons)


def is_idle(screen):
    return screen.presenter.is_idle


def press(screen, *keys):
    for key in keys:
        QTest.keyClick(screen.focusWidget() or screen, key)


def rows(study, columns="pair_id, side, value"):
    with sqlite3.connect(study.folder.database) as raw:
        found = raw.execute(f"SELECT {columns} FROM score ORDER BY score_id").fetchall()
    raw.close()
    return found


def test_that_keys_keep_their_order_behind_an_entry_that_waits(screen, study, held, qtbot):
    ticks = []
    timer = QTimer(screen, interval=5)
    timer.timeout.connect(lambda: ticks.append(screen.presenter.form.score_of("boom", "A")))
    timer.start()
    press(
        screen, Qt.Key.Key_7, Qt.Key.Key_Return, Qt.Key.Key_Space, Qt.Key.Key_6, Qt.Key.Key_Period
    )
    press(screen, Qt.Key.Key_5, Qt.Key.Key_Return, Qt.Key.Key_Left)
    # The window lives on, and shows no score that is not on the disk.
    qtbot.waitUntil(lambda: len(ticks) >= 10)
    assert set(ticks) == {None}
    assert rows(study) == []
    held.execute("ROLLBACK")
    qtbot.waitUntil(lambda: is_idle(screen))
    assert [row[1:] for row in rows(study)] == [("A", 7.0), ("B", 6.5), ("B", 6.25)]
    assert screen.presenter.form.answers.scores["boom"] == {"A": 7.0, "B": 6.25}


def test_that_nothing_typed_is_given_to_another_pair(screen, study, qtbot):
    for attribute in screen.presenter.attributes:
        screen.presenter.give(attribute.key, "A", 7.0)
        screen.presenter.give(attribute.key, "B", 6.0)
    qtbot.waitUntil(lambda: is_idle(screen))
    first = screen.presenter.form.pair.pair_id
    before = rows(study)
    raw = sqlite3.connect(study.folder.database, isolation_level=None)
    raw.execute("BEGIN IMMEDIATE")
    # Meant for the pair in sight, which the first Enter closes.
    press(screen, Qt.Key.Key_Return, Qt.Key.Key_3, Qt.Key.Key_Return, Qt.Key.Key_Equal)
    assert screen.presenter.form.pair.pair_id == first
    raw.execute("ROLLBACK")
    raw.close()
    qtbot.waitUntil(lambda: is_idle(screen))
    assert screen.presenter.form.pair.position == 2
    assert screen.presenter.entry.typed is None
    assert rows(study) == before
    assert {str(problem) for problem in screen.problems} == {LEFT_OUT}


def test_that_what_a_held_study_refuses_stays_in_sight_and_is_given_again(
    screen, study, held, qtbot, monkeypatch
):
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.05)
    press(screen, Qt.Key.Key_7, Qt.Key.Key_Period, Qt.Key.Key_5, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: is_idle(screen))
    assert len(screen.problems) == 1
    assert "Another program holds the study" in screen.problems[0].what_happened
    assert screen.presenter.entry.typed.text == "7.5"
    assert screen.presenter.form.score_of("boom", "A") is None
    held.execute("ROLLBACK")
    press(screen, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: is_idle(screen))
    assert screen.presenter.entry.typed is None
    assert [row[1:] for row in rows(study)] == [("A", 7.5)]


def test_that_digits_after_a_refusal_begin_a_new_number(screen, study, held, qtbot, monkeypatch):
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.05)
    press(screen, Qt.Key.Key_7, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: is_idle(screen))
    held.execute("ROLLBACK")
    press(screen, Qt.Key.Key_8, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: is_idle(screen))
    assert [row[1:] for row in rows(study)] == [("A", 8.0)]


def test_that_a_close_waits_until_what_was_given_is_saved(screen, study, held, qtbot):
    window = screen.main_window
    press(screen, Qt.Key.Key_7)
    window.close()
    assert window.isVisible()
    held.execute("ROLLBACK")
    qtbot.waitUntil(lambda: not window.isVisible())
    assert [row[1:] for row in rows(study)] == [("A", 7.0)]


def test_that_a_close_is_refused_in_words_and_the_entry_stays(
    screen, study, held, qtbot, monkeypatch
):
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.05)
    window = screen.main_window
    press(screen, Qt.Key.Key_7)
    window.close()
    qtbot.waitUntil(lambda: is_idle(screen))
    assert window.isVisible()
    assert "was not saved" in screen.problems[-1].what_happened
    assert screen.presenter.entry.typed.text == "7"
    # Dropped on purpose, it holds nobody.
    press(screen, Qt.Key.Key_Escape)
    held.execute("ROLLBACK")
    window.close()
    qtbot.waitUntil(lambda: not window.isVisible())
    assert rows(study) == []


def test_that_a_note_a_held_study_refuses_stays_open_and_keeps_the_session(
    screen, study, held, qtbot, monkeypatch
):
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.05)
    press(screen, Qt.Key.Key_N)
    box = screen.findChild(NoteBox)
    qtbot.waitUntil(box.isVisible)
    editor = box.findChild(QPlainTextEdit)
    QTest.keyClicks(editor, "howls")
    screen.main_window.close()
    qtbot.waitUntil(lambda: is_idle(screen))
    assert box.isVisible()
    assert editor.toPlainText() == "howls"
    assert screen.main_window.isVisible()
    held.execute("ROLLBACK")
    QTest.keyClick(editor, Qt.Key.Key_Escape)
    qtbot.waitUntil(box.isHidden)
    assert screen.presenter.note("A") == "howls"


def test_that_sound_and_hearing_go_on_and_are_kept_once(tmp_path, qtbot, qapp):
    study = small_study(tmp_path / "unheard")
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    player = QuietPlayer()
    presenter = SessionPresenter(desk, player)
    presenter.begin()
    qtbot.waitUntil(lambda: presenter.form is not None and presenter.is_idle)
    raw = sqlite3.connect(study.folder.database, isolation_level=None)
    raw.execute("BEGIN IMMEDIATE")
    player.hear("A", 2.45)
    for _ in range(5):
        player.heard_changed.emit()
    assert player.is_playing
    raw.execute("ROLLBACK")
    qtbot.waitUntil(lambda: presenter.is_idle)
    query = "SELECT kind FROM pair_event WHERE kind LIKE 'heard%'"
    assert raw.execute(query).fetchall() == [("heard A",)]
    raw.close()
    presenter.leave()
    qtbot.waitUntil(lambda: presenter.is_idle)
    study.close()


def test_that_every_pair_begins_with_its_first_attribute(screen, qtbot):
    """Also where fewer are asked than in the pair before: evenness in coast-downs alone."""
    presenter, numbers = screen.presenter, set()
    for _ in range(presenter.pair_count - 1):
        form = presenter.form
        numbers.add(len(form.attributes))
        for attribute in form.attributes:
            for side, value in (("A", 7.0), ("B", 6.0)):
                presenter.give(attribute.key, side, value)
        presenter.activate(len(form.attributes) - 1)
        qtbot.waitUntil(lambda: is_idle(screen))
        press(screen, Qt.Key.Key_Return)
        qtbot.waitUntil(lambda form=form: presenter.form is not form and is_idle(screen))
        if presenter.form is None:
            presenter.end_rest()
            qtbot.waitUntil(lambda: presenter.form is not None and is_idle(screen))
        assert presenter.form.active == 0
        assert screen._ladders.ladders[0].hasFocus()
    assert len(numbers) > 1


def test_that_what_is_pressed_while_a_pair_closes_is_left_out_and_said(screen, qtbot, study):
    presenter = screen.presenter
    form = presenter.form
    for attribute in form.attributes:
        for side in ("A", "B"):
            presenter.give(attribute.key, side, 7.0)
    qtbot.waitUntil(lambda: is_idle(screen))
    raw = sqlite3.connect(study.folder.database, isolation_level=None)
    raw.execute("BEGIN IMMEDIATE")
    press(screen, Qt.Key.Key_Return, Qt.Key.Key_5)
    raw.rollback()
    raw.close()
    qtbot.waitUntil(lambda: presenter.form is not form and is_idle(screen))
    assert [str(problem) for problem in screen.problems] == [LEFT_OUT]
    assert screen._hint.text() == LEFT_OUT
