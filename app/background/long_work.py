"""Long work, one piece at a time: how far it has got, the time that is left, and a way to stop."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Progress, Step
from ratings.errors import RatingsError

#: Before this part is done, the time that is left cannot be told from the time that went by.
_TELLING_PART = 0.1


@dataclass(frozen=True, slots=True)
class WorkState:
    """How far it has got.

    Attributes
    ----------
    part
        From 0 to 1.
    seconds_left
        None as long as it cannot be told.
    """

    part: float = 0.0
    words: str = ""
    seconds_left: float | None = None
    is_stopping: bool = False


class LongWork(QObject):
    """Does one piece of work at a time, off the window's thread.

    Attributes
    ----------
    state
        None while nothing is being done; it is so already when one of the signals tells the end.

    Signals
    -------
    changed()
        It began, got on or ended.
    succeeded(object)
        The result of the work.
    refused(RatingsError)
        The user's surroundings or input did not allow it.
    cancelled()
        It was stopped on request.
    ended()
        After any of the others, and before the last `changed`.
    """

    changed = Signal()
    succeeded = Signal(object)
    refused = Signal(object)  # RatingsError
    cancelled = Signal()
    ended = Signal()

    def __init__(
        self, clock: Callable[[], float] = time.monotonic, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._clock = clock
        self._began_s = 0.0
        self._job: Job[object] | None = None
        self.state: WorkState | None = None

    def begin(self, work: Callable[[Progress], object], words: str = "") -> None:
        """Begin; a second call while something is being done does nothing."""
        if self._job is not None:
            return
        self._began_s = self._clock()
        self.state = WorkState(words=words)
        self._job = job = Job(work, self)
        job.stepped.connect(self._follow)
        # Each lets go first: whoever hears of the end may begin anew.
        for told in (job.succeeded, job.refused, job.cancelled, job.ended):
            told.connect(self._let_go)
        job.succeeded.connect(self.succeeded)
        job.refused.connect(self.refused)
        job.cancelled.connect(self.cancelled)
        job.ended.connect(self._end)
        job.start()
        self.changed.emit()

    def cancel(self) -> None:
        """Stop at the next step."""
        if self._job is not None and self.state is not None:
            self._job.cancel()
            self.state = WorkState(self.state.part, "Stopping", is_stopping=True)
            self.changed.emit()

    def _follow(self, step: Step) -> None:
        if self.state is None or self.state.is_stopping:
            return
        left_s = None
        if step.part >= _TELLING_PART:
            left_s = (self._clock() - self._began_s) * (1 - step.part) / step.part
        self.state = WorkState(step.part, step.words, left_s)
        self.changed.emit()

    def _let_go(self, *_: object) -> None:
        # What ends is not under way any more when something else was begun meanwhile.
        if self._job is self.sender():
            self._job = self.state = None

    def _end(self) -> None:
        self.ended.emit()
        self.changed.emit()


def told_together(refusals: Sequence[tuple[str, RatingsError]], more: str) -> RatingsError:
    """Tell the first of several refusals by its name, and how many others there are.

    Parameters
    ----------
    refusals
        What was refused, by name; at least one.
    more
        What happened to the others, such as ``were not imported either``.
    """
    (name, problem), *others = refusals
    words = f" {len(others)} more {more}." if others else ""
    return RatingsError(f"{name}: {problem.what_happened}{words}", problem.what_to_do)
