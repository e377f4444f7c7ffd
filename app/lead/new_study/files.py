"""The facts of chosen sound files, read off the window's thread and remembered."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job
from ratings.errors import RatingsError, RecordingError

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts


class FileReader(QObject):
    """Reads files one by one, and knows what it is or why it cannot be used.

    Signals
    -------
    file_read(Path)
        Its facts or its problem are known now.
    """

    file_read = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._facts: dict[Path, SoundFacts] = {}
        self._problems: dict[Path, RatingsError] = {}
        self._jobs: dict[Path, Job[SoundFacts]] = {}
        # A worker may hold its job a little longer than it takes to say that it has ended, and the
        # job must not die with the worker, on the worker's thread.
        self._ended: list[Job[SoundFacts]] = []

    def read(self, path: Path) -> None:
        """Begin to read a file, again when it is known: it may have been mended since."""
        if path in self._jobs:
            return
        self._facts.pop(path, None)
        self._problems.pop(path, None)
        job: Job[SoundFacts] = Job(lambda _progress: usable_facts(path), self)
        self._jobs[path] = job
        job.succeeded.connect(lambda facts: self._facts.update({path: facts}))
        job.refused.connect(lambda problem: self._problems.update({path: problem}))
        job.ended.connect(lambda: self._end(path))
        job.start()

    def facts(self, path: Path) -> "SoundFacts | None":
        """Give the facts of a file; None while it is being read and when it cannot be used."""
        return self._facts.get(path)

    def problem(self, path: Path) -> RatingsError | None:
        """Why a file cannot be used; None when it can, and while it is being read."""
        return self._problems.get(path)

    def _end(self, path: Path) -> None:
        self._ended.append(self._jobs.pop(path))
        self.file_read.emit(path)


def usable_facts(path: Path) -> "SoundFacts":
    """Find the facts of a file from which a clip can be cut.

    Raises
    ------
    RecordingError
        When it cannot be read or is too short to be judged.
    """
    # Inside, so that the first window opens without the libraries for sound files.
    from ratings.clips.windows import SHORTEST_COMMON_WINDOW_S
    from ratings.recordings.read import describe

    facts = describe(path)
    if facts.duration_s < SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"'{facts.name}' lasts {facts.duration_s:.2f} s, too short to be judged by ear.",
            f"Choose a run of at least {SHORTEST_COMMON_WINDOW_S:g} s; 8 s are better.",
        )
    return facts
