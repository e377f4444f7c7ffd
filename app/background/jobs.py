"""Finite work off the window's thread, with progress, cancel, and its outcome delivered back."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal, Slot

from ratings.errors import Cancelled, RatingsError

Result = TypeVar("Result")

#: Called by the work with the part done (0 to 1) and words; raises Cancelled when asked to stop.
Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class Step:
    """How far a job has got: the part done, 0 to 1, and what is being done."""

    part: float
    words: str


class _Carrier(QObject):
    """Carries signals from the worker to the thread it was made on."""

    stepped = Signal(object)  # Step
    succeeded = Signal(object)
    refused = Signal(object)  # RatingsError
    broke = Signal(object)  # Exception: a defect
    cancelled = Signal()


class Job(QObject, Generic[Result]):
    """One piece of work; make it on the window's thread, connect, then `start`.

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
        self._work = work
        self._is_cancelled = False
        # The carrier belongs to this thread, so its signals are queued into it.
        self._carrier = _Carrier()
        self._carrier.stepped.connect(self.stepped)
        self._carrier.succeeded.connect(self._on_success)
        self._carrier.refused.connect(self._on_refusal)
        self._carrier.broke.connect(self._on_defect)
        self._carrier.cancelled.connect(self._on_cancel)

    def start(self) -> None:
        """Give the work to a thread of the pool."""
        QThreadPool.globalInstance().start(_Worker(self._run))

    def cancel(self) -> None:
        """Ask the work to stop at its next step."""
        self._is_cancelled = True

    def _run(self) -> None:
        try:
            result = self._work(self._report)
        except Cancelled:
            self._carrier.cancelled.emit()
        except RatingsError as problem:
            self._carrier.refused.emit(problem)
        except Exception as defect:  # noqa: BLE001 - raised again where the hook sees it
            self._carrier.broke.emit(defect)
        else:
            self._carrier.succeeded.emit(result)

    def _report(self, part: float, words: str) -> None:
        if self._is_cancelled:
            raise Cancelled
        self._carrier.stepped.emit(Step(part, words))

    @Slot(object)
    def _on_success(self, result: Result) -> None:
        self.succeeded.emit(result)
        self.ended.emit()

    @Slot(object)
    def _on_refusal(self, problem: RatingsError) -> None:
        self.refused.emit(problem)
        self.ended.emit()

    @Slot()
    def _on_cancel(self) -> None:
        self.cancelled.emit()
        self.ended.emit()

    @Slot(object)
    def _on_defect(self, defect: Exception) -> None:
        self.ended.emit()
        raise defect


class _Worker(QRunnable):
    def __init__(self, run: Callable[[], None]) -> None:
        super().__init__()
        self._call = run

    def run(self) -> None:
        """Do the work."""
        self._call()
