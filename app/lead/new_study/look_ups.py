"""Questions answered off the window's thread, each once, and their answers remembered."""

from collections.abc import Callable, Hashable

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job
from ratings.errors import RatingsError


class LookUps(QObject):
    """Knows the answer to a question, or why there is none, or that it is being looked for.

    Signals
    -------
    answered
        One more answer or problem is known.
    """

    answered = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._answers: dict[Hashable, object] = {}
        self._problems: dict[Hashable, RatingsError] = {}
        # See FileReader: a job must not die on its worker's thread.
        self._jobs: dict[Hashable, Job[object]] = {}
        self._ended: list[Job[object]] = []

    def look_up(self, question: Hashable, work: Callable[[], object]) -> None:
        """Begin to look for an answer; again only when there was none: a file may be mended."""
        if question in self._jobs and self._problems.pop(question, None) is None:
            return
        if question in self._jobs:
            self._ended.append(self._jobs[question])
        job: Job[object] = Job(lambda _progress: work(), self)
        self._jobs[question] = job
        job.succeeded.connect(lambda answer: self._answers.update({question: answer}))
        job.refused.connect(lambda problem: self._problems.update({question: problem}))
        job.ended.connect(self.answered)
        job.start()

    def answer(self, question: Hashable) -> object | None:
        """Give an answer; None when there is none, or not yet."""
        return self._answers.get(question)

    def problem(self, question: Hashable) -> RatingsError | None:
        """Say why there is no answer; None when there is one, or not yet."""
        return self._problems.get(question)
