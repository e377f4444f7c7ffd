"""Questions answered off the window's thread, each once, and their answers remembered."""

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job
from ratings.errors import RatingsError

Answer = TypeVar("Answer")


class LookUps(QObject, Generic[Answer]):
    """Knows the answer to a question, or why there is none, or that it is being looked for.

    Signals
    -------
    answered(object)
        The answer to this question is known now, or why there is none.
    """

    answered = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._answers: dict[Hashable, Answer | RatingsError | None] = {}
        self._jobs: dict[Hashable, Job[Answer]] = {}

    def look_up(
        self, question: Hashable, work: Callable[[], Answer], *, again: bool = False
    ) -> None:
        """Begin to look for an answer; where it is known, only `again`: a file may be mended."""
        if question in self._jobs or (question in self._answers and not again):
            return
        self._answers[question] = None
        self._jobs[question] = job = Job(lambda _progress: work(), self)
        job.succeeded.connect(lambda answer: self._answers.update({question: answer}))
        job.refused.connect(lambda problem: self._answers.update({question: problem}))
        job.ended.connect(lambda: self._end(question))
        job.start()

    def answer(self, question: Hashable) -> Answer | RatingsError | None:
        """Give an answer, or why there is none; None while it is being looked for."""
        return self._answers.get(question)

    def _end(self, question: Hashable) -> None:
        del self._jobs[question]
        self.answered.emit(question)
