import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QLineEdit, QPushButton
from studies import noon_today, rate_pair, small_study

from app.evaluator.seats_page import SeatsPage
from app.parts.message_bar import MessageBar
from ratings.storage.listening_desk import ListeningDesk, session_seats


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


def shown(study, qtbot):
    page = SeatsPage(study)
    qtbot.addWidget(page)
    page.show()
    return page


def labels(page):
    return [label.text() for label in page.findChildren(QLabel)]


def test_that_each_seat_says_how_far_it_has_got(study, qtbot):
    first = ListeningDesk(study, session_seats(study)[0].session_id)
    for pair in first.pairs:
        rate_pair(first, pair)
    second = ListeningDesk(study, session_seats(study)[1].session_id)
    rate_pair(second, second.pairs[0])
    page = shown(study, qtbot)
    assert "finished, 3 pairs" in labels(page)
    assert "1 of 3 pairs rated" in labels(page)
    names = [button.accessibleName() for button in page.findChildren(QPushButton)]
    assert "Go on as E2 Bo" in names
    assert not [name for name in names if "E1" in name]


def test_that_a_seat_is_chosen_with_a_click(study, qtbot):
    page = shown(study, qtbot)
    button = next(
        b for b in page.findChildren(QPushButton) if b.accessibleName() == "Listen as E2 Bo"
    )
    with qtbot.waitSignal(page.seat_chosen) as chosen:
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert chosen.args == [session_seats(study)[1].session_id]


def test_that_a_new_evaluator_is_added_with_keys(study, qtbot):
    page = shown(study, qtbot)
    field = page.findChild(QLineEdit)
    QTest.keyClicks(field, "Cy")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert [seat.evaluator.name for seat in session_seats(study)] == ["Ada", "Bo", "Cy"]
    assert "E3" in labels(page)


def test_that_a_seat_that_cannot_be_added_is_told(study, qtbot, monkeypatch):
    monkeypatch.setattr("ratings.storage.blind_study.os.access", lambda *_: False)
    from ratings.storage.blind_study import open_blind_study

    page = shown(open_blind_study(study.folder.path), qtbot)
    page.findChild(QLineEdit).setText("Cy")
    QTest.keyClick(page.findChild(QLineEdit), Qt.Key.Key_Return)
    assert "can be read but not written" in page.findChild(MessageBar).accessibleName()


def test_that_a_seat_without_a_name_is_not_added(study, qtbot):
    page = shown(study, qtbot)
    QTest.keyClick(page.findChild(QLineEdit), Qt.Key.Key_Return)
    assert len(session_seats(study)) == 2
    assert "needs a name" in page.findChild(MessageBar).accessibleName()


def test_that_the_keys_begin_at_the_first_seat_that_waits(study, qtbot):
    first = ListeningDesk(study, session_seats(study)[0].session_id)
    for pair in first.pairs:
        rate_pair(first, pair)
    page = shown(study, qtbot)
    qtbot.waitExposed(page)
    with qtbot.waitSignal(page.seat_chosen) as chosen:
        QTest.keyClick(page.focusWidget(), Qt.Key.Key_Space)
    assert chosen.args == [session_seats(study)[1].session_id]


def test_that_a_seat_says_what_was_played_on_it_today(study, qtbot):
    seats = session_seats(study)
    desk = ListeningDesk(study, seats[0].session_id, noon_today)
    desk.note_exposure(700.0, 85.0, desk.pairs[0].clip_a.clip_id)
    page = shown(study, qtbot)
    # 700 s of 8 h.
    assert "12 min today, 2 % of a day's dose" in labels(page)
    assert sum("today" in text for text in labels(page)) == 1
