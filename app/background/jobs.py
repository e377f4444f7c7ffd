"""Finite work off the window's thread, with progress, cancel, and its outcome delivered back."""

import functools
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal, Slot
from shiboken6 import isValid

from app.background.garbage import collect_anywhere, collect_here_only
from ratings.errors import Cancelled, RatingsError

Result = TypeVar("Result")

#: Called by the work with the part done (0 to 1) and words; raises Cancelled when asked to stop.
Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class Step:
    """How far a job has got: the part done, 0 to 1, and what is being done."""

    part: float
    words: str


@dataclass(frozen=True, slots=True)
class _Outcome:
    """How the work ended; exactly one of these is meant."""

    result: Any = None
    refusal: RatingsError | None = None
    defect: Exception | None = None
    is_cancelled: bool = False


class Job(QObject, Generic[Result]):
    """One piece of work; make it on the window's thread, connect, then `start`.

    A job whose parent is gone before the work has ended is heard of no more; one that has ended
    is taken from its parent.

    Parameters
    ----------
    pool
        Whose threads do the work; None for those that all finite work shares.

    Signals
    -------
    stepped(Step)
        Progress.
    succeeded(object)
        The result of the work.
    refused(RatingsError)
        The user's surroundings or input did not allow it.
    cancelled()
        It was stopped on request.
    ended()
        After any of the others.
    """

    stepped = Signal(object)
    succeeded = Signal(object)
    refused = Signal(object)
    cancelled = Signal()
    ended = Signal()

    def __init__(
        self,
        work: Callable[[Progress], Result],
        parent: QObject | None = None,
        pool: QThreadPool | None = None,
    ) -> None:
        super().__init__(parent)
        self._work: Callable[[Progress], Result] | None = work
        self._pool = pool
        self._ticket = _Ticket()

    def start(self) -> None:
        """Give the work to a thread of the pool."""
        if self._work is None:
            raise RuntimeError("a job starts once")
        work, self._work = self._work, None
        pool = QThreadPool.globalInstance() if self._pool is None else self._pool
        _office().send(self, work, self._ticket, pool)

    def cancel(self) -> None:
        """Ask the work to stop at its next step."""
        self._ticket.is_cancelled = True


class _Ticket:
    """Names one piece of work on both threads; no object of Qt's."""

    is_cancelled = False


class _Office(QObject):
    """Hands work to the pool's threads and takes steps and outcomes back to the window's.

    There is one for the whole program, and what is on the way is held here until it was
    delivered: whatever Qt owns behind a job is let go of on the window's thread only. An object
    of Qt's that died with a worker's last reference could die under the event that it is in.
    """

    stepped = Signal(object, object)
    ended = Signal(object, object)

    def __init__(self) -> None:
        super().__init__()
        self._on_the_way: dict[_Ticket, tuple[Job[Any], Callable[[Progress], Any]]] = {}
        self._pools: set[QThreadPool] = set()
        # Both signals come from workers' threads, so they are queued into this one.
        self.stepped.connect(self._pass_on, Qt.ConnectionType.QueuedConnection)
        self.ended.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    def send(
        self,
        job: Job[Any],
        work: Callable[[Progress], Any],
        ticket: _Ticket,
        pool: QThreadPool,
    ) -> None:
        """Start the work of a job."""
        self._on_the_way[ticket] = (job, work)
        self._pools.add(pool)
        collect_here_only(self._rest)
        pool.start(_Worker(self, work, ticket))

    def _rest(self) -> None:
        """Leave the garbage to Python again once no thread of the pools is at work."""
        if not self._on_the_way and not any(pool.activeThreadCount() for pool in self._pools):
            collect_anywhere()

    @Slot(object, object)
    def _pass_on(self, ticket: _Ticket, step: Step) -> None:
        job, _ = self._on_the_way[ticket]
        if isValid(job):
            job.stepped.emit(step)

    @Slot(object, object)
    def _deliver(self, ticket: _Ticket, outcome: _Outcome) -> None:
        job, _ = self._on_the_way.pop(ticket)
        if isValid(job):
            if outcome.is_cancelled:
                job.cancelled.emit()
            elif outcome.refusal is not None:
                job.refused.emit(outcome.refusal)
            elif outcome.defect is None:
                job.succeeded.emit(outcome.result)
        # A slot may have let its owner go.
        if isValid(job):
            job.ended.emit()
        if isValid(job) and job.parent() is not None:
            job.deleteLater()
        if outcome.defect is not None:
            raise outcome.defect


def attempt(work: Callable[[], Result], instead: Result) -> Result:
    """Do one part of what a page shows; return `instead` when the program itself fails in it.

    For parts whose neighbours still have something to show. The defect goes where every defect
    goes, the same one once: a page is worked out anew with each score. Refusals pass.
    """
    try:
        return work()
    except (Cancelled, RatingsError):
        raise
    except Exception as defect:  # noqa: BLE001 - handed to the hook, and told in place
        lines = "".join(traceback.format_exception(defect))
        if lines not in _reported:
            _reported.add(lines)
            sys.excepthook(type(defect), defect, defect.__traceback__)
        return instead


#: Defects that `attempt` has handed to the hook.
_reported: set[str] = set()


@functools.cache
def _office() -> _Office:
    """Return the program's one office, made on the window's thread by the first job."""
    return _Office()


class _Worker(QRunnable):
    def __init__(self, office: _Office, work: Callable[[Progress], Any], ticket: _Ticket) -> None:
        super().__init__()
        self._office = office
        self._work: Callable[[Progress], Any] | None = work
        self._ticket = ticket

    def run(self) -> None:
        """Do the work, on the worker's thread."""
        outcome = self._done()
        # Before the outcome leaves: the office holds the last reference then.
        self._work = None
        if isValid(self._office):  # else the program has ended
            self._office.ended.emit(self._ticket, outcome)

    def _done(self) -> _Outcome:
        if self._work is None:
            raise RuntimeError("a worker runs once")
        try:
            return _Outcome(result=self._work(self._report))
        except Cancelled:
            return _Outcome(is_cancelled=True)
        except RatingsError as refusal:
            return _Outcome(refusal=refusal)
        except Exception as defect:  # noqa: BLE001 - raised again where the hook sees it
            return _Outcome(defect=defect)

    def _report(self, part: float, words: str) -> None:
        if self._ticket.is_cancelled or not isValid(self._office):
            raise Cancelled
        self._office.stepped.emit(self._ticket, Step(part, words))


def fails(act: Callable[[], None]) -> bool:
    """Do what its neighbours can do without, and tell whether it failed."""

    def done() -> bool:
        act()
        return False

    return attempt(done, instead=True)
