"""The facts of files that are to become runs, read off the window's thread."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job
from ratings.errors import RatingsError

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts


class FactsReader(QObject):
    """Reads files and knows what each is, or why it cannot be used.

    Signals
    -------
    file_read(Path)
        Its facts or its problem are known now.
    """

    file_read = Signal(object)  # Path

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._facts: dict[Path, SoundFacts] = {}
        self._problems: dict[Path, RatingsError] = {}
        self._jobs: dict[Path, Job[SoundFacts]] = {}

    def read(self, path: Path) -> None:
        """Begin to read a file, again when it is known: it may have been mended since."""
        if path in self._jobs:
            return
        self._facts.pop(path, None)
        self._problems.pop(path, None)
        self._jobs[path] = job = Job(lambda _progress: _described(path), self)
        job.succeeded.connect(lambda facts: self._facts.update({path: facts}))
        job.refused.connect(lambda problem: self._problems.update({path: problem}))
        job.ended.connect(lambda: self._end(path))
        job.start()

    def facts(self, path: Path) -> SoundFacts | None:
        """Give the facts of a file; None while it is being read and when it cannot be used."""
        return self._facts.get(path)

    def problem(self, path: Path) -> RatingsError | None:
        """Why a file cannot be used; None when it can, and while it is being read."""
        return self._problems.get(path)

    def _end(self, path: Path) -> None:
        self._jobs.pop(path).deleteLater()
        self.file_read.emit(path)


def _described(path: Path) -> SoundFacts:
    # Inside, so that the page opens without the libraries for sound files.
    from ratings.recordings.read import describe

    return describe(path)
