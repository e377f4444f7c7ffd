"""What is said of the panel, without a window."""

import dataclasses

import pytest
from studies import small_study

from app.lead.panel.presenter import PanelPresenter
from app.station import State
from ratings.storage.listening_desk import session_seats


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


@pytest.fixture
def presenter(qapp, study):
    presenter = PanelPresenter(study)
    presenter.problems = []
    presenter.problem_raised.connect(presenter.problems.append)
    return presenter


def seats_of(study, *locked):
    """Seats with so many pairs closed each; None for one that has not begun."""
    first = session_seats(study)[0]
    return [
        dataclasses.replace(first, locked_count=count or 0, is_begun=count is not None)
        for count in locked
    ]


@pytest.mark.parametrize(
    ("locked", "heading", "state"),
    [
        ((), "Nobody has a seat yet.", State("no seat yet")),
        ((3,), "The one evaluator has finished.", State("all 1 have finished", is_done=True)),
        ((3, 3), "All 2 evaluators have finished.", State("all 2 have finished", is_done=True)),
        (
            (3, 1, None),
            "1 of 3 evaluators has finished, 1 is under way, 1 has not begun.",
            State("1 has not begun"),
        ),
        (
            (3, 3, 1, 2),
            "2 of 4 evaluators have finished, 2 are under way.",
            State("2 under way"),
        ),
        (
            (None, None),
            "0 of 2 evaluators have finished, 2 have not begun.",
            State("2 have not begun"),
        ),
    ],
)
def test_that_heading_and_rail_say_how_far_the_panel_is(presenter, study, locked, heading, state):
    presenter.take_seats(seats_of(study, *locked))
    assert presenter.heading() == heading
    assert presenter.state() == state


def test_that_each_row_says_how_far_it_is_and_whose_scores_were_imported(presenter, study):
    presenter.take_seats(seats_of(study, 3, 1, None), ["P1"])
    assert [row.words for row in presenter.rows()] == [
        "finished, all 3 pairs rated",
        "under way, 1 of 3 pairs rated",
        "not begun, 3 pairs",
        "scores imported",
    ]
    assert [row.pairs for row in presenter.rows()] == [(3, 3), (1, 3), (0, 3), None]


def test_that_the_same_seats_change_nothing(qtbot, presenter, study):
    presenter.take_seats(seats_of(study, 1))
    with qtbot.assertNotEmitted(presenter.seats_changed):
        presenter.take_seats(seats_of(study, 1))


def test_that_a_written_name_is_at_stake_until_it_has_a_seat(qtbot, presenter, study):
    presenter.add()
    assert [problem.what_happened for problem in presenter.problems] == [
        "Write a name or initials first."
    ]
    presenter.written = " Cleo "
    assert presenter.at_stake() == "Cleo is written and has no seat yet."
    with qtbot.waitSignal(presenter.seat_added):
        presenter.add()
    assert presenter.at_stake() == ""
    assert [seat.evaluator.name for seat in session_seats(study)] == ["Ada", "Bo", "Cleo"]
