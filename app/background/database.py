"""The one worker for studies: what is asked of them is done in order, off the window's thread.

A study may be held by another program, and a disk may be slow or away: who asks is told when it is
done, and lives on meanwhile. What takes its time without holding a study belongs in a `Job`.
"""

import functools
from collections import deque
from collections.abc import Callable, Generator
from typing import Any, TypeVar

from PySide6.QtCore import QObject, QThreadPool, QTimer, Signal

from app.background.jobs import Job
from ratings.errors import RatingsError
from ratings.storage.patience import longest_wait_s

Result = TypeVar("Result")

#: What is done in steps on the window's thread; between them it yields what is to be done by the
#: worker, and is given the result, or has the refusal raised in it.
Act = Generator[Callable[[], Any], Any, Result]

#: A shorter wait is not worth a word.
TOLD_AFTER_MS = 100
_MS = 1000


class Line(QObject):
    """What is asked waits here for its turn; there is one for the whole program.

    Signals
    -------
    waiting_changed(bool)
        Whether a study that another program holds has been waited for longer than a moment.
    """

    waiting_changed = Signal(bool)

    def __init__(self) -> None:
        super().__init__()
        self.pool = QThreadPool(self, maxThreadCount=1, expiryTimeout=-1)
        self._is_waiting = False
        self._look = QTimer(self, interval=TOLD_AFTER_MS)
        self._look.timeout.connect(self._tell)

    def send(self, job: Job[Any]) -> None:
        """Have a job of this pool done after all that was sent before."""
        job.start()
        if not self._look.isActive():
            self._look.start()

    def _tell(self) -> None:
        is_waiting = longest_wait_s() * _MS >= TOLD_AFTER_MS
        if is_waiting != self._is_waiting:
            self._is_waiting = is_waiting
            self.waiting_changed.emit(is_waiting)
        if not is_waiting and not self.pool.activeThreadCount():
            self._look.stop()


@functools.cache
def line() -> Line:
    """Return the program's one line, made on the window's thread by whoever asks first."""
    return Line()


def ask(
    owner: QObject,
    work: Callable[[], Result],
    then: Callable[[Result], None],
    refused: Callable[[RatingsError], None],
    ended: Callable[[], None] = lambda: None,
) -> None:
    """Have work done on the worker after all that was asked before; be told on this thread.

    Parameters
    ----------
    owner
        Once it is gone, nobody is told.
    then, refused
        One of them is called, unless the work had a defect: that goes to the hook.
    ended
        Called in every case, after them.
    """
    job = Job(lambda _progress: work(), owner, line().pool)
    job.succeeded.connect(then)
    job.refused.connect(refused)
    job.ended.connect(ended)
    line().send(job)


class Poll(QObject):
    """Reads something of a study now and then.

    Signals
    -------
    was_read(object)
        What was read.
    problem_raised(RatingsError)
        It could not be read; told once until it can be read again.
    """

    was_read = Signal(object)
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self, read: Callable[[], object], interval_ms: int, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._read = read
        self._is_in_trouble = self._is_looking = self._is_overtaken = False
        self._timer = QTimer(self, interval=interval_ms)
        self._timer.timeout.connect(self._look_if_idle)

    def start(self) -> None:
        """Look now, and from now on at every interval."""
        self.look()
        self._timer.start()

    def stop(self) -> None:
        """Look no more."""
        self._timer.stop()

    def look(self) -> None:
        """Look now; once more where a look is under way."""
        self._is_overtaken = self._is_looking
        if not self._is_looking:
            self._is_looking = True
            ask(self, self._read, self._take, self._refuse, self._end)

    def _look_if_idle(self) -> None:
        # A study that is held must not fill the line with looks.
        if not self._is_looking:
            self.look()

    def _take(self, read: object) -> None:
        self._is_in_trouble = False
        self.was_read.emit(read)

    def _refuse(self, problem: RatingsError) -> None:
        if not self._is_in_trouble:
            self._is_in_trouble = True
            self.problem_raised.emit(problem)

    def _end(self) -> None:
        self._is_looking = False
        if self._is_overtaken:
            self.look()


class Acts(QObject):
    """Acts one after another, each done to its end before the next begins.

    Signals
    -------
    ended()
        None is left.
    """

    ended = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._acts: deque[Act[None]] = deque()
        self._steps = 0

    @property
    def is_idle(self) -> bool:
        """Whether no act is under way or waits for its turn."""
        return not self._acts

    def take(self, act: Act[None]) -> None:
        """Do an act after those taken before; at once, up to its first stop, when there is none."""
        self._acts.append(act)
        if len(self._acts) == 1:
            self._go_on(lambda: next(act))

    def _go_on(self, step: Callable[[], Callable[[], Any]]) -> None:
        act, self._steps = self._acts[0], self._steps + 1
        here = self._steps
        try:
            work = step()
        except StopIteration:
            self._end()
            return
        except BaseException:
            self._end()
            raise
        ask(
            self,
            work,
            lambda result: self._go_on(lambda: act.send(result)),
            lambda refusal: self._go_on(lambda: act.throw(refusal)),
            lambda: self._end_defect(act, here),
        )

    def _end_defect(self, act: Act[None], step: int) -> None:
        """Go on with the next act where the work of this one had a defect."""
        if self._steps == step:
            act.close()
            self._end()

    def _end(self) -> None:
        self._steps += 1
        self._acts.popleft()
        if self._acts:
            following = self._acts[0]
            self._go_on(lambda: next(following))
        else:
            self.ended.emit()
