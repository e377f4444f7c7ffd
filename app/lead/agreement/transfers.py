"""What the lead takes out of a study and brings in, done off the window's thread."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Progress
from app.lead.agreement.judging import Judged
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import Study, utc_now


class Transfers(QObject):
    """Saves and brings in; one thing at a time.

    Signals
    -------
    told(str)
        Something was done: one sentence.
    problem_raised(RatingsError)
        It could not be done.
    scores_brought()
        The study holds more scores than before.
    busy_changed(bool)
    """

    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError
    scores_brought = Signal()
    busy_changed = Signal(bool)

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._job: Job[str] | None = None
        self._when_done: Callable[[], None] | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is being saved or brought in."""
        return self._job is not None

    def save_scores(self, path: Path) -> None:
        """Write the score table as CSV."""

        def work(_progress: Progress) -> str:
            from ratings.study.score_table import write_score_table

            table = LeadDesk(self._study).score_table()
            write_score_table(table, path)
            return self.tr("{0} has been written: {1} scores.").format(path.name, len(table))

        self._run(work)

    def bring_scores(self, path: Path) -> None:
        """Bring in a table of scores, whole or not at all."""

        def work(_progress: Progress) -> str:
            count = LeadDesk(self._study).bring_scores(path)
            return self.tr("{0} has been brought in: {1} scores.").format(path.name, count)

        self._run(work, self.scores_brought.emit)

    def save_page(self, judged: Judged, path: Path) -> None:
        """Write the agreement page as one HTML file, with the results on the screen."""

        def work(_progress: Progress) -> str:
            from ratings.reports.agreement_page import agreement_html, page_facts, write_page

            write_page(agreement_html(page_facts(self._study, utc_now()), judged.blocks), path)
            return self.tr("{0} has been written: {1} scores judged.").format(
                path.name, judged.score_count
            )

        self._run(work)

    def _run(
        self, work: Callable[[Progress], str], when_done: Callable[[], None] | None = None
    ) -> None:
        if self._job is not None:
            return
        job = self._job = Job(work, self)
        self._when_done = when_done
        job.succeeded.connect(self._take)
        job.refused.connect(self.problem_raised)
        job.ended.connect(self._end)
        self.busy_changed.emit(True)
        job.start()

    def _take(self, words: str) -> None:
        self.told.emit(words)
        if self._when_done is not None:
            self._when_done()

    def _end(self) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.deleteLater()
        self.busy_changed.emit(False)
