"""Long work: its state, the time that is left, and its ends."""

import threading

import pytest

from app.background.long_work import LongWork, WorkState, told_together
from ratings.errors import RatingsError, StudyError


def done(work):
    return work.state is None


def test_that_the_time_left_follows_from_the_part_that_is_done(qtbot):
    now = [100.0]
    early, late, going_on = threading.Event(), threading.Event(), threading.Event()

    def slow(progress):
        now[0] = 110.0
        progress(0.09, "soon")
        early.set()
        assert late.wait(20)
        progress(0.25, "later")
        assert going_on.wait(20)

    work = LongWork(lambda: now[0])
    work.begin(slow, "Beginning")
    assert work.state == WorkState(0.0, "Beginning", None)
    qtbot.waitUntil(lambda: work.state.part == 0.09)
    assert work.state.seconds_left is None
    late.set()
    qtbot.waitUntil(lambda: work.state.part == 0.25)
    assert work.state.seconds_left == pytest.approx(30.0)
    going_on.set()
    qtbot.waitUntil(lambda: done(work))


def test_that_a_stop_is_told_at_once_and_steps_change_nothing_after_it(qtbot):
    begun, going_on = threading.Event(), threading.Event()

    def slow(progress):
        progress(0.5, "half")
        begun.set()
        assert going_on.wait(20)
        progress(0.6, "more")

    work = LongWork()
    work.begin(slow)
    qtbot.waitUntil(begun.is_set)
    qtbot.waitUntil(lambda: work.state.part == 0.5)
    with qtbot.waitSignal(work.cancelled):
        work.cancel()
        assert work.state == WorkState(0.5, "Stopping", None, True)
        going_on.set()
    assert done(work)


def test_that_only_one_piece_of_work_is_done_at_a_time(qtbot):
    going_on, begun = threading.Event(), []

    def first(_progress):
        begun.append("first")
        assert going_on.wait(20)

    work = LongWork()
    work.begin(first)
    work.begin(lambda _progress: begun.append("second"))
    with qtbot.waitSignal(work.ended):
        going_on.set()
    assert begun == ["first"]


def test_that_whoever_hears_of_the_end_may_begin_anew(qtbot):
    work, results = LongWork(), []

    def take(result):
        assert done(work)
        results.append(result)
        if len(results) == 1:
            work.begin(lambda _progress: "second")

    work.succeeded.connect(take)
    work.begin(lambda _progress: "first")
    qtbot.waitUntil(lambda: len(results) == 2)
    qtbot.waitUntil(lambda: done(work))
    assert results == ["first", "second"]


def test_that_a_refusal_is_passed_on_after_the_work_was_let_go(qtbot):
    refusal = StudyError("The folder is gone.", "Bring it back.")

    def refuse(_progress):
        raise refusal

    work = LongWork()
    with qtbot.waitSignal(work.refused) as told:
        work.begin(refuse)
    assert told.args == [refusal]
    assert done(work)


def test_that_several_refusals_are_told_as_the_first_and_how_many_more():
    refusals = [(name, RatingsError("It is silent.", "Check it.")) for name in ("a.wav", "b.wav")]
    alone = told_together(refusals[:1], "were not imported either")
    assert (alone.what_happened, alone.what_to_do) == ("a.wav: It is silent.", "Check it.")
    both = told_together(refusals, "were not imported either")
    assert both.what_happened == "a.wav: It is silent. 1 more were not imported either."
