"""Files on their way to become runs: what is said of them, what is missing, and the bringing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background import database
from app.background.long_work import LongWork, told_together
from app.background.look_ups import LookUps
from ratings.errors import RatingsError
from ratings.intake.new_runs import Brought, bring_runs
from ratings.intake.run_draft import FileDraft, first_draft, shortcoming, with_facts
from ratings.study.wording import counted

if TYPE_CHECKING:
    from app.lead.reading import LeadReading
    from ratings.recordings.read import SoundFacts
    from ratings.storage.recording_desk import RecordingDesk
    from ratings.study.runs import Tread
    from ratings.study.sets import Condition


class BringPresenter(QObject):
    """Holds the drafts; they stay while the lead is elsewhere.

    Signals
    -------
    changed()
    told(str)
    problem_raised(RatingsError)
        A file was not brought in; it stays in the list with its sentence.
    runs_brought()
    """

    changed = Signal()
    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError
    runs_brought = Signal()

    def __init__(
        self, desk: RecordingDesk, reading: LeadReading, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._desk = desk
        self.sets, self.treads = reading.sets, reading.treads
        self.conditions = reading.overview.conditions
        self.files: tuple[FileDraft, ...] = ()
        self._chosen: Path | None = None
        self._facts: LookUps[SoundFacts] = LookUps(self)
        self._brought = Brought()
        self.work = LongWork(parent=self)
        self.work.ended.connect(self._end)
        self.work.changed.connect(self.changed)
        self._facts.answered.connect(self._take_facts)

    def add_files(self, paths: Sequence[Path]) -> None:
        """Put files on the list; those on it already stay as they are."""
        known = {draft.path for draft in self.files}
        names = [(each.set_id, each.name) for each in self.sets]
        added = [
            first_draft(path, names, self.conditions)
            for path in dict.fromkeys(path.absolute() for path in paths)
            if path not in known
        ]
        self.files = (*self.files, *added)
        for draft in added:
            # Again when it is known: it may have been mended since.
            self._facts.look_up(draft.path, partial(_described, draft.path), again=True)
        if added and self._chosen is None:
            self._chosen = added[0].path
        self.changed.emit()

    def take_out(self, path: Path) -> None:
        """Take a file off the list; nothing happens to the file."""
        self.files = tuple(draft for draft in self.files if draft.path != path)
        self.changed.emit()

    def choose(self, path: Path) -> None:
        """Look at a file."""
        self._chosen = path
        self.changed.emit()

    @property
    def chosen(self) -> FileDraft | None:
        """The file looked at; the first while none is chosen."""
        first = self.files[0] if self.files else None
        return next((draft for draft in self.files if draft.path == self._chosen), first)

    def change(self, changed: FileDraft) -> None:
        """Put a draft in place of the one of the same file."""
        calm = replace(changed, refusal="")
        self.files = tuple(calm if each.path == calm.path else each for each in self.files)
        self.changed.emit()

    def change_tread(self, set_id: int, size: str, pitches: int | None) -> None:
        """Keep what is known of a set's tyres, for the cavity line and the orders of the tread."""
        from ratings.study.runs import Tread
        from ratings.study.tyre_size import tyre_size

        if self.treads.get(set_id) == Tread(size, pitches):
            return

        def keep() -> dict[int, Tread]:
            if size:
                tyre_size(size)
            self._desk.set_tread(set_id, Tread(size, pitches))
            return self._desk.treads()

        database.ask(self, keep, self._take_treads, self.problem_raised.emit)

    def _take_treads(self, treads: dict[int, Tread]) -> None:
        self.treads = treads

    def take_over(self) -> None:
        """Give every other file what holds for the drive day of the one looked at."""
        source = self.chosen
        if source is None:
            return
        self.files = tuple(
            draft if draft is source else draft.with_settings_of(source) for draft in self.files
        )
        self.changed.emit()

    def facts(self, draft: FileDraft) -> SoundFacts | None:
        """Give what a file is; None while it is being read or cannot be used."""
        known = self._facts.answer(draft.path)
        return None if isinstance(known, RatingsError) else known

    def condition_of(self, draft: FileDraft) -> Condition | None:
        """Give a file's condition, once it is chosen."""
        return next((c for c in self.conditions if c.condition_id == draft.condition_id), None)

    def facts_words(self, draft: FileDraft) -> str:
        """Say what a file is."""
        facts = self.facts(draft)
        if facts is None:
            return ""
        return (
            f"{facts.container}, {counted(facts.channels, 'channel')}, "
            f"{facts.sample_rate_hz} Hz, {facts.duration_s:.1f} s"
        )

    def problem(self, draft: FileDraft) -> str:
        """Say why a file cannot be used, or was refused; empty when nothing is wrong."""
        known = self._facts.answer(draft.path)
        return draft.refusal or (str(known) if isinstance(known, RatingsError) else "")

    def state_words(self, draft: FileDraft) -> str:
        """Say in a few words what is missing, or where the file goes."""
        if self.problem(draft):
            return "cannot be used" if not draft.refusal else "not imported"
        condition = self.condition_of(draft)
        missing = shortcoming(draft, self.facts(draft), condition)
        if missing or condition is None:
            return missing
        name = next((each.name for each in self.sets if each.set_id == draft.set_id), "")
        return f"{name} on {condition.title}"

    def is_ready(self, draft: FileDraft) -> bool:
        """Whether a file can be brought in."""
        return not shortcoming(draft, self.facts(draft), self.condition_of(draft))

    @property
    def ready(self) -> tuple[FileDraft, ...]:
        """Files that can be brought in."""
        return tuple(draft for draft in self.files if self.is_ready(draft))

    def heading(self) -> str:
        """Say what is asked, or how many files are ready."""
        count, ready = len(self.files), len(self.ready)
        if not count:
            return "Which runs are to be imported?"
        if ready == count:
            return f"{counted(count, 'file')} ready to import."
        if not ready:
            return f"{counted(count, 'file')}: choose set and condition."
        return f"{ready} of {counted(count, 'file')} ready to import."

    def standing_line(self) -> str:
        """Say what happens to the files, or how far it has got."""
        if self.work.state is None:
            return "Drop files here or choose them. They are copied untouched."
        return self.work.state.words

    def at_stake(self) -> str:
        """Say what would be lost if the list were closed; empty when it is."""
        if self.work.state is not None:
            return "Runs are being imported. Those that are in stay."
        if not self.files:
            return ""
        return f"{counted(len(self.files), 'file')} listed and not imported."

    def bring(self) -> None:
        """Bring in every file that is ready, one after the other."""
        work = [
            (draft, facts, condition)
            for draft in self.ready
            if (facts := self.facts(draft)) is not None
            and (condition := self.condition_of(draft)) is not None
        ]
        if work and self.work.state is None:
            desk, brought = self._desk, Brought()
            self._brought = brought
            self.work.begin(lambda progress: bring_runs(desk, work, brought, progress), "Beginning")

    def _take_facts(self, path: Path) -> None:
        facts = self._facts.answer(path)
        if facts is not None and not isinstance(facts, RatingsError):
            self.files = tuple(
                with_facts(draft, facts, self.condition_of(draft)) if draft.path == path else draft
                for draft in self.files
            )
        self.changed.emit()

    def _end(self) -> None:
        brought, refusals = set(self._brought.paths), self._brought.refusals
        refused = {path: str(problem) for path, problem in refusals}
        self.files = tuple(
            replace(draft, refusal=refused.get(draft.path, ""))
            for draft in self.files
            if draft.path not in brought
        )
        if brought:
            self.runs_brought.emit()
        if refusals:
            named = [(path.name, problem) for path, problem in refusals]
            self.problem_raised.emit(told_together(named, "were not imported either"))
        elif brought:
            self.told.emit(f"{counted(len(brought), 'run')} imported.")


def _described(path: Path) -> SoundFacts:
    # Inside, so that the page opens without the libraries for sound files.
    from ratings.recordings.read import describe

    return describe(path)
