"""Saving a copy of the open study: how far it is, and what is said of it."""

from datetime import date
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Progress, Step
from ratings.errors import RatingsError
from ratings.storage.study_folder import Study
from ratings.study.file_names import safe_name


class CopySaving(QObject):
    """Copies on another thread, so that the lead and whoever listens go on.

    Attributes
    ----------
    words, part
        What is being done and how much of it, 0 to 1; the words stay when it has ended.

    Signals
    -------
    changed()
        Words or part.
    """

    changed = Signal()

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._job: Job[Path] | None = None
        self.part = 0.0
        self.words = (
            "Scores, recordings and clips, checked after copying. Sessions may go on meanwhile."
        )

    @property
    def is_busy(self) -> bool:
        """Whether a copy is being made."""
        return self._job is not None

    @property
    def place(self) -> Path:
        """The folder in which the study lies."""
        return self._study.folder.path.parent

    def save_in(self, folder: Path, today: date) -> None:
        """Save a copy as a new folder in this one, named by the study and the day."""
        if self._job is not None:
            return
        name = safe_name(f"{self._study.folder.name} {today.isoformat()}")
        places = (folder / f"{name}{f' ({n})' if n else ''}" for n in range(1000))
        destination = next(place for place in places if not place.exists())

        def work(progress: Progress) -> Path:
            from ratings.storage.saving_copy import save_copy

            return save_copy(self._study, destination, progress)

        self._job = job = Job(work, self)
        job.stepped.connect(self._on_step)
        job.succeeded.connect(self._on_saved)
        job.refused.connect(self._on_refused)
        job.cancelled.connect(self._on_cancelled)
        job.ended.connect(self._on_ended)
        job.start()
        self._say("Copying")

    def cancel(self) -> None:
        """Stop; nothing is left of the copy."""
        if self._job is not None:
            self._job.cancel()
            self._say("Stopping")

    def _on_step(self, step: Step) -> None:
        self.part = step.part
        self._say(step.words)

    def _on_saved(self, place: Path) -> None:
        self._say(f"Saved and checked: {place.name} in {place.parent.name}.")

    def _on_refused(self, reason: RatingsError) -> None:
        self._say(str(reason))

    def _on_cancelled(self) -> None:
        self._say("Cancelled; nothing was kept of the copy.")

    def _on_ended(self) -> None:
        self._job, self.part = None, 0.0
        self.changed.emit()

    def _say(self, words: str) -> None:
        self.words = words
        self.changed.emit()
