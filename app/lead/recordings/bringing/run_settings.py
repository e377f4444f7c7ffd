"""What is said of runs that are in the study already, and how it is changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job
from app.lead.recordings.measuring import run_words
from ratings.errors import RatingsError
from ratings.intake.run_draft import (
    CalibrationDraft,
    FileDraft,
    SpeedDraft,
    calibration_for,
    speed_channel_problem,
    speed_source,
    words_of_channel,
)
from ratings.study.runs import (
    ChannelSetting,
    ConstantSpeed,
    Run,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
)

if TYPE_CHECKING:
    from ratings.storage.recording_desk import RecordingDesk
    from ratings.study.runs import SpeedSource


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
    kept = Signal(int)

    def __init__(self, desk: RecordingDesk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.runs: tuple[Run, ...] = ()
        self.run: Run | None = None
        self.draft: FileDraft | None = None
        self.kept_words = ("", "")
        self._channels: tuple[ChannelSetting, ...] = ()
        #: Of each run that was changed and not kept: the draft.
        self._changed: dict[int, FileDraft] = {}
        self._begun: FileDraft | None = None
        self._job: Job[Run] | None = None

    def show_runs(self, runs: Sequence[Run]) -> None:
        """Offer these runs; the one looked at stays, else the first is."""
        self.runs = tuple(runs)
        known = {run.recording_id: run for run in self.runs}
        chosen = self.run
        if chosen is None or chosen.recording_id not in known:
            chosen = next(iter(self.runs), None)
        if chosen is not None:
            self.choose(chosen.recording_id)

    def choose(self, recording_id: int) -> None:
        """Look at a run; what was changed of the one before and not kept stays a draft."""
        self.run = next(run for run in self.runs if run.recording_id == recording_id)
        self._channels = self._desk.channel_settings(recording_id)
        speed = self._desk.speed_source(recording_id)
        self.kept_words = (calibration_words(self._channels), speed_words(speed))
        self._begun = FileDraft(
            self._desk.run_file(recording_id),
            condition_id=self.run.condition.condition_id,
            roles=tuple(each.role for each in self._channels),
            calibration=CalibrationDraft("kept"),
            speed=SpeedDraft("kept"),
            note=self._desk.note(recording_id),
        )
        self.draft = self._changed.get(recording_id, self._begun)
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

    def at_stake(self) -> str:
        """Say what would be lost; empty when everything that was changed is kept."""
        changed = [run_words(run) for run in self.runs if self.is_changed(run)]
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
        missing = _missing(draft)
        if missing:
            self.problem_raised.emit(RatingsError(missing, "Nothing was changed."))
            return
        desk, before = self._desk, self._channels
        self._job = job = Job(lambda _progress: _write(desk, run, draft, before), self)
        job.succeeded.connect(self._tell)
        job.refused.connect(self.problem_raised)
        job.ended.connect(self._end)
        job.start()
        self.changed.emit()

    def _tell(self, run: Run) -> None:
        self.told.emit(f"Kept for {run_words(run)}.")
        self._changed.pop(run.recording_id, None)
        self.kept.emit(run.recording_id)
        if self.run is not None and self.run.recording_id == run.recording_id:
            self.choose(run.recording_id)

    def _end(self) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.deleteLater()
        self.changed.emit()


def _write(
    desk: RecordingDesk, run: Run, draft: FileDraft, before: tuple[ChannelSetting, ...]
) -> Run:
    channels = changed_channels(before, draft)
    if channels != before:
        desk.set_channels(run.recording_id, channels)
    if draft.speed.kind != "kept":
        desk.set_speed(run.recording_id, speed_source(draft.speed, run.condition))
    if draft.note != desk.note(run.recording_id):
        desk.set_note(run.recording_id, draft.note)
    return run


def changed_channels(
    before: Sequence[ChannelSetting], draft: FileDraft
) -> tuple[ChannelSetting, ...]:
    """Return channels with the roles and the calibration of a draft.

    Raises
    ------
    RatingsError
        When a tone file cannot be used, or the tones before and after do not agree.
    """
    with_roles = tuple(
        replace(each, role=role) for each, role in zip(before, draft.roles, strict=True)
    )
    if draft.calibration.kind == "kept":
        return with_roles
    known = calibration_for(draft, None)
    return tuple(
        replace(each, pa_per_full_scale=factor, calibration=words_of_channel(known, number))
        for number, (each, factor) in enumerate(
            zip(with_roles, known.pa_per_full_scale, strict=True), start=1
        )
    )


def calibration_words(channels: Sequence[ChannelSetting]) -> str:
    """Say how the levels of a run are known."""
    words = list(dict.fromkeys(each.calibration or "not calibrated" for each in channels))
    return "; ".join(words)


def speed_words(source: SpeedSource | None) -> str:
    """Say how the speed of a run is known."""
    match source:
        case None:
            return "not known"
        case ConstantSpeed(speed_km_h):
            return f"steady at {speed_km_h:g} km/h"
        case SpeedFile():
            return "from a file of its own"
        case SpeedChannel(channel, km_h_per_unit):
            return f"channel {channel}, {km_h_per_unit:g} km/h per unit"
        case SpeedPulses(channel, pulses_per_metre):
            return f"channel {channel}, {pulses_per_metre:g} pulses per metre"


def _missing(draft: FileDraft) -> str:
    calibration, speed = draft.calibration, draft.speed
    if calibration.kind == "factor" and not calibration.pa_per_full_scale:
        return "The factor is not given."
    if calibration.kind == "tones" and calibration.tone_before is None:
        return "The tone before the runs is not chosen."
    if speed.kind == "file" and speed.path is None:
        return "The file with the speed is not chosen."
    problem = speed_channel_problem(draft)
    return f"The speed of the run: {problem}." if problem else ""
