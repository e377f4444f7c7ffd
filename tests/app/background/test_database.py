import gc
import sqlite3
import threading
import weakref

import pytest
from PySide6.QtCore import QObject, QThread, QTimer
from PySide6.QtWidgets import QWidget
from shiboken6 import delete, isValid
from studies import hear_both, small_study

from app.background import database
from app.parts.waiting_note import WaitingNote
from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats

pytestmark = pytest.mark.real_worker


@pytest.fixture
def owner(qapp):
    return QObject()


@pytest.fixture
def desk(tmp_path):
    study = small_study(tmp_path)
    yield ListeningDesk(study, session_seats(study)[0].session_id)
    study.close()


@pytest.fixture
def other_program(desk):
    raw = sqlite3.connect(desk.study.folder.database, isolation_level=None, check_same_thread=False)
    yield raw
    raw.close()


def ask(owner, work, heard):
    database.ask(owner, work, heard.append, heard.append)


def test_that_work_is_done_in_order_by_one_worker_and_told_on_this_thread(qtbot, qapp, owner):
    done_on, heard = [], []

    def work(number):
        done_on.append(threading.get_ident())
        return number

    for number in range(50):
        database.ask(
            owner,
            lambda number=number: work(number),
            lambda result: heard.append((result, QThread.currentThread())),
            pytest.fail,
        )
    qtbot.waitUntil(lambda: len(heard) == 50)
    assert heard == [(number, qapp.thread()) for number in range(50)]
    assert len(set(done_on)) == 1
    assert done_on[0] != threading.get_ident()


def test_that_a_refusal_is_told_and_what_comes_after_it_is_done(qtbot, owner):
    refusal = StudyError("The disk is full.", "Make room.")

    def refuse():
        raise refusal

    heard = []
    ask(owner, refuse, heard)
    ask(owner, lambda: "done", heard)
    qtbot.waitUntil(lambda: len(heard) == 2)
    assert heard == [refusal, "done"]


def test_that_whoever_is_gone_is_not_told_and_what_was_asked_is_done_all_the_same(qtbot, owner):
    go_on, heard, done = threading.Event(), [], []
    ask(owner, lambda: go_on.wait(5), heard)
    ask(owner, lambda: done.append("written"), heard)
    delete(owner)
    go_on.set()
    last = QObject()
    with qtbot.waitCallback() as told:
        database.ask(last, lambda: None, told, pytest.fail)
    assert (done, heard) == (["written"], [])


def test_that_an_owner_keeps_nothing_of_what_was_asked(qtbot, owner):
    heard = []
    for _ in range(100):
        ask(owner, lambda: None, heard)
    qtbot.waitUntil(lambda: len(heard) == 100)
    qtbot.waitUntil(lambda: not owner.children())


def test_that_acts_keep_their_order_and_go_on_after_a_refusal_and_a_defect(qtbot, owner):
    told, go_on = [], threading.Event()

    def refuse():
        raise StudyError("The study is held.", "Wait.")

    def first():
        told.append((yield lambda: go_on.wait(5)))
        try:
            yield refuse
        except StudyError as problem:
            told.append(problem.what_happened)

    def second():
        told.append("second begins")
        yield lambda: 1 / 0
        told.append("never")

    def third():
        told.append("third")
        yield lambda: None
        told.append("end")

    acts = database.Acts(owner)
    for act in (first, second, third):
        acts.take(act())
    assert told == []
    with qtbot.captureExceptions() as caught, qtbot.waitSignal(acts.ended):
        go_on.set()
    assert told == [True, "The study is held.", "second begins", "third", "end"]
    assert [kind for kind, _, _ in caught] == [ZeroDivisionError]
    assert acts.is_idle


@pytest.mark.parametrize("lock", ["BEGIN EXCLUSIVE", "BEGIN IMMEDIATE", "a long read"])
def test_that_a_window_lives_while_an_entry_waits_and_the_entry_is_kept(
    qtbot, owner, desk, other_program, lock
):
    pair, heard, told = desk.pairs[0], [], []
    hear_both(desk, pair.pair_id)
    if lock == "a long read":
        other_program.execute("BEGIN")
        other_program.execute("SELECT * FROM study").fetchall()
    else:
        other_program.execute(lock)
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(800, 600)
    window.show()
    note = WaitingNote(window)
    database.line().waiting_changed.connect(told.append)
    database.line().waiting_changed.connect(note.show_waiting)
    ask(owner, lambda: desk.record_scores(pair.pair_id, "boom", {"A": 7.0}), heard)
    # Only a window that lives gets as far as to show it.
    qtbot.waitUntil(note.isVisible)
    assert window.rect().contains(note.geometry())
    assert heard == []
    other_program.execute("ROLLBACK")
    qtbot.waitUntil(lambda: len(heard) == 1)
    qtbot.waitUntil(lambda: not note.isVisible())
    assert told == [True, False]
    assert desk.answers()[pair.pair_id].scores["boom"] == {"A": 7.0}


def test_that_a_study_held_for_too_long_is_refused_in_words(
    qtbot, owner, desk, other_program, monkeypatch
):
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.05)
    other_program.execute("BEGIN EXCLUSIVE")
    heard = []
    ask(owner, lambda: desk.record_opened(desk.pairs[0].pair_id), heard)
    qtbot.waitUntil(lambda: len(heard) == 1)
    assert "Another program holds the study" in str(heard[0])


@pytest.mark.slow
def test_that_windows_closed_while_work_ends_are_let_go_of_unharmed(qtbot, qapp):
    """Each window asks both kinds of worker, and is gone before, while or after they end."""
    from app.background.jobs import Job

    class Window(QWidget):
        def __init__(self, number):
            super().__init__()
            self.itself = self
            self.timer = QTimer(self, interval=0)
            self.timer.timeout.connect(self.update)
            self.timer.start()
            self.heard = []
            for _ in range(5):
                job = Job(lambda _progress: [[] for _ in range(number % 7 * 1000)], self)
                job.succeeded.connect(self.heard.append)
                job.start()
                database.ask(self, lambda: number, self.heard.append, pytest.fail)

    left = []
    for number in range(300):
        window = Window(number)
        left.append(weakref.ref(window))
        window.show()
        if number % 3 == 0:
            qapp.processEvents()
        if number % 2:
            window.deleteLater()
        else:
            window.close()
            delete(window)
        del window
    with qtbot.waitCallback() as told:
        database.ask(qapp, lambda: None, told, pytest.fail)
    qtbot.waitUntil(gc.isenabled)
    gc.collect()
    qtbot.waitUntil(lambda: not any(each() is not None and isValid(each()) for each in left))
