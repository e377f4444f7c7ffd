"""Finite work off the window's thread, with progress, cancel, and its outcome delivered back."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Generic, TypeVar

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal, Slot
from shiboken6 import isValid

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

    A job whose parent is gone before the work has ended is heard of no more.

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

    def __init__(self, work: Callable[[Progress], Result], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._courier = _Courier(work, self)

    def start(self) -> None:
        """Give the work to a thread of the pool."""
        self._courier.send()

    def cancel(self) -> None:
        """Ask the work to stop at its next step."""
        self._courier.is_cancelled = True


class _Courier(QObject):
    """Carries steps and the outcome from the worker to the window's thread.

    It has no parent, and is kept alive until the outcome was delivered: were it to die with the
    worker's last reference, it would die on the worker's thread.
    """

    _on_the_way: ClassVar[set["_Courier"]] = set()

    stepped = Signal(object)
    ended = Signal(object)

    def __init__(self, work: Callable[[Progress], Any], job: Job[Any]) -> None:
        super().__init__()
        self._work = work
        self._job = job
        self.is_cancelled = False
        # Both signals come from the worker's thread, so they are queued into this one.
        self.stepped.connect(self._pass_on)
        self.ended.connect(self._deliver)

    def send(self) -> None:
        """Start the work."""
        self._on_the_way.add(self)
        QThreadPool.globalInstance().start(_Worker(self))

    def work(self) -> None:
        """Do the work, on the worker's thread."""
        outcome = self._done()
        if isValid(self):  # else the program has ended
            self.ended.emit(outcome)

    def _done(self) -> _Outcome:
        try:
            return _Outcome(result=self._work(self._report))
        except Cancelled:
            return _Outcome(is_cancelled=True)
        except RatingsError as refusal:
            return _Outcome(refusal=refusal)
        except Exception as defect:  # noqa: BLE001 - raised again where the hook sees it
            return _Outcome(defect=defect)

    def _report(self, part: float, words: str) -> None:
        if self.is_cancelled or not isValid(self):
            raise Cancelled
        self.stepped.emit(Step(part, words))

    @Slot(object)
    def _pass_on(self, step: Step) -> None:
        if isValid(self._job):
            self._job.stepped.emit(step)

    @Slot(object)
    def _deliver(self, outcome: _Outcome) -> None:
        self._on_the_way.discard(self)
        job = self._job
        if isValid(job):
            if outcome.is_cancelled:
                job.cancelled.emit()
            elif outcome.refusal is not None:
                job.refused.emit(outcome.refusal)
            elif outcome.defect is None:
                job.succeeded.emit(outcome.result)
            job.ended.emit()
        if outcome.defect is not None:
            raise outcome.defect


class _Worker(QRunnable):
    def __init__(self, courier: _Courier) -> None:
        super().__init__()
        self._courier = courier

    def run(self) -> None:
        """Do the work."""
        self._courier.work()
