import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QPushButton
from studies import hear_both, noon_today, rate_pair, small_study

from app.evaluator.seats_page import SeatsPage
from app.evaluator.seats_presenter import SeatsPresenter
from app.parts.keys_card import KeysCard
from app.parts.message_bar import MessageBar
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.seat_leases import take_seat


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


def shown(study, qtbot):
    presenter = SeatsPresenter(study)
    page = SeatsPage(presenter)
    presenter.setParent(page)
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
    with qtbot.waitSignal(page._presenter.seat_chosen) as chosen:
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


def test_that_no_seat_of_another_person_has_the_keys_at_first(study, qtbot):
    page = shown(study, qtbot)
    qtbot.waitExposed(page)
    page.setFocus()
    with qtbot.assertNotEmitted(page._presenter.seat_chosen):
        QTest.keyClick(page.focusWidget() or page, Qt.Key.Key_Space)
        QTest.keyClick(page.focusWidget() or page, Qt.Key.Key_Return)


def button(page, name):
    return next(b for b in page.findChildren(QAbstractButton) if b.accessibleName() == name)


def add(page, name):
    field = page.findChild(QLineEdit)
    field.clear()
    QTest.keyClicks(field, name)
    QTest.keyClick(field, Qt.Key.Key_Return)


@pytest.mark.parametrize("written", ["ada", " Ada ", "ADA"])
def test_that_a_name_that_has_a_seat_gets_no_second_one(study, qtbot, written):
    page = shown(study, qtbot)
    add(page, written)
    assert len(session_seats(study)) == 2
    told = page.findChild(MessageBar).accessibleName()
    assert told.startswith("There is a seat for Ada already: E1.")


def test_that_a_new_seat_comes_into_sight_and_has_the_keys(study, qtbot):
    page = shown(study, qtbot)
    qtbot.waitExposed(page)
    page.resize(960, 400)
    for name in ("Cy", "Di", "Ed", "Flo", "Gus", "Hal"):
        add(page, name)
    listen = button(page, "Listen as E8 Hal")
    qtbot.waitUntil(lambda: listen is page.focusWidget())
    qtbot.waitUntil(lambda: listen.visibleRegion().boundingRect() == listen.rect())
    with qtbot.waitSignal(page._presenter.seat_chosen) as chosen:
        QTest.keyClick(listen, Qt.Key.Key_Space)
    assert chosen.args == [session_seats(study)[-1].session_id]


def test_that_an_unused_seat_is_removed_after_a_question(study, qtbot):
    page = shown(study, qtbot)
    QTest.mouseClick(button(page, "Remove E2 Bo"), Qt.MouseButton.LeftButton)
    assert len(session_seats(study)) == 2
    bar = page.findChild(MessageBar)
    assert "Remove E2 Bo from the list?" in bar.accessibleName()
    QTest.keyClick(page, Qt.Key.Key_Escape)
    assert bar.isHidden()
    QTest.mouseClick(button(page, "Remove E2 Bo"), Qt.MouseButton.LeftButton)
    QTest.keyClick(button(page, "Remove E2"), Qt.Key.Key_Space)
    assert [seat.evaluator.name for seat in session_seats(study)] == ["Ada"]
    qtbot.waitUntil(lambda: "Bo" not in labels(page))


def test_that_a_seat_with_a_rated_pair_cannot_be_removed(study, qtbot):
    desk = ListeningDesk(study, session_seats(study)[1].session_id)
    rate_pair(desk, desk.pairs[0])
    names = [b.accessibleName() for b in shown(study, qtbot).findChildren(QAbstractButton)]
    assert "Remove E1 Ada" in names
    assert "Remove E2 Bo" not in names


def test_that_a_seat_with_scores_of_an_open_pair_is_begun(study, qtbot):
    desk = ListeningDesk(study, session_seats(study)[1].session_id)
    hear_both(desk, desk.pairs[0].pair_id)
    desk.record_scores(desk.pairs[0].pair_id, "boom", {"A": 7.0})
    page = shown(study, qtbot)
    assert "0 of 3 pairs rated" in labels(page)
    names = [b.accessibleName() for b in page.findChildren(QAbstractButton)]
    assert "Go on as E2 Bo" in names
    assert "Remove E2 Bo" not in names


def test_that_a_seat_that_is_begun_meanwhile_is_kept_and_told(study, qtbot):
    page = shown(study, qtbot)
    desk = ListeningDesk(study, session_seats(study)[1].session_id)
    desk.record_opened(desk.pairs[0].pair_id)
    QTest.mouseClick(button(page, "Remove E2 Bo"), Qt.MouseButton.LeftButton)
    QTest.mouseClick(button(page, "Remove E2"), Qt.MouseButton.LeftButton)
    assert len(session_seats(study)) == 2
    assert "Somebody has begun on this seat" in page.findChild(MessageBar).accessibleName()


def test_that_a_seat_open_elsewhere_is_told_before_it_is_opened(study, qtbot):
    seat = session_seats(study)[0]
    lease = take_seat(study, seat.session_id)
    page = shown(study, qtbot)
    assert any(text.startswith("open in another window here since") for text in labels(page))
    with qtbot.assertNotEmitted(page._presenter.seat_chosen):
        QTest.mouseClick(button(page, "Listen as E1 Ada"), Qt.MouseButton.LeftButton)
    assert "Ada is open in another window here" in page.findChild(MessageBar).accessibleName()
    with qtbot.waitSignal(page._presenter.seat_chosen) as chosen:
        QTest.mouseClick(button(page, "Open it here too"), Qt.MouseButton.LeftButton)
    assert chosen.args == [seat.session_id]
    lease.release()
    page._presenter.refresh()
    with qtbot.waitSignal(page._presenter.seat_chosen):
        QTest.mouseClick(button(page, "Listen as E1 Ada"), Qt.MouseButton.LeftButton)


def test_that_a_name_and_its_button_stay_together_on_a_wide_screen(study, qtbot):
    page = shown(study, qtbot)
    page.resize(1920, 1000)
    qtbot.waitUntil(lambda: page.width() == 1920)
    name = next(label for label in page.findChildren(QLabel) if label.text() == "Ada")
    listen = button(page, "Listen as E1 Ada")
    ends = [part.mapTo(page, QPoint(0, 0)).x() for part in (name, listen)]
    assert ends[1] - ends[0] < 1100


def test_that_the_question_mark_shows_the_keys_of_the_seats(study, qtbot):
    page = shown(study, qtbot)
    QTest.keyClicks(page, "?")
    card = page.findChild(KeysCard)
    assert card.isVisible()
    with qtbot.assertNotEmitted(page.left):
        QTest.keyClick(card, Qt.Key.Key_Escape)
    assert not card.isVisible()


def test_that_a_seat_says_what_was_played_on_it_today(study, qtbot):
    seats = session_seats(study)
    desk = ListeningDesk(study, seats[0].session_id, noon_today)
    desk.note_exposure(700.0, 85.0)
    page = shown(study, qtbot)
    # 700 s of 8 h.
    assert "12 min today, 2 % of a day's allowed dose" in labels(page)
    assert sum("today" in text for text in labels(page)) == 1
