"""The draft of a new study and what is said about it, without a window."""

import secrets
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.background.look_ups import LookUps
from app.lead.new_study.draft_keeping import DraftKeeper
from app.lead.new_study.making import StudyMaker
from app.lead.new_study.reading import DraftReader
from ratings.design.orders import hiding_words
from ratings.design.plan_words import panel_words
from ratings.errors import DesignError, DoubtfulClipError, FullScaleError, RatingsError
from ratings.intake.concerns import LevelProblem
from ratings.intake.draft_checks import attribute_shortcoming
from ratings.intake.draft_review import DraftReview, Offer
from ratings.intake.how_recorded import SPEED_ENDINGS, HowRecorded
from ratings.intake.placing import spread
from ratings.intake.study_draft import Cell, Draft
from ratings.study.attributes import Attribute
from ratings.study.wording import counted

_SEED_BITS = 128


class NewStudyPresenter(QObject):
    """Holds the draft of a study until it is made; outlives the page that shows it.

    Attributes
    ----------
    draft
        What was said so far.
    last_folder
        Where files were chosen last.
    written
        The attribute in the open card, as it is written; None while none is open.
    maker
        How far the making is.
    notice
        Why the draft that was kept could not be taken up; None when all is well.

    Signals
    -------
    changed
        The draft, what is known of its files, or the making changed.
    problem_raised(RatingsError)
        Something was refused; the draft is whole.
    study_made(Path)
        The folder of the study that was made; the draft is a new one.
    """

    changed = Signal()
    problem_raised = Signal(object)
    study_made = Signal(object)

    def __init__(
        self,
        place: Path,
        draw_seed: Callable[[], int] = lambda: secrets.randbits(_SEED_BITS),
        clock: Callable[[], float] = time.monotonic,
        keeper: DraftKeeper | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._draw_seed = draw_seed
        self._seed = draw_seed()
        self.draft = Draft(place)
        self.last_folder = self.draft.place
        self.written: Attribute | None = None
        self._panel: LookUps[str] = LookUps(self)
        self._reader = DraftReader(self)
        self._review: DraftReview | None = None
        self._levels: LevelProblem | None = None
        self.maker = StudyMaker(clock, parent=self)
        self.maker.refused.connect(self._refuse)
        self.maker.succeeded.connect(self._start_afresh)
        for source in (self._panel.answered, self._reader.read, self.maker.changed):
            source.connect(self._say_changed)
        #: What was removed last, in words, and the draft before; None after any other change.
        self._removed: tuple[str, Draft] | None = None
        self.notice: RatingsError | None = None
        self._keeper = keeper
        if keeper is not None:
            self._take_up(keeper)

    @property
    def review(self) -> DraftReview:
        """What the draft and its files amount to."""
        if self._review is None:
            files = self._reader.known(self.draft)
            self._review = DraftReview(self.draft, files, self._seed, self._levels)
        return self._review

    def shortcoming(self) -> RatingsError | None:
        """Return the first thing that is missing or wrong; None when the study can be made."""
        return self._of_writing() or self.review.shortcoming()

    def offer(self) -> Offer | None:
        """Return the press that takes away what is wrong; None where something has to be said."""
        return None if self._of_writing() else self.review.offer()

    def take_offer(self) -> None:
        """Take what is offered."""
        offer = self.offer()
        if offer is not None:
            self.change(offer.draft)

    def heading(self) -> str:
        """Say in one sentence what is missing, or what the study amounts to."""
        if self.maker.state is not None:
            return "The study is being made."
        problem = self.shortcoming()
        return self.review.ready_words() if problem is None else problem.what_happened

    def advice(self) -> str:
        """Say what to do next."""
        if self.maker.state is not None:
            return "Cancelling leaves nothing behind, and the draft stays as it is."
        problem = self.shortcoming()
        if problem is not None:
            return problem.what_to_do
        plan = self.review.plan
        hiding = hiding_words(len(plan.candidates), len(plan.conditions))
        hidden = hiding or "One pair of the same sound and one repeat are hidden among them."
        asked = len(plan.candidates), len(plan.attributes), len(plan.evaluators)
        self._panel.look_up(asked, partial(panel_words, *asked))
        panel = self._panel.answer(asked)
        return f"{hidden} {panel}" if isinstance(panel, str) else hidden

    def change(self, draft: Draft) -> None:
        """Take the draft as it is now."""
        if draft != self.draft:
            self._take(draft)

    def change_recorded(self, how: HowRecorded) -> None:
        """Say how the files were recorded; a file that was of no use is read again."""
        self._reader.read_recorded(how)
        self._review = None
        self.change(replace(self.draft, recorded=how))

    def put_files(self, paths: Sequence[Path], cell: Cell | None = None) -> None:
        """Put one file into a cell; several, or one without a cell, go where their names say.

        Traces of speed among them go to the recordings of their names.
        """
        if cell is None:
            traces = [path for path in paths if path.suffix.lower() in SPEED_ENDINGS]
            if traces:
                self.change_recorded(self.draft.recorded.with_speeds(traces))
            paths = [path for path in paths if path not in traces]
        if not paths:
            return
        self.last_folder = paths[0].absolute().parent
        problem = None
        if cell is not None and len(paths) == 1:
            draft = self.draft.with_file(cell, paths[0])
        else:
            outcome = spread(self.draft, paths)
            draft, problem = outcome.draft, outcome.remainder()
        put = {path.absolute() for path in paths}
        self._reader.read_recordings(put.intersection(draft.paths))
        self._take(draft)
        if problem is not None:
            self.problem_raised.emit(problem)

    def empty_cell(self, cell: Cell) -> None:
        """Take the file out of a cell."""
        path = self.draft.file_in(cell)
        if path is not None:
            self._take(self.draft.without_file(cell), removed=path.name)

    def take_out_set(self, set_id: int) -> None:
        """Take a set out of the grid with its files."""
        name = next(each.name for each in self.draft.sets if each.set_id == set_id)
        self._take(self.draft.without_set(set_id), removed=name)

    def take_out_condition(self, condition_id: int) -> None:
        """Take a condition out of the grid with its files."""
        title = next(c.title for c in self.draft.conditions if c.condition_id == condition_id)
        self._take(self.draft.without_condition(condition_id), removed=title)

    def clear(self) -> None:
        """Begin with an empty draft."""
        if self.draft.is_begun:
            self._take(Draft(self.draft.place), removed="the whole draft")

    @property
    def removed(self) -> str:
        """What was removed last and can be put back; empty when there is nothing."""
        return "" if self._removed is None else self._removed[0]

    def put_back(self) -> None:
        """Put back what was removed last."""
        if self._removed is not None:
            self.change(self._removed[1])

    def write_attribute(self, attribute: Attribute | None) -> None:
        """Know what is written in the open card of an attribute; None when it was closed."""
        if attribute != self.written:
            self.written = attribute
            self.changed.emit()

    def keep_attribute(self, attribute: Attribute) -> DesignError | None:
        """Take an attribute written by the lead, a new one when its key is empty.

        Returns
        -------
        What is missing from it; then nothing was taken.
        """
        problem = attribute_shortcoming(self.draft, attribute)
        if problem is None:
            self.change(self.draft.with_attribute(attribute))
        return problem

    def at_stake(self) -> str:
        """Say what would be lost if the program were closed now; empty when nothing."""
        if self.maker.state is not None:
            return "A study is being made. Closing stops it and leaves nothing behind."
        if self._is_written:
            return "An attribute is written and not taken into the list yet."
        if not self.draft.is_begun or (self._keeper is not None and self._keeper.is_kept()):
            return ""
        files = counted(len(self.draft.files), "file")
        return f"A study is being prepared ({files} placed so far) and not made yet."

    def make(self) -> None:
        """Begin to make the study, or say what keeps it from being made."""
        problem = self.shortcoming()
        if problem is not None:
            self.problem_raised.emit(problem)
            return
        if self.written is not None and self._is_written:
            self.keep_attribute(self.written)
        self.write_attribute(None)
        self.maker.make(self.draft.folder, self.review.plan)

    def put_away(self) -> None:
        """Stop a study that is being made, and leave the draft to the next window."""
        self.maker.cancel()
        if self._keeper is not None:
            self._keeper.let_go()

    @property
    def _is_written(self) -> bool:
        """Whether the open card says something else than the list."""
        return self.written is not None and self.written not in (
            Attribute("", "", ""),
            *self.draft.attributes,
        )

    def _of_writing(self) -> RatingsError | None:
        if self.written is None or not self._is_written:
            return None
        return attribute_shortcoming(self.draft, self.written)

    def _take(self, draft: Draft, removed: str = "") -> None:
        self._removed = (removed, self.draft) if removed else None
        self.draft = draft
        if self._keeper is not None:
            self._keeper.keep(draft if draft.is_begun else None)
        self._say_changed()

    def _say_changed(self) -> None:
        self._review = None
        self.changed.emit()

    def _refuse(self, problem: RatingsError) -> None:
        if isinstance(problem, FullScaleError | DoubtfulClipError):
            # The heading says it, with the press that mends it.
            self._levels = LevelProblem(self.draft, problem)
            self._say_changed()
        else:
            self.problem_raised.emit(problem)

    def _take_up(self, keeper: DraftKeeper) -> None:
        keeper.problem_raised.connect(self.problem_raised)
        try:
            draft = keeper.take_up()
        except RatingsError as problem:
            self.notice = problem
            return
        if draft is not None:
            self._reader.read_recorded(draft.recorded)
            self._reader.read_recordings(draft.paths)
            self.change(draft)

    def _start_afresh(self, folder: Path) -> None:
        self._seed = self._draw_seed()
        self.change(Draft(self.draft.place))
        if self._keeper is not None:
            # The study is there: its draft must not come back, whatever happens next.
            self._keeper.is_kept()
        self.study_made.emit(folder)
