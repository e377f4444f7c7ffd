"""What the lead takes out of a study and brings in, done off the window's thread."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal, SignalInstance

from app.background.jobs import Job, Progress
from app.lead.agreement.judging import Judged
from ratings.storage.blind_study import utc_now
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import session_seats
from ratings.storage.study_folder import Study
from ratings.study.wording import counted


class Transfers(QObject):
    """Saves and brings in; one thing at a time.

    Signals
    -------
    told(str)
        Something was done: one sentence.
    offered(str)
        A table can be brought in: what it holds, and the question whether to add it.
    problem_raised(RatingsError)
        It could not be done.
    scores_brought()
        The study holds more scores than before.
    busy_changed(bool)
    """

    told = Signal(str)
    offered = Signal(str)
    problem_raised = Signal(object)  # RatingsError
    scores_brought = Signal()
    busy_changed = Signal(bool)

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._job: Job[str] | None = None
        self._when_done: Callable[[], None] | None = None
        self._telling: SignalInstance = self.told
        self._offered: Path | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is being saved or brought in."""
        return self._job is not None

    def save_scores(self, path: Path) -> None:
        """Write the score table as CSV."""

        def work(_progress: Progress) -> str:
            from ratings.study.score_table import write_score_table

            self._study.refuse_changed_rows()
            table = LeadDesk(self._study).score_table()
            write_score_table(table, path)
            return (
                f"{path.name} has been written: {counted(len(table), 'score')}." + self._caution()
            )

        self._run(work)

    def preview_scores(self, path: Path) -> None:
        """Say what a table of scores would add; nothing is added before `add_offered`."""

        def work(_progress: Progress) -> str:
            found = LeadDesk(self._study).preview_scores(path)
            namesakes = "".join(
                f"{name} is also the name of seat {code}: they count as two people unless the "
                f"table says {code}. "
                for name, code in found.namesakes
            )
            return (
                f"{counted(found.scores, 'score')} by "
                f"{counted(found.evaluators, 'evaluator')} on "
                f"{counted(found.attributes, 'attribute')}, "
                f"{counted(found.conditions, 'condition')}. "
                f"{namesakes}{'Add it?' if found.scores == 1 else 'Add them?'}"
            )

        if self._job is None:
            self._offered = path
        self._run(work, told=self.offered)

    def add_offered(self) -> None:
        """Bring in the table that was offered last, whole or not at all."""
        path, self._offered = self._offered, None
        if path is None:
            return

        def work(_progress: Progress) -> str:
            count = LeadDesk(self._study).bring_scores(path)
            return f"{path.name} has been imported: {counted(count, 'score')}."

        self._run(work, self.scores_brought.emit)

    def save_page(self, judged: Judged, path: Path) -> None:
        """Write the agreement page as one HTML file, with the results on the screen."""

        def work(_progress: Progress) -> str:
            from ratings.reports.agreement_page import agreement_document, page_facts
            from ratings.reports.writing import write_document

            self._study.refuse_changed_rows()
            page = agreement_document(
                page_facts(self._study, utc_now()), judged.blocks, judged.notes, judged.unworked
            )
            write_document(page, path)
            return f"{path.name} has been written: {counted(judged.score_count, 'score')} judged."

        self._run(work)

    def _caution(self) -> str:
        """Say whom a table by sets must not reach; nothing when everybody has finished."""
        if all(seat.locked_count == seat.pair_count for seat in session_seats(self._study)):
            return ""
        return " " + (
            "Keep it from evaluators who have not finished: their own scores in it tell them "
            "which set they heard."
        )

    def _run(
        self,
        work: Callable[[Progress], str],
        when_done: Callable[[], None] | None = None,
        told: SignalInstance | None = None,
    ) -> None:
        if self._job is not None:
            return
        job = self._job = Job(work, self)
        self._when_done = when_done
        self._telling = self.told if told is None else told
        job.succeeded.connect(self._take)
        job.refused.connect(self.problem_raised)
        job.ended.connect(self._end)
        self.busy_changed.emit(True)
        job.start()

    def _take(self, words: str) -> None:
        self._telling.emit(words)
        if self._when_done is not None:
            self._when_done()

    def _end(self) -> None:
        self._job = None
        self.busy_changed.emit(False)
