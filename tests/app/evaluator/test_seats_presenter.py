"""Who has a seat and what is asked before one is taken, without a window."""

import pytest
from studies import rate_pair, small_study

from app.evaluator.seats_presenter import SeatsPresenter
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.seat_leases import take_seat


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


@pytest.fixture
def open_seats(qapp, study):
    def open_():
        presenter = SeatsPresenter(study)
        presenter.offers = []
        presenter.offered.connect(presenter.offers.append)
        return presenter

    return open_


def test_that_each_row_offers_what_can_be_done_there(study, open_seats):
    first = ListeningDesk(study, session_seats(study)[0].session_id)
    for pair in first.pairs:
        rate_pair(first, pair)
    second = ListeningDesk(study, session_seats(study)[1].session_id)
    rate_pair(second, second.pairs[0])
    presenter = open_seats()
    presenter.add("Cy")
    shown = [(row.who, row.state, row.look, row.step, row.can_remove) for row in presenter.rows]
    assert shown == [
        ("E1 Ada", "finished, 3 pairs", "done", "", False),
        ("E2 Bo", "1 of 3 pairs rated", "soft", "Go on", False),
        ("E3 Cy", "not begun, 3 pairs", "soft", "Listen", True),
    ]
    assert presenter.newest == presenter.rows[2].session_id


def test_that_a_free_seat_is_taken_at_once_and_one_open_elsewhere_after_a_question(
    qtbot, study, open_seats
):
    lease = take_seat(study, session_seats(study)[0].session_id)
    presenter = open_seats()
    with qtbot.waitSignal(presenter.seat_chosen) as chosen:
        presenter.choose(presenter.rows[1])
    assert chosen.args == [presenter.rows[1].session_id]
    assert presenter.rows[0].look == "attention"
    with qtbot.assertNotEmitted(presenter.seat_chosen):
        presenter.choose(presenter.rows[0])
    assert presenter.offers[0].happened.startswith("Ada is open in another window here")
    with qtbot.waitSignal(presenter.seat_chosen) as chosen:
        presenter.take_offer()
    assert chosen.args == [presenter.rows[0].session_id]
    lease.release()


def test_that_a_seat_is_removed_only_after_a_question(study, open_seats):
    presenter = open_seats()
    presenter.ask_removal(presenter.rows[1])
    assert presenter.offers[0].happened == "Remove E2 Bo from the list?"
    assert len(session_seats(study)) == 2
    presenter.take_offer()
    assert [row.who for row in presenter.rows] == ["E1 Ada"]


def test_that_nobody_without_a_name_gets_a_seat(qtbot, study, open_seats):
    presenter = open_seats()
    with qtbot.waitSignal(presenter.name_missing):
        presenter.add("  ")
    assert len(session_seats(study)) == 2
