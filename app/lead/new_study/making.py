"""The making of a study off the window's thread, with the time that is left and a way to stop."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Progress, Step
from ratings.design.study_plan import StudyPlan

#: Before this part is done, the time that is left cannot be told from the time that went by.
_TELLING_PART = 0.1


@dataclass(frozen=True, slots=True)
class MakingState:
    """How far the making has got.

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


class StudyMaker(QObject):
    """Makes one study at a time.

    Signals
    -------
    changed
        It began, got on or ended.
    made(Path)
        The folder of the study.
    refused(RatingsError)
        It cannot be made; nothing was left behind.
    """

    changed = Signal()
    made = Signal(object)
    refused = Signal(object)

    def __init__(
        self, clock: Callable[[], float] = time.monotonic, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._clock = clock
        self._began_s = 0.0
        self._job: Job[Path] | None = None
        # See FileReader: a job must not die on its worker's thread.
        self._ended: list[Job[Path]] = []
        #: None while nothing is being made.
        self.state: MakingState | None = None

    def make(self, folder: Path, plan: StudyPlan) -> None:
        """Begin; a second call while one study is being made does nothing."""
        if self._job is not None:
            return
        self._began_s = self._clock()
        self.state = MakingState()
        self._job = Job(lambda progress: _make(folder, plan, progress), self)
        self._job.stepped.connect(self._follow)
        self._job.succeeded.connect(self._finish)
        self._job.refused.connect(self._refuse)
        self._job.ended.connect(self._end)
        self._job.start()
        self.changed.emit()

    def cancel(self) -> None:
        """Stop at the next step; what was begun is undone."""
        if self._job is None:
            return
        self._job.cancel()
        self.state = MakingState(self.state.part if self.state else 0.0, "Stopping", None, True)
        self.changed.emit()

    def _follow(self, step: Step) -> None:
        if self.state is None or self.state.is_stopping:
            return
        left_s = None
        if step.part >= _TELLING_PART:
            left_s = (self._clock() - self._began_s) * (1 - step.part) / step.part
        self.state = MakingState(step.part, step.words, left_s)
        self.changed.emit()

    def _finish(self, folder: Path) -> None:
        self._let_go()
        self.made.emit(folder)

    def _refuse(self, problem: object) -> None:
        self._let_go()
        self.refused.emit(problem)

    def _end(self) -> None:
        self._let_go()
        self.changed.emit()

    def _let_go(self) -> None:
        if self._job is not None:
            self._ended.append(self._job)
        self._job = self.state = None


def _make(folder: Path, plan: StudyPlan, progress: Progress) -> Path:
    # Inside, so that the first window opens without the libraries for sound and numbers.
    from ratings.intake.making import make_study

    def report(part: float, words: str) -> None:
        # At the last step the folder is in its place already: too late to be stopped.
        if part < 1.0:
            progress(part, words)

    study = make_study(folder, plan, report)
    study.close()
    return study.folder.path
