"""Keeps the draft of a new study for the next start, whatever ends the program."""

import contextlib
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, QTimer, Signal

from app.background.jobs import Job
from ratings.errors import RatingsError, StudyError
from ratings.intake.draft_file import DraftFile
from ratings.intake.study_draft import Draft
from ratings.storage.held_files import HeldFile, hold

#: A letter typed is on the disk so long after it; each that follows meanwhile goes with it.
KEEPING_AFTER_MS = 300


def drafts_folder() -> Path:
    """Return the folder in which the program keeps what is this person's on this computer."""
    place = QStandardPaths.StandardLocation.AppDataLocation
    return Path(QStandardPaths.writableLocation(place))


class DraftKeeper(QObject):
    """Keeps one draft in a folder; the first window that asks has it, another keeps nothing.

    Signals
    -------
    problem_raised(RatingsError)
        It cannot be kept; said once until it can again.
    """

    problem_raised = Signal(object)

    def __init__(self, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._file = DraftFile(folder / "new_study.json")
        self._lease: HeldFile | None = None
        self._is_ours = self._is_failing = False
        self._latest: Draft | None = None
        self._number = 0
        self._job: Job[None] | None = None
        self._soon = QTimer(self, interval=KEEPING_AFTER_MS, singleShot=True)
        self._soon.timeout.connect(self._write_aside)

    def take_up(self) -> Draft | None:
        """Return the draft that was kept; None when there is none.

        Raises
        ------
        RatingsError
            When it cannot be used or another window has it.
        """
        if self._is_held_elsewhere():
            raise StudyError(
                "Another window keeps a draft of a new study.",
                "What you say in this one is not kept after closing.",
            )
        try:
            draft = self._file.read()
        except StudyError as problem:
            # What can neither be read nor be put aside must not be overwritten either.
            self._is_ours = not isinstance(problem.__cause__, OSError)
            raise
        self._is_ours = True
        return draft

    def keep(self, draft: Draft | None) -> None:
        """Keep a draft a moment from now, in place of the one before; None when it is done with."""
        if not self._is_ours:
            return
        self._latest, self._number = draft, self._number + 1
        if not self._soon.isActive():
            self._soon.start()

    def is_kept(self) -> bool:
        """Write what waits, and say whether the draft is on the disk."""
        self._soon.stop()
        if self._is_ours:
            try:
                self._file.write(self._latest, self._number)
            except RatingsError as problem:
                self._fail(problem)
            else:
                self._is_failing = False
        return self._is_ours and not self._is_failing

    def let_go(self) -> None:
        """Write what waits, and leave the draft to the next window."""
        self.is_kept()
        self._is_ours = False
        if self._lease is not None:
            self._lease.release()

    def _is_held_elsewhere(self) -> bool:
        lease = self._file.path.with_suffix(".open")
        # A disk without locks, or that refuses to be written to, is told when the draft is written.
        with contextlib.suppress(OSError):
            lease.parent.mkdir(parents=True, exist_ok=True)
            self._lease = hold(lease)
            return self._lease is None
        return False

    def _write_aside(self) -> None:
        if self._job is not None:
            self._soon.start()
            return
        draft, number = self._latest, self._number
        self._job = job = Job(lambda _progress: self._file.write(draft, number), self)
        job.succeeded.connect(self._recover)
        job.refused.connect(self._fail)
        job.ended.connect(self._end)
        job.start()

    def _recover(self) -> None:
        self._is_failing = False

    def _fail(self, problem: RatingsError) -> None:
        if not self._is_failing:
            self._is_failing = True
            self.problem_raised.emit(problem)

    def _end(self) -> None:
        self._job = None
