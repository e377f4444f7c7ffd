import pytest
from studies import small_study

from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.seat_desk import SeatDesk, ready_sessions


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


def names(study):
    return [seat.evaluator.name for seat in session_seats(study)]


def test_that_a_seat_given_back_lies_ready_for_somebody_else(study):
    ready = ready_sessions(study)
    session_id = session_seats(study)[1].session_id
    SeatDesk(study).give_back(session_id)
    assert names(study) == ["Ada"]
    assert ready_sessions(study) == ready + 1
    assert SeatDesk(study).seat("Cy") == session_id
    assert names(study) == ["Ada", "Cy"]


BEGINNINGS = {
    "event": lambda desk, pair_id: desk.record_opened(pair_id),
    "note": lambda desk, pair_id: desk.record_note(pair_id, "A", "hums"),
    "listening time": lambda desk, _pair_id: desk.note_exposure(3.0, None),
}


@pytest.mark.parametrize("what", BEGINNINGS)
def test_that_a_seat_of_which_anything_is_kept_is_begun_and_stays(study, what):
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    assert [seat.is_begun for seat in session_seats(study)] == [False, False]
    BEGINNINGS[what](desk, desk.pairs[0].pair_id)
    assert [seat.is_begun for seat in session_seats(study)] == [True, False]
    assert session_seats(study)[0].locked_count == 0
    with pytest.raises(StudyError, match="Somebody has begun"):
        SeatDesk(study).give_back(desk.session_id)
    assert names(study) == ["Ada", "Bo"]


@pytest.mark.parametrize("written", ["ada", "ADA ", "  Ada"])
def test_that_one_name_has_one_seat_however_it_is_written(study, written):
    with pytest.raises(StudyError, match="There is a seat for Ada already: E1"):
        SeatDesk(study).seat(written)
    assert names(study) == ["Ada", "Bo"]


def test_that_nameless_seats_are_no_doubles(study):
    SeatDesk(study).seat("")
    SeatDesk(study).seat(" ")
    assert names(study) == ["Ada", "Bo", "", ""]


def test_that_the_name_of_a_seat_given_back_is_free_again(study):
    SeatDesk(study).give_back(session_seats(study)[0].session_id)
    SeatDesk(study).seat("ada")
    assert "ada" in names(study)
