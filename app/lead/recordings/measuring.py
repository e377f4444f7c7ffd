"""Runs measured one after the other off the window's thread."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Progress, Step
from ratings.errors import RatingsError
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import Run
from ratings.study.wording import counted

#: Measures one run and keeps it: desk, recording, progress.
MeasureRun = Callable[[RecordingDesk, int, Progress], None]

#: Before this part is done, the time that is left cannot be told from the time that went by.
_TELLING_PART = 0.05


@dataclass(frozen=True, slots=True)
class MeasuringState:
    """How far the measuring has got; `part` from 0 to 1."""

    part: float = 0.0
    words: str = ""
    seconds_left: float | None = None
    is_stopping: bool = False


@dataclass(frozen=True, slots=True)
class _Done:
    measured: int
    refusals: tuple[tuple[str, RatingsError], ...]


class MeasuringQueue(QObject):
    """Measures; what was finished before a stop is kept.

    Signals
    -------
    changed()
        It began, got on or ended.
    run_finished()
        The desk holds one more measured run.
    told(str)
        It ended, in one sentence.
    problem_raised(RatingsError)
        A run could not be measured; the others were.
    """

    changed = Signal()
    run_finished = Signal()
    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self,
        desk: RecordingDesk,
        measure: MeasureRun,
        clock: Callable[[], float] = time.monotonic,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk, self._measure, self._clock = desk, measure, clock
        self._began_s = 0.0
        self._finished = 0
        self._job: Job[_Done] | None = None
        #: None while nothing is being measured.
        self.state: MeasuringState | None = None

    def measure(self, runs: Sequence[Run]) -> None:
        """Begin; a second call meanwhile does nothing."""
        if self._job is not None or not runs:
            return
        self._began_s, self._finished = self._clock(), 0
        self.state = MeasuringState(words="Beginning")
        desk, measure = self._desk, self._measure
        self._job = job = Job(lambda progress: _measure_all(desk, measure, runs, progress), self)
        job.stepped.connect(self._follow)
        job.succeeded.connect(self._tell)
        job.cancelled.connect(self._tell_stopped)
        job.ended.connect(self._end)
        job.start()
        self.changed.emit()

    def at_stake(self) -> str:
        """Say what leaving would stop; empty when nothing is measured."""
        if self.state is None:
            return ""
        return "Runs are being measured. Leaving stops it; finished runs are kept."

    def cancel(self) -> None:
        """Stop at the next step; the run under way is not kept."""
        if self._job is None or self.state is None:
            return
        self._job.cancel()
        self.state = MeasuringState(self.state.part, "Stopping", is_stopping=True)
        self.changed.emit()

    def _follow(self, step: Step) -> None:
        if self.state is None or self.state.is_stopping:
            return
        left_s = None
        if step.part >= _TELLING_PART:
            left_s = (self._clock() - self._began_s) * (1 - step.part) / step.part
        was_at, self.state = self.state.words, MeasuringState(step.part, step.words, left_s)
        self.changed.emit()
        if was_at != step.words and step.part > 0:
            # Another run is under way, so the one before is in.
            self._finished += 1
            self.run_finished.emit()

    def _tell(self, done: _Done) -> None:
        if not done.refusals:
            self.told.emit(f"{counted(done.measured, 'run')} measured.")
            return
        name, problem = done.refusals[0]
        others = len(done.refusals) - 1
        more = f" {others} more could not be measured either." if others else ""
        self.problem_raised.emit(
            RatingsError(f"{name}: {problem.what_happened}{more}", problem.what_to_do)
        )

    def _tell_stopped(self) -> None:
        self.told.emit("Stopped. Runs that were finished are kept.")

    def _end(self) -> None:
        job, self._job = self._job, None
        self.state = None
        if job is not None:
            job.deleteLater()
        self.run_finished.emit()
        self.changed.emit()


def run_words(run: Run) -> str:
    """Name a run, such as ``417, coarse asphalt, 80 km/h, run 2``."""
    return f"{run.set_code}, {run.condition.title}, run {run.run}"


def _measure_all(
    desk: RecordingDesk, measure: MeasureRun, runs: Sequence[Run], progress: Progress
) -> _Done:
    total_s = sum(run.duration_s for run in runs) or 1.0
    done_s = 0.0
    measured, refusals = 0, []
    for place, run in enumerate(runs, start=1):
        words = f"Run {place} of {len(runs)}: {run_words(run)}"
        step = _step_of(progress, words, done_s / total_s, run.duration_s / total_s)
        step(0.0, "")
        try:
            measure(desk, run.recording_id, step)
            measured += 1
        except RatingsError as problem:
            refusals.append((run_words(run), problem))
        done_s += run.duration_s
    return _Done(measured, tuple(refusals))


def _step_of(progress: Progress, words: str, before: float, share: float) -> Progress:
    """Place the steps of one run among those of all; the run's own words are left out."""
    return lambda part, _words: progress(before + share * part, words)
