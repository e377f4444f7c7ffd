"""What the agreement page shows: the results, the choice, and the sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Progress, attempt
from app.lead.agreement.judging import Judged, judge
from app.lead.study_watch import StudyWatch
from app.station import State
from ratings.findings.agreement_words import (
    headline,
    unworked_words,
    without_flagged_finding,
)
from ratings.storage.study_folder import Study
from ratings.study.sets import Condition

if TYPE_CHECKING:
    from ratings.findings.agreement import AttributeAgreement
    from ratings.reports.written_notes import WrittenNote


class AgreementPresenter(QObject):
    """Keeps the agreement of a study up to date, and what the lead has chosen to look at.

    Signals
    -------
    changed()
        Results, choice or state are other than before.
    problem_raised(RatingsError)
        The scores could not be read.
    """

    changed = Signal()
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self,
        study: Study,
        watch: StudyWatch,
        conditions: Sequence[Condition],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.study = study
        self._watch = watch
        self._names = {attribute.key: attribute.name for attribute in study.attributes}
        self._titles = tuple(condition.title for condition in conditions)
        self.judged: Judged | None = None
        self.condition: str | None = None
        self.is_level_free = False
        self._attribute = ""
        self._job: Job[Judged] | None = None
        self._is_overtaken = False
        watch.scores_changed.connect(self.refresh)
        watch.progress_changed.connect(self.changed)

    @property
    def is_judging(self) -> bool:
        """Whether newer scores than those shown are being worked out."""
        return self._job is not None

    def refresh(self) -> None:
        """Work the agreement out anew; the results shown meanwhile are marked as the older ones."""
        if self._job is not None:
            self._is_overtaken = True
            return
        failed = Judged(unworked=tuple(self._names))

        def work(progress: Progress) -> Judged:
            return attempt(lambda: judge(self.study, progress), failed)

        self._job = Job(work, self)
        self._job.succeeded.connect(self._take)
        self._job.refused.connect(self.problem_raised)
        self._job.ended.connect(self._end)
        self._job.start()
        self.changed.emit()

    def choose_attribute(self, key: str) -> None:
        """Look at one attribute in detail."""
        self._attribute = key
        self.changed.emit()

    def step_attribute(self, steps: int) -> None:
        """Go up or down the list of attributes, stopping at its ends."""
        blocks, chosen = self.blocks, self.chosen
        if chosen is None:
            return
        place = min(max(blocks.index(chosen) + steps, 0), len(blocks) - 1)
        self.choose_attribute(blocks[place].attribute)

    def choose_condition(self, title: str | None) -> None:
        """Look at one condition, or at all of them together."""
        self.condition = title
        self.changed.emit()

    def set_level_free(self, is_level_free: bool) -> None:
        """Subtract each evaluator's mean from the deviations, or leave it in."""
        self.is_level_free = is_level_free
        self.changed.emit()

    @property
    def conditions(self) -> tuple[str, ...]:
        """Conditions to choose from, in the order of the plan; none when there is but one."""
        seen = () if self.judged is None else self.judged.conditions
        return tuple(title for title in self._titles if title in seen)

    @property
    def blocks(self) -> tuple[AttributeAgreement, ...]:
        """One per attribute, of the chosen condition."""
        if self.judged is None:
            return ()
        return tuple(b for b in self.judged.blocks if b.condition == self.condition)

    @property
    def chosen(self) -> AttributeAgreement | None:
        """The attribute looked at; the first one while the chosen one has no scores."""
        blocks = self.blocks
        first = blocks[0] if blocks else None
        return next((b for b in blocks if b.attribute == self._attribute), first)

    @property
    def notes(self) -> tuple[WrittenNote, ...]:
        """What was written, of the chosen condition."""
        notes = () if self.judged is None else self.judged.notes
        return tuple(n for n in notes if self.condition in (None, n.condition))

    def brought_evaluators(self) -> tuple[str, ...]:
        """Return those whose scores were all brought in: they have no seat."""
        seated = {seat.evaluator.code for seat in self._watch.seats}
        people = () if self.judged is None else self.judged.evaluators
        return tuple(code for code in people if code not in seated)

    def attribute_name(self, key: str) -> str:
        """Return what the form calls an attribute."""
        return self._names.get(key, key)

    def heading(self) -> str:
        """Say what the panel agrees on."""
        if self.judged is None:
            return "Reading the scores"
        if self.judged.unworked and not self.blocks:
            return "The agreement could not be worked out."
        return headline(self.blocks, self.condition)

    def beside_line(self) -> str:
        """Say where the panel would agree better without the flagged; empty when nowhere."""
        return without_flagged_finding(self.blocks, self.condition)

    def matrix(self) -> list[tuple[str, ...]]:
        """Return W by attribute and condition, a heading row first; empty with one condition."""
        if self.judged is None or not self.conditions:
            return []
        from ratings.findings.agreement_matrix import agreement_matrix

        return agreement_matrix(self.judged.blocks, self._names, self.conditions)

    def standing_line(self) -> str:
        """Say what the finding rests on, and whether newer scores are on their way."""
        if self.judged is None:
            return ""
        people = {code for block in self.blocks for code in block.evaluators}
        sets = {code for block in self.blocks for code in block.sets}
        line = (
            f"{len(people)} evaluators, {len(sets)} coded sets, "
            f"{self.condition_words()}. Sets stay coded."
        )
        if self.judged.unworked:
            names = [self.attribute_name(key) for key in self.judged.unworked]
            line += " " + unworked_words(names)
        if self.is_judging:
            line += " " + "New scores are being worked in."
        return line

    def condition_words(self) -> str:
        """Name the chosen condition, or say that all are taken together."""
        if self.condition is not None:
            return self.condition
        if len(self._titles) == 1:
            return self._titles[0]
        return f"all {len(self._titles)} conditions"

    def state(self) -> State:
        """Say in three words how far the agreement can be trusted yet."""
        seats = self._watch.seats
        in_count = sum(seat.locked_count == seat.pair_count for seat in seats)
        is_done = bool(seats) and in_count == len(seats)
        if self.judged is None:
            return State("reading", is_done)
        if not self.judged.score_count:
            return State("no scores yet", is_done)
        if not in_count:
            return State("first scores given", is_done)
        return State(f"{in_count} of {len(seats)} finished", is_done)

    def emptiness(self) -> tuple[str, str] | None:
        """Say why there is nothing to see yet and what to do first; None when there is."""
        if self.judged is None:
            return None
        people = self.judged.evaluators
        if self.judged.unworked:
            return None
        if not people:
            return (
                "Nobody has rated yet.",
                (
                    "This page says whether the panel agrees, and who stands apart. It fills "
                    "while scores arrive. First step: let an evaluator choose a name under "
                    "Evaluate, or import scores that were given elsewhere."
                ),
            )
        if len(people) == 1:
            return (
                f"Only {people[0]} has rated so far.",
                (
                    "Agreement needs at least two evaluators who rated the same sets. Next step: "
                    "let another evaluator choose a name under Evaluate, or import scores that "
                    "were given elsewhere."
                ),
            )
        return None

    def _take(self, judged: Judged) -> None:
        self.judged = judged
        if self.condition is not None and self.condition not in judged.conditions:
            self.condition = None

    def _end(self) -> None:
        self._job = None
        if self._is_overtaken:
            self._is_overtaken = False
            self.refresh()
        else:
            self.changed.emit()
