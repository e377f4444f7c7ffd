"""What the lead settles on the verdict page: limits, plan, figures, and opening the key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.database import ask
from app.lead.verdict_reading import VerdictReading
from ratings.errors import RatingsError
from ratings.storage.key import open_key
from ratings.storage.study_folder import Study
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.figures import EARS, title_of
from ratings.study.study_settings import StudySettings
from ratings.study.wording import counted, listed

if TYPE_CHECKING:
    from ratings.findings.verdict.question import Question

#: What each limit means, beside its field. Common practice, no source.
LIMIT_MEANINGS = {
    "small": ("small", "trained ears hear it, back to back only"),
    "matters": ("matters", "what differs by less is called too small to matter"),
    "customer": ("customer", "an ordinary customer notices it"),
    "drift_points": ("drift", "a control that moves by more makes the day doubtful"),
}
#: Figures that stand beside no attribute: places of lines, and bands that nobody names.
_NEVER = ("third_octave_", "clip_", "fast_l", "slow_l")


class Settling(QObject):
    """Changes settings of the verdict on the worker, and has the verdict worked out anew.

    Attributes
    ----------
    refusal
        Why the last change was refused; None once one was taken.

    Signals
    -------
    changed()
        A refusal came or went.
    key_opened()
        The names are known from now on.
    key_refused(RatingsError)
        The key stays closed.
    """

    changed = Signal()
    key_opened = Signal()
    key_refused = Signal(object)  # RatingsError

    def __init__(
        self, study: Study, reading: VerdictReading, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._study, self._reading = study, reading
        self._desk = VerdictDesk(study)
        self.refusal: RatingsError | None = None
        #: What was settled, until the verdict on the screen stands on it: one that was read
        #: before would put old values under what is being typed.
        self._settled: StudySettings | None = None

    @property
    def settings(self) -> StudySettings:
        """The settings as they were given last: the verdict on the screen follows them."""
        question = self._question
        known = StudySettings() if question is None else question.settings
        if self._settled == known:
            self._settled = None
        return self._settled or known

    @property
    def can_change(self) -> bool:
        """Whether the study can be written to, and was read."""
        return self._question is not None and not self._study.is_read_only

    def set_limit(self, name: str, points: float) -> None:
        """Settle one of the limits."""
        try:
            limits = replace(self.settings.limits, **{name: points})
        except RatingsError as problem:
            self._refuse(problem)
            return
        self._change(replace(self.settings, limits=limits), lambda: self._desk.set_limits(limits))

    def set_planned(self, evaluators: int) -> None:
        """Settle how many evaluators there will be; 0 for no plan."""
        planned = evaluators or None
        self._change(
            replace(self.settings, planned_evaluators=planned),
            lambda: self._desk.set_planned_evaluators(planned),
        )

    def set_figure(self, attribute: str, figure: str | None) -> None:
        """Settle which figure is named beside an attribute."""
        named = {**self.settings.attribute_figures, attribute: figure}
        self._change(
            replace(self.settings, attribute_figures=named),
            lambda: self._desk.set_attribute_figure(attribute, figure),
        )

    def figures_beside(self) -> list[tuple[str, str, str | None]]:
        """Return each attribute by key and name, with the figure that is named for it."""
        question = self._question
        if question is None:
            return []
        named = self.settings.attribute_figures
        return [(each.key, each.name, named.get(each.key)) for each in question.attributes]

    def figures(self) -> dict[str, str | None]:
        """Return what may be named beside an attribute, by title; none first."""
        question = self._question
        found: dict[str, str | None] = {"none": None}
        if question is None:
            return found
        keys = {key for key in question.settings.attribute_figures.values() if key}
        if question.measured is not None:
            keys |= {f.key for f in question.measured.found.findings if f.channel == EARS}
        kept = [key for key in keys if not key.startswith(_NEVER) and not key.endswith("_hz")]
        return found | {title_of(key): key for key in sorted(kept, key=title_of)}

    def unfinished_words(self) -> str:
        """Say which sessions have not finished; empty when all have."""
        question = self._question
        seats = () if question is None else question.seats
        waiting = [seat.code for seat in seats if not seat.is_finished]
        if not waiting:
            return ""
        have = "has" if len(waiting) == 1 else "have"
        return (
            f"{counted(len(waiting), 'session')} {have} not finished: {listed(waiting)}. Let them "
            "finish first; what they score after the opening is marked for good."
        )

    def key_words(self) -> str:
        """Say how the key stands."""
        opened = self._reading.opening
        if opened is None and self._study.is_read_only:
            return "Sets stand under their codes: this study may only be read here."
        if opened is None:
            return "Sets stand under their codes. Names appear once the key is opened."
        when = opened.opened_at.astimezone()
        return f"Key opened {when:%Y-%m-%d %H:%M} by {opened.who}: {opened.why}"

    def open_key(self, who: str, why: str) -> None:
        """Open the key for good."""
        ask(
            self,
            lambda: open_key(self._study, who, why),
            lambda _opening: self._take_key(),
            self.key_refused.emit,
        )

    @property
    def _question(self) -> Question | None:
        verdict = self._reading.verdict
        return None if verdict is None else verdict.question

    def _take_key(self) -> None:
        self._reading.look()
        self.key_opened.emit()

    def _change(self, settled: StudySettings, act: Callable[[], None]) -> None:
        self._settled = settled
        ask(self, act, lambda _nothing: self._take_change(), self._refuse)

    def _take_change(self) -> None:
        self._set_refusal(None)
        self._reading.look()

    def _refuse(self, problem: RatingsError) -> None:
        self._settled = None
        self._set_refusal(problem)

    def _set_refusal(self, problem: RatingsError | None) -> None:
        self.refusal = problem
        self.changed.emit()
