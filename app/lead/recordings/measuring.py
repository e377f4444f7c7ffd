"""Runs measured one after the other off the window's thread."""

import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Progress, Step
from app.background.long_work import LongWork, told_together
from ratings.errors import RatingsError
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import Run
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.measuring.study_runs import MeasureRun

    Refused = tuple[tuple[Run, RatingsError], ...]


class MeasuringQueue(LongWork):
    """Measures; what was finished before a stop is kept.

    Signals
    -------
    run_finished()
        The desk holds one more measured run.
    told(str)
        It ended, in one sentence.
    problem_raised(RatingsError)
        A run could not be measured; the others were.
    """

    run_finished = Signal()
    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self,
        desk: RecordingDesk,
        measure_one: "MeasureRun | None" = None,
        clock: Callable[[], float] = time.monotonic,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(clock, parent)
        self._desk, self._measure_one = desk, measure_one
        self._count = 0
        self.succeeded.connect(self._tell)
        self.cancelled.connect(lambda: self.told.emit("Stopped. Runs that were finished are kept."))
        self.ended.connect(self.run_finished)

    def measure(self, runs: Sequence[Run]) -> None:
        """Begin; a second call meanwhile does nothing."""
        if self.state is None and runs:
            self._count = len(runs)
            self.begin(lambda progress: self._measure(runs, progress), "Beginning")

    def at_stake(self) -> str:
        """Say what leaving would stop; empty when nothing is measured."""
        if self.state is None:
            return ""
        return "Runs are being measured. Leaving stops it; finished runs are kept."

    def _measure(self, runs: Sequence[Run], progress: Progress) -> "Refused":
        # Inside: what measures takes longer to load than the window to open.
        from ratings.measuring.study_runs import measure_run, measure_runs

        return measure_runs(self._desk, runs, progress, self._measure_one or measure_run)

    def _follow(self, step: Step) -> None:
        before = self.state
        super()._follow(step)
        if before is None or before.is_stopping or before.words == step.words:
            return
        if step.part > 0:
            # Another run is under way, so the one before is in.
            self.run_finished.emit()

    def _tell(self, refused: "Refused") -> None:
        if refused:
            named = [(run.title, problem) for run, problem in refused]
            self.problem_raised.emit(told_together(named, "could not be measured either"))
        else:
            self.told.emit(f"{counted(self._count, 'run')} measured.")
