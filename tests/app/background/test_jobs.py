import gc
import threading

import pytest
from PySide6.QtCore import QObject, Qt, QThread

from app.background.jobs import Job, Step
from ratings.errors import StudyError


def test_that_a_result_comes_back_on_the_windows_thread(qtbot, qapp):
    threads = []

    def work(_progress):
        threads.append(QThread.currentThread())
        return 42

    job = Job(work)
    results = []

    def take(result):
        results.append((result, QThread.currentThread()))

    job.succeeded.connect(take)
    with qtbot.waitSignal(job.ended, timeout=5000):
        job.start()
    assert results == [(42, qapp.thread())]
    assert threads[0] is not qapp.thread()


def test_that_progress_is_passed_on_in_order(qtbot):
    def work(progress):
        for part in (0.0, 0.5, 1.0):
            progress(part, f"at {part}")

    job = Job(work)
    steps = []
    job.stepped.connect(steps.append)
    with qtbot.waitSignal(job.ended, timeout=5000):
        job.start()
    assert steps == [Step(0.0, "at 0.0"), Step(0.5, "at 0.5"), Step(1.0, "at 1.0")]


def test_that_a_refusal_is_told_as_it_is(qtbot):
    refusal = StudyError("The folder is gone.", "Bring it back.")

    def work(_progress):
        raise refusal

    job = Job(work)
    with qtbot.waitSignal(job.refused, timeout=5000) as told:
        job.start()
    assert told.args == [refusal]


def test_that_a_cancelled_job_stops_at_its_next_step(qtbot):
    begun = threading.Event()
    go_on = threading.Event()
    done = []

    def work(progress):
        begun.set()
        go_on.wait(5)
        progress(0.5, "half")
        done.append("after the step")

    job = Job(work)
    with qtbot.waitSignal(job.cancelled, timeout=5000):
        job.start()
        assert begun.wait(5)
        job.cancel()
        go_on.set()
    assert done == []


def test_that_a_defect_is_raised_where_the_hook_sees_it(qtbot):
    def work(_progress):
        raise ZeroDivisionError("a defect")

    job = Job(work)
    with qtbot.captureExceptions() as caught, qtbot.waitSignal(job.ended, timeout=5000):
        job.start()
    assert [kind for kind, _, _ in caught] == [ZeroDivisionError]


@pytest.mark.parametrize("count", [20])
def test_that_many_jobs_all_end(qtbot, count):
    results = []
    jobs = [Job(lambda _progress, n=n: n) for n in range(count)]
    for job in jobs:
        job.succeeded.connect(results.append)
        job.start()
    qtbot.waitUntil(lambda: len(results) == count, timeout=5000)
    assert sorted(results) == list(range(count))


def test_that_a_job_whose_owner_is_gone_ends_without_being_heard(qtbot):
    from PySide6.QtCore import QObject
    from shiboken6 import delete

    go_on = threading.Event()
    done = threading.Event()

    def work(_progress):
        go_on.wait(5)
        done.set()

    owner = QObject()
    heard = []
    job = Job(work, owner)
    job.succeeded.connect(heard.append)
    job.start()
    delete(owner)
    go_on.set()
    assert done.wait(5)
    assert pool_is_idle(qtbot)
    assert heard == []


@pytest.mark.slow
def test_that_jobs_nobody_keeps_are_delivered_all_the_same(qtbot):
    import gc

    results = []

    def start(number):
        job = Job(lambda _progress: number)
        job.succeeded.connect(results.append)
        job.start()

    for number in range(20):
        start(number)
        if number % 5 == 4:
            gc.collect()
    qtbot.waitUntil(lambda: len(results) == 20, timeout=10000)
    assert sorted(results) == list(range(20))


def pool_is_idle(qtbot):
    from PySide6.QtCore import QThreadPool

    return QThreadPool.globalInstance().waitForDone(5000)


def test_that_what_a_window_has_left_never_dies_on_the_thread_of_a_job(qtbot, qapp):
    died_on = []
    gc.collect()
    left = QObject()
    left.itself = left
    left.destroyed.connect(
        lambda: died_on.append(QThread.currentThread()), Qt.ConnectionType.DirectConnection
    )
    del left
    # Enough for Python to collect several times.
    job = Job(lambda _progress: [[] for _ in range(100_000)])
    with qtbot.waitSignal(job.ended, timeout=5000):
        job.start()
    qtbot.waitUntil(gc.isenabled)
    gc.collect()
    assert died_on == [qapp.thread()]


def test_that_garbage_is_collected_during_long_work_too(qtbot, qapp):
    died_on = []
    go_on = threading.Event()
    job = Job(lambda _progress: go_on.wait(5))
    job.start()
    assert not gc.isenabled()
    left = QObject()
    left.itself = left
    left.destroyed.connect(
        lambda: died_on.append(QThread.currentThread()), Qt.ConnectionType.DirectConnection
    )
    del left
    qtbot.waitUntil(lambda: died_on == [qapp.thread()])
    with qtbot.waitSignal(job.ended, timeout=5000):
        go_on.set()
    qtbot.waitUntil(gc.isenabled)
