"""What is said of runs that are in the study already, and how it is changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background import database
from app.background.jobs import Job
from ratings.errors import RatingsError
from ratings.intake.run_draft import FileDraft
from ratings.intake.run_settings import (
    calibration_words,
    draft_of_run,
    keep_settings,
    settings_shortcoming,
    speed_words,
)
from ratings.study.runs import ChannelSetting, Run, SpeedSource

if TYPE_CHECKING:
    from ratings.storage.recording_desk import RecordingDesk


class RunSettingsPresenter(QObject):
    """Holds the draft of one run.

    Signals
    -------
    changed()
    told(str)
    problem_raised(RatingsError)
    kept(int)
        Recording whose settings were changed: it is to be measured again.
    """

    changed = Signal()
    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError
    kept = Signal(object)  # int, beyond the 32 bits of a C int

    def __init__(self, desk: RecordingDesk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.runs: tuple[Run, ...] = ()
        self.run: Run | None = None
        self._wanted: Run | None = None
        self.draft: FileDraft | None = None
        self.kept_words = ("", "")
        self._channels: tuple[ChannelSetting, ...] = ()
        #: Of each run that was changed and not kept: the draft.
        self._changed: dict[int, FileDraft] = {}
        self._begun: FileDraft | None = None
        self._job: Job[None] | None = None

    def show_runs(self, runs: Sequence[Run]) -> None:
        """Offer these runs; the one looked at stays, else the first is."""
        self.runs = tuple(runs)
        known = {run.recording_id: run for run in self.runs}
        chosen = self._wanted
        if chosen is None or chosen.recording_id not in known:
            chosen = next(iter(self.runs), None)
        if chosen is not None:
            self.choose(chosen.recording_id)

    def choose(self, recording_id: int) -> None:
        """Look at a run; what was changed of the one before and not kept stays a draft."""
        desk = self._desk
        self._wanted = run = next(run for run in self.runs if run.recording_id == recording_id)

        def read() -> tuple[tuple[ChannelSetting, ...], SpeedSource | None, FileDraft]:
            channels = desk.channel_settings(recording_id)
            speed = desk.speed_source(recording_id)
            return channels, speed, draft_of_run(desk, run, channels)

        database.ask(self, read, lambda kept: self._look_at(run, *kept), self.problem_raised.emit)

    def _look_at(
        self,
        run: Run,
        channels: tuple[ChannelSetting, ...],
        speed: SpeedSource | None,
        begun: FileDraft,
    ) -> None:
        if run is not self._wanted:
            # Another was chosen meanwhile.
            return
        self.run, self._channels, self._begun = run, channels, begun
        self.kept_words = (calibration_words(channels), speed_words(speed))
        self.draft = self._changed.get(run.recording_id, begun)
        self.changed.emit()

    def change(self, draft: FileDraft) -> None:
        """Take another draft of the run."""
        self.draft = draft
        if self.run is not None:
            if draft == self._begun:
                self._changed.pop(self.run.recording_id, None)
            else:
                self._changed[self.run.recording_id] = draft
        self.changed.emit()

    def is_changed(self, run: Run) -> bool:
        """Whether something was changed of a run and not kept."""
        return run.recording_id in self._changed

    def entry_words(self, run: Run) -> str:
        """Name a run in two lines, and in a third that something was changed of it."""
        words = f"{run.set_code}, run {run.run}\n{run.condition.title}"
        return f"{words}\nchanged, not kept" if self.is_changed(run) else words

    def at_stake(self) -> str:
        """Say what would be lost; empty when everything that was changed is kept."""
        changed = [run.title for run in self.runs if self.is_changed(run)]
        if not changed:
            return ""
        return f"Changed and not kept: {'; '.join(changed)}."

    def forget(self) -> None:
        """Forget what was changed and not kept."""
        self._changed.clear()

    @property
    def is_keeping(self) -> bool:
        """Whether something is being kept."""
        return self._job is not None

    def keep(self) -> None:
        """Keep what was changed, off the window's thread: tone files are read for it."""
        run, draft = self.run, self.draft
        if run is None or draft is None or self._job is not None:
            return
        missing = settings_shortcoming(draft)
        if missing:
            self.problem_raised.emit(RatingsError(missing, "Nothing was changed."))
            return
        desk, before = self._desk, self._channels
        self._job = job = Job(lambda _progress: keep_settings(desk, run, draft, before), self)
        job.succeeded.connect(lambda _: self._tell(run))
        job.refused.connect(self.problem_raised)
        job.ended.connect(self._end)
        job.start()
        self.changed.emit()

    def _tell(self, run: Run) -> None:
        self.told.emit(f"Kept for {run.title}.")
        self._changed.pop(run.recording_id, None)
        self.kept.emit(run.recording_id)
        if self.run is not None and self.run.recording_id == run.recording_id:
            self.choose(run.recording_id)

    def _end(self) -> None:
        self._job = None
        self.changed.emit()
