"""Whatever an evaluator does in whatever order: the desk and the disk say the same as a model."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from studies import Clock, small_study

from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.listening import SIDES

KEYS = ("boom", "rumble")
acts = st.one_of(
    st.tuples(st.just("hear"), st.integers(0, 2), st.sampled_from(SIDES)),
    st.tuples(
        st.just("score"),
        st.integers(0, 2),
        st.sampled_from(KEYS),
        st.dictionaries(
            st.sampled_from(SIDES),
            st.one_of(st.none(), st.integers(4, 40).map(lambda quarters: quarters / 4)),
            min_size=1,
        ),
    ),
    st.tuples(st.just("note"), st.integers(0, 2), st.sampled_from(SIDES), st.text(max_size=12)),
    st.tuples(st.just("lock"), st.integers(0, 2)),
    st.tuples(st.just("reopen")),
)


class Model:
    """What should be there."""

    def __init__(self) -> None:
        self.heard = {place: set() for place in range(3)}
        self.scores = {place: {} for place in range(3)}
        self.notes = {place: {} for place in range(3)}
        self.locked = set()

    def does(self, act) -> bool:
        """Do it; tell whether it is allowed."""
        kind, place = act[0], act[1]
        if place in self.locked:
            return False
        if kind == "hear":
            self.heard[place].add(act[2])
        elif kind == "note":
            self.notes[place][act[2]] = act[3]
        elif kind == "score":
            if len(self.heard[place]) < 2:
                return False
            for side, value in act[3].items():
                self.scores[place].pop((act[2], side), None)
                if value is not None:
                    self.scores[place][act[2], side] = value
        else:
            if len(self.scores[place]) < len(KEYS) * 2:
                return False
            self.locked.add(place)
        return True


def do(desk: ListeningDesk, act) -> bool:
    pair_id = desk.pairs[act[1]].pair_id
    try:
        match act[0]:
            case "hear":
                desk.record_heard(pair_id, act[2])
            case "note":
                desk.record_note(pair_id, act[2], act[3])
            case "score":
                desk.record_scores(pair_id, act[2], act[3])
            case _:
                desk.lock(pair_id)
    except StudyError:
        return False
    return True


def check(desk: ListeningDesk, model: Model) -> None:
    answers = desk.answers()
    for place in range(3):
        given_answers = answers[desk.pairs[place].pair_id]
        scores = {
            (key, side): value
            for key, sides in given_answers.scores.items()
            for side, value in sides.items()
        }
        assert scores == model.scores[place]
        assert given_answers.notes == model.notes[place]
        assert given_answers.heard == model.heard[place]
        assert given_answers.is_locked == (place in model.locked)


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    # One study for all examples: each takes a session of its own.
    study = small_study(tmp_path_factory.mktemp("random"))
    yield study
    study.close()


@pytest.mark.slow
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(sequence=st.lists(acts, max_size=25))
def test_that_any_sequence_of_acts_leaves_on_the_disk_what_a_model_says(study, sequence):
    from ratings.storage.lead_desk import LeadDesk

    session_id = LeadDesk(study).seat("")
    desk, model = ListeningDesk(study, session_id, Clock()), Model()
    for act in sequence:
        if act[0] == "reopen":
            desk = ListeningDesk(study, session_id, Clock())
        else:
            assert do(desk, act) == model.does(act)
    check(desk, model)
    assert session_seats(study)[-1].locked_count == len(model.locked)
