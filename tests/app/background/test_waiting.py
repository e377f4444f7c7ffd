import sqlite3
import threading

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QTimer
from PySide6.QtWidgets import QWidget
from studies import hear_both, small_study

from app.background.waiting import Waiting
from app.parts.waiting_note import WaitingNote
from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.patience import let_pass_asleep


@pytest.fixture
def desk(tmp_path):
    study = small_study(tmp_path)
    yield ListeningDesk(study, session_seats(study)[0].session_id)
    study.close()


@pytest.fixture
def waiting(qapp):
    waiting = Waiting(qapp)
    yield waiting
    let_pass_asleep()
    waiting.setParent(None)
    waiting.deleteLater()


@pytest.fixture
def other_program(desk):
    raw = sqlite3.connect(desk.study.folder.database, isolation_level=None, check_same_thread=False)
    yield raw
    raw.close()


class Ticks(QTimer):
    """Counts while the window lives; does something at the tenth tick."""

    def __init__(self, at_tenth) -> None:
        super().__init__(interval=15)
        self.count = 0
        self._at_tenth = at_tenth
        self.timeout.connect(self._tick)
        self.start()

    def _tick(self) -> None:
        self.count += 1
        if self.count == 10:
            self._at_tenth()


@pytest.mark.parametrize("lock", ["BEGIN EXCLUSIVE", "BEGIN IMMEDIATE", "a long read"])
def test_that_a_window_lives_while_an_entry_waits_and_the_entry_is_kept(
    desk, waiting, other_program, lock
):
    pair = desk.pairs[0]
    hear_both(desk, pair.pair_id)
    if lock == "a long read":
        other_program.execute("BEGIN")
        other_program.execute("SELECT * FROM study").fetchall()
    else:
        other_program.execute(lock)
    told = []
    waiting.changed.connect(told.append)
    # Only a window that lives gets as far as to the end of the lock.
    ticks = Ticks(lambda: other_program.execute("ROLLBACK"))
    desk.record_scores(pair.pair_id, "boom", {"A": 7.0})
    ticks.stop()
    assert ticks.count >= 10
    assert told == [True]
    assert desk.answers()[pair.pair_id].scores["boom"] == {"A": 7.0}


def test_that_reading_waits_in_the_same_way(desk, waiting, other_program):
    other_program.execute("BEGIN EXCLUSIVE")
    ticks = Ticks(lambda: other_program.execute("ROLLBACK"))
    assert set(desk.answers()) == {pair.pair_id for pair in desk.pairs}
    ticks.stop()
    assert ticks.count >= 10


def test_that_what_a_timer_writes_meanwhile_is_kept_before_the_entry_that_waits(
    desk, waiting, other_program
):
    pair = desk.pairs[0]
    hear_both(desk, pair.pair_id)
    other_program.execute("BEGIN EXCLUSIVE")

    def free() -> None:
        other_program.execute("ROLLBACK")
        desk.record_note(pair.pair_id, "A", "by a timer")

    ticks = Ticks(free)
    desk.record_scores(pair.pair_id, "boom", {"A": 7.0})
    ticks.stop()
    answers = desk.answers()[pair.pair_id]
    assert (answers.notes["A"], answers.scores["boom"]["A"]) == ("by a timer", 7.0)


def test_that_what_a_timer_asks_for_does_not_wait_for_the_entry_it_interrupts(
    desk, waiting, other_program
):
    pair = desk.pairs[0]
    hear_both(desk, pair.pair_id)
    other_program.execute("BEGIN")
    other_program.execute("SELECT * FROM study").fetchall()
    refused = []

    def write_and_free() -> None:
        with pytest.raises(StudyError, match="Another program holds") as refusal:
            desk.record_note(pair.pair_id, "A", "by a timer")
        refused.append(refusal)
        other_program.execute("ROLLBACK")

    ticks = Ticks(write_and_free)
    desk.record_scores(pair.pair_id, "boom", {"A": 7.0})
    ticks.stop()
    assert len(refused) == 1
    assert desk.answers()[pair.pair_id].scores["boom"] == {"A": 7.0}


def test_that_a_window_is_not_closed_under_an_entry_that_waits(desk, waiting, other_program, qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    window.show()
    other_program.execute("BEGIN EXCLUSIVE")
    closed = []

    def close_and_free() -> None:
        QCoreApplication.sendEvent(window, event := QEvent(QEvent.Type.Close))
        closed.append(event.isAccepted())
        other_program.execute("ROLLBACK")

    ticks = Ticks(close_and_free)
    desk.record_opened(desk.pairs[0].pair_id)
    ticks.stop()
    assert closed == [False]
    assert window.isVisible()


def test_that_a_worker_waits_asleep(desk, waiting, other_program):
    other_program.execute("BEGIN EXCLUSIVE")
    worker = threading.Thread(target=desk.record_opened, args=(desk.pairs[0].pair_id,))
    worker.start()
    other_program.execute("ROLLBACK")
    worker.join()
    assert not waiting.is_waiting


def test_that_the_wait_is_told_at_the_foot_of_the_window_and_then_no_more(qtbot, waiting):
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(800, 600)
    note = WaitingNote(window)
    waiting.changed.connect(note.show_waiting)
    window.show()
    assert not note.isVisible()
    with qtbot.waitSignal(waiting.changed, timeout=5000):
        while not waiting.is_waiting:
            waiting.let_pass(0.02)
    assert note.isVisible()
    assert window.rect().contains(note.geometry())
    with qtbot.waitSignal(waiting.changed, timeout=5000):
        pass
    assert not note.isVisible()
