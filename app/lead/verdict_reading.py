"""The verdict on the open study, worked out anew while a station that shows it is in sight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.database import Poll, ask
from app.background.jobs import Job, Progress, attempt
from app.lead.study_watch import POLL_MS
from ratings.storage.key import Opening, opening
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import SessionSeat, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study
from ratings.storage.verdict_desk import VerdictDesk

if TYPE_CHECKING:
    from ratings.errors import RatingsError
    from ratings.findings.verdict.judging import StudyVerdict
    from ratings.findings.verdict.question import Question

#: Latest rows of scores, runs and settings, and how far the sessions have got.
_Moves = tuple[tuple[int, ...], tuple[SessionSeat, ...]]


class VerdictReading(Poll):
    """Reads a study and works its verdict out, off the window's thread.

    Attributes
    ----------
    verdict
        The latest; None before the first, or when the program failed in it.
    refusal
        Why the study could not be read the last time; None when it could.
    opening
        The first opening of the key, known as soon as the desk is open.

    Signals
    -------
    changed()
        The verdict, the key or the state of the work is another.
    """

    changed = Signal()

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(self._read_moves, POLL_MS, parent)
        self._study = study
        self._desks = (LeadDesk(study), RecordingDesk(study), VerdictDesk(study))
        self._moves: _Moves | None = None
        self._lookers: set[QObject] = set()
        self.is_working = self._is_overtaken = self.has_failed = False
        self.refusal: RatingsError | None = None
        self.verdict: StudyVerdict | None = None
        self.opening: Opening | None = None
        self.was_read.connect(self._take_moves)

    def begin_looking(self, looker: QObject) -> None:
        """Keep the verdict up to date: somebody looks at it."""
        self._lookers.add(looker)
        self.start()

    def end_looking(self, looker: QObject) -> None:
        """Work nothing out any more once nobody looks."""
        self._lookers.discard(looker)
        if not self._lookers:
            self.stop()

    def refresh(self) -> None:
        """Work the verdict out anew; the one before stays meanwhile."""
        if self.is_working:
            self._is_overtaken = True
            return
        self.is_working = True
        self.changed.emit()
        ask(self, self._read_question, self._judge, self._refuse_question)

    def _read_moves(self) -> tuple[_Moves, Opening | None]:
        latest = tuple(number for desk in self._desks for number in desk.last_change())
        return (latest, session_seats(self._study)), opening(self._study)

    def _take_moves(self, read: tuple[_Moves, Opening | None]) -> None:
        moves, self.opening = read
        if self._lookers and moves != self._moves:
            self._moves = moves
            self.refresh()
        else:
            self.changed.emit()

    def _read_question(self) -> Question:
        from ratings.findings.verdict.question import read_question

        return read_question(self._study, attempt)

    def _judge(self, question: Question) -> None:
        self.refusal = None

        def work(_progress: Progress) -> StudyVerdict | None:
            from ratings.findings.verdict.judging import judge

            return attempt(lambda: judge(question, attempt), None)

        job = Job(work, self)
        job.succeeded.connect(self._take_verdict)
        job.refused.connect(self.problem_raised)
        job.ended.connect(self._end_work)
        job.start()

    def _take_verdict(self, verdict: StudyVerdict | None) -> None:
        self.verdict, self.has_failed = verdict, verdict is None

    def _refuse_question(self, problem: RatingsError) -> None:
        # Tried again at the next look, and told where the verdict would stand.
        self.refusal, self._moves = problem, None
        self._end_work()

    def _end_work(self) -> None:
        self.is_working = False
        if self._is_overtaken:
            self._is_overtaken = False
            self.refresh()
        else:
            self.changed.emit()
