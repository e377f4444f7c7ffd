import pytest

from app.background.look_ups import LookUps
from ratings.errors import RecordingError


@pytest.fixture
def look_ups(qapp):
    return LookUps()


class Work:
    """Answers with how often it was asked, or refuses."""

    def __init__(self, problem=None):
        self.count, self.problem = 0, problem

    def __call__(self):
        self.count += 1
        if self.problem is not None:
            raise self.problem
        return self.count


def ask(qtbot, look_ups, work, **how):
    """Ask and wait for the answer to this question."""
    with qtbot.waitSignal(look_ups.answered, check_params_cb=lambda question: question == "size"):
        look_ups.look_up("size", work, **how)


def test_that_a_question_is_answered_once_and_remembered(qtbot, look_ups):
    work = Work()
    assert look_ups.answer("size") is None
    ask(qtbot, look_ups, work)
    assert look_ups.answer("size") == 1
    look_ups.look_up("size", work)
    assert look_ups.answer("size") == 1
    assert work.count == 1


def test_that_an_answer_asked_for_again_is_unknown_until_it_is_found(qtbot, look_ups):
    work = Work()
    ask(qtbot, look_ups, work)
    with qtbot.waitSignal(look_ups.answered):
        look_ups.look_up("size", work, again=True)
        assert look_ups.answer("size") is None
        # What is under way already is not begun a second time.
        look_ups.look_up("size", work, again=True)
    assert look_ups.answer("size") == 2
    assert work.count == 2


def test_that_a_refusal_is_the_answer_until_it_is_asked_for_again(qtbot, look_ups):
    refused = Work(RecordingError("It is empty.", "Choose another."))
    ask(qtbot, look_ups, refused)
    assert look_ups.answer("size") is refused.problem
    look_ups.look_up("size", refused)
    assert refused.count == 1
    ask(qtbot, look_ups, Work(), again=True)
    assert look_ups.answer("size") == 1


def test_that_work_that_fails_is_not_begun_again_at_each_look(qtbot, look_ups):
    broken = Work(ZeroDivisionError())
    with qtbot.captureExceptions() as defects:
        ask(qtbot, look_ups, broken)
        qtbot.waitUntil(lambda: bool(defects))
    look_ups.look_up("size", broken)
    assert look_ups.answer("size") is None
    assert broken.count == 1
