"""What the report station shows: page one, whose words they are, and how far the writing is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from app.background.database import ask
from app.background.jobs import Progress
from app.background.long_work import LongWork
from app.lead.verdict_reading import VerdictReading
from app.station import State
from ratings.errors import RatingsError
from ratings.storage.study_folder import Study
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.study_settings import PLACES, Place
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.findings.verdict.judging import StudyVerdict

#: What is typed is kept so long after its first letter (our judgement): each time is a row.
_KEEP_MS = 1500


class ReportPresenter(QObject):
    """Holds the words of page one and writes the report.

    Attributes
    ----------
    work
        The writing under way.
    written
        Files of the last report of this sitting.

    Signals
    -------
    changed()
        Words, marks or state are other than before.
    told(str)
        Something was done: one sentence.
    problem_raised(RatingsError)
    """

    changed = Signal()
    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self, study: Study, reading: VerdictReading, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.study = study
        self.reading = reading
        self.work = LongWork(parent=self)
        self._desk = VerdictDesk(study)
        self.written: tuple[Path, ...] = ()
        #: What was typed and is not in the verdict yet.
        self._typed: dict[Place, str] = {}
        self._unsent: set[Place] = set()
        #: The lead's words that gave way to the program's, to have them again.
        self._replaced: dict[Place, str] = {}
        self._pause = QTimer(self, singleShot=True, interval=_KEEP_MS)
        self._pause.timeout.connect(self.keep_typed)
        reading.changed.connect(self._take_reading)
        self.work.changed.connect(self.changed)
        self.work.succeeded.connect(self._tell_written)
        self.work.refused.connect(self.problem_raised)

    @property
    def verdict(self) -> StudyVerdict | None:
        """What the report stands on."""
        return self.reading.verdict

    def heading(self) -> str:
        """Say the report's title."""
        if self.reading.refusal is not None:
            return f"The study could not be read. {self.reading.refusal.what_happened}"
        if self.reading.has_failed:
            return "The verdict could not be worked out, and so there is no report."
        return "Working out the verdict" if self.verdict is None else self.verdict.headline

    def standing_line(self) -> str:
        """Say what page one rests on."""
        return "" if self.verdict is None else self.verdict.standing

    def cautions(self) -> tuple[str, ...]:
        """Return what page one says before any finding."""
        return () if self.verdict is None else tuple(c.sentence for c in self.verdict.cautions)

    def words(self, place: Place) -> str:
        """Return what stands in a place: as it is being typed, else the lead's, else ours."""
        from ratings.findings.verdict.front import front_words

        if place in self._typed:
            return self._typed[place]
        return "" if self.verdict is None else front_words(self.verdict, place)[0]

    def is_leads(self, place: Place) -> bool:
        """Whether the words of a place are the lead's."""
        from ratings.findings.verdict.front import front_words, program_words

        if self.verdict is None:
            return False
        if place in self._typed:
            typed = self._typed[place].strip()
            return bool(typed) and typed != program_words(self.verdict)[place]
        return front_words(self.verdict, place)[1]

    def mark(self, place: Place) -> str:
        """Say whose words stand in a place."""
        if self.is_leads(place):
            return "lead's words, marked so in the report"
        return "program's words"

    @property
    def can_write(self) -> bool:
        """Whether the lead may edit: the study can be written to."""
        return self.verdict is not None and not self.study.is_read_only

    @property
    def can_make(self) -> bool:
        """Whether there is anything to report, and nothing under way."""
        verdict = self.verdict
        has_scores = verdict is not None and bool(verdict.sets) and bool(verdict.evaluators)
        return has_scores and self.work.state is None

    def missing_words(self) -> str:
        """Say why there is no report yet, and what to do; empty when there may be one."""
        verdict = self.verdict
        if verdict is None or (verdict.sets and verdict.evaluators):
            return ""
        if not verdict.sets:
            return "There is one set only. Make a study with the control and another set."
        return (
            "A report needs at least one evaluator who has finished. It can be written from then "
            "on, and says how many are still on their way."
        )

    def write(self, place: Place, text: str) -> None:
        """Take what is being typed; it is kept at the next pause."""
        if text == self.words(place):
            return
        self._typed[place] = text
        self._unsent.add(place)
        # Not from the last letter: who types on without a pause would lose all to a crash.
        if not self._pause.isActive():
            self._pause.start()
        self.changed.emit()

    def keep_typed(self) -> None:
        """Keep what was typed since it was kept last."""
        from ratings.findings.verdict.front import program_words

        self._pause.stop()
        for place in sorted(self._unsent):
            text = self._typed[place].strip()
            is_ours = self.verdict is not None and text == program_words(self.verdict)[place]
            self._send(place, "" if is_ours else text)
        self._unsent.clear()

    def restore(self, place: Place) -> None:
        """Put the program's words in a place again."""
        from ratings.findings.verdict.front import program_words

        if self.verdict is not None:
            self._unsent.discard(place)
            self._replaced[place] = self.words(place)
            self._typed[place] = program_words(self.verdict)[place]
            self._send(place, "")
            self.changed.emit()

    def can_take_back(self, place: Place) -> bool:
        """Whether the lead's words gave way to the program's."""
        return place in self._replaced and not self.is_leads(place)

    def take_back(self, place: Place) -> None:
        """Put the lead's words in their place again."""
        self.write(place, self._replaced[place])
        self.keep_typed()

    def replaced_words(self, folder: Path) -> str:
        """Say what a report in this folder would replace; empty when nothing."""
        from ratings.reports.study_report.report import report_files

        there = [path for path in report_files(self.study.facts.name, folder) if path.exists()]
        if not there:
            return ""
        return (
            f"{counted(len(there), 'file')} of an earlier report in {folder.name} will be replaced."
        )

    def make(self, folder: Path) -> None:
        """Write the report into a folder."""
        self.keep_typed()

        def work(progress: Progress) -> tuple[Path, ...]:
            from ratings.reports.study_report.report import write_report

            self.study.refuse_changed_rows()
            return write_report(self.study, folder, progress)

        self.work.begin(work, "Writing the report")

    def written_words(self) -> str:
        """Say where the last report lies; empty before there is one."""
        if not self.written:
            return ""
        names = [path.name for path in self.written]
        return "\n".join([f"Written into {self.written[0].parent}:", *names])

    def state(self) -> State:
        """Say whether it was written."""
        if self.written:
            return State("written", is_done=True)
        return State("after the verdict")

    def put_away(self) -> None:
        """Keep what was typed; stop a writing that is under way."""
        self.keep_typed()
        self.work.cancel()

    def _send(self, place: Place, text: str) -> None:
        ask(
            self,
            lambda: self._desk.set_lead_words(place, text),
            lambda _nothing: self.reading.look(),
            self._refuse,
        )

    def _refuse(self, problem: RatingsError) -> None:
        self._unsent |= set(self._typed)
        self.problem_raised.emit(problem)

    def _take_reading(self) -> None:
        """Forget what was typed once the verdict knows it."""
        from ratings.findings.verdict.front import front_words

        if self.verdict is not None:
            for place in PLACES:
                is_kept = place not in self._unsent and place in self._typed
                if is_kept and front_words(self.verdict, place)[0] == self._typed[place].strip():
                    del self._typed[place]
        self.changed.emit()

    def _tell_written(self, files: tuple[Path, ...]) -> None:
        self.written = files
        self.told.emit(
            f"The report has been written: {counted(len(files), 'file')} in {files[0].parent}."
        )
        self.changed.emit()
