"""The draft of a new study and what is said about it, without a window."""

import re
import secrets
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, Signal

from app.lead.new_study.checks import attribute_shortcoming, draft_shortcoming
from app.lead.new_study.draft_keeping import DraftKeeper
from app.lead.new_study.files import FileReader
from app.lead.new_study.making import StudyMaker
from app.lead.new_study.panel_size import Asked, PanelSize
from app.lead.new_study.recorded_reading import RecordedReader
from ratings.design.orders import hiding_words
from ratings.errors import DesignError, RatingsError
from ratings.intake.concerns import Concern, LastCut, file_concerns, mono_beside_stereo
from ratings.intake.draft_words import (
    cell_warning,
    fact_words,
    file_remarks,
    heard_remarks,
    rate_remarks,
    ready_words,
    short_reason,
)
from ratings.intake.how_recorded import SPEED_ENDINGS, HowRecorded, unheard_ear
from ratings.intake.placing import spread
from ratings.intake.study_draft import Cell, Draft
from ratings.study.attributes import Attribute
from ratings.study.sets import Condition
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.design.study_plan import StudyPlan
    from ratings.recordings.read import SoundFacts

CellKind = Literal["empty", "reading", "ready", "refused"]

_SEED_BITS = 128


@dataclass(frozen=True, slots=True)
class CellView:
    """What a cell of the grid shows; `warning` is what is odd about a file that can be used."""

    kind: CellKind
    name: str = ""
    words: str = ""
    problem: str = ""
    warning: str = ""


@dataclass(frozen=True, slots=True)
class Offer:
    """One press that takes away what keeps the study from being made, and the draft it gives."""

    words: str
    draft: Draft


class NewStudyPresenter(QObject):
    """Holds the draft of a study until it is made; outlives the page that shows it.

    Attributes
    ----------
    draft
        What was said so far.
    last_folder
        Where files were chosen last.
    recorded
        What the files tell of how they were recorded.
    maker
        How far the making is.
    notice
        Why the draft that was kept could not be taken up; None when all is well.

    Signals
    -------
    changed
        The draft, a file's facts or the making changed.
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
        self._panel_size = PanelSize(self)
        self._panel_size.found.connect(self.changed)
        self._files = FileReader(self)
        self._files.file_read.connect(lambda _path: self.changed.emit())
        self.recorded = RecordedReader(self)
        self.recorded.read.connect(self.changed)
        #: The attribute in the open card, as it is written; None while none is open.
        self.written: Attribute | None = None
        self._last_cut = LastCut()
        self.maker = StudyMaker(clock, self)
        self.maker.changed.connect(self.changed)
        self.maker.refused.connect(self._refuse)
        self.maker.made.connect(self._start_afresh)
        #: What was removed last, in words, and the draft before; None after any other change.
        self._removed: tuple[str, Draft] | None = None
        self.notice: RatingsError | None = None
        self._keeper = keeper
        if keeper is not None:
            self._take_up(keeper)

    def shortcoming(self) -> RatingsError | None:
        """Return the first thing that is missing or wrong; None when the study can be made."""
        concerns = (DesignError(each.what_it_is, each.what_to_do) for each in self._concerns())
        return self._unsaid() or self._last_cut.too_loud(self.draft) or next(concerns, None)

    def offer(self) -> Offer | None:
        """Return the press that takes away what is wrong; None where something has to be said."""
        if self._unsaid() is not None:
            return None
        too_loud = self._last_cut.too_loud(self.draft)
        if too_loud is not None:
            gain_db = round(self.draft.gain_db - too_loud.over_db, 1)
            return Offer(
                f"Lower all clips by {too_loud.over_db:.1f} dB",
                replace(self.draft, gain_db=gain_db),
            )
        concern = next(iter(self._concerns()), None)
        if concern is None:
            return None
        accepted = self.draft.accepted | {concern.what_it_is}
        return Offer("Accept as recorded", replace(self.draft, accepted=accepted))

    def take_offer(self) -> None:
        """Take what is offered."""
        offer = self.offer()
        if offer is not None:
            self._take(offer.draft)

    def raise_clips_again(self) -> None:
        """Make the clips at the level of the recordings again."""
        self._take(replace(self.draft, gain_db=0.0))

    def _unsaid(self) -> RatingsError | None:
        if self.written is not None and (unfinished := self._of_writing(self.written)):
            return unfinished
        how = self.draft.recorded
        of_recording = self.recorded.shortcoming(how, self.known_facts()) or how.unclear_speed(
            [placed.path for placed in self.draft.files]
        )
        return draft_shortcoming(
            self.draft, self._plan(), self._files, self._problem_of, of_recording
        )

    def heading(self) -> str:
        """Say in one sentence what is missing, or what the study amounts to."""
        problem = self.shortcoming()
        if problem is not None:
            return problem.what_happened
        return ready_words(self._plan(), self._clip_lengths_s())

    def advice(self) -> str:
        """Say what to do next."""
        problem = self.shortcoming()
        if problem is not None:
            return problem.what_to_do
        plan = self._plan()
        hiding = hiding_words(len(plan.candidates), len(plan.conditions))
        panel = self._panel_size.words(
            Asked(len(plan.candidates), len(plan.attributes), len(plan.evaluators))
        )
        hidden = hiding or "One pair of the same sound and one repeat are hidden among them."
        return f"{hidden} {panel}".rstrip()

    def cell(self, cell: Cell) -> CellView:
        """Say what a cell of the grid holds."""
        path = self.draft.file_in(cell)
        if path is None:
            return CellView("empty")
        problem = self._problem_of(path)
        if problem is not None:
            return CellView("refused", path.name, short_reason(problem, path.name), str(problem))
        facts = self._files.facts(path)
        if facts is None:
            return CellView("reading", path.name, "being read")
        warning = cell_warning(facts, self.draft.recorded, is_odd_mono=cell in self._odd_mono())
        return CellView("ready", path.name, fact_words(facts), warning=warning)

    def problems(self) -> tuple[str, ...]:
        """Say of each file that cannot be used what is wrong and what to do."""
        views = [self.cell(placed.cell) for placed in self.draft.files]
        return tuple(view.problem for view in views if view.problem)

    def remarks(self) -> tuple[str, ...]:
        """Say what is odd about the files that can be used."""
        facts, how = self.known_facts(), self.draft.recorded
        of_files = tuple(words for each in facts for words in file_remarks(each, how))
        return (*rate_remarks(facts), *heard_remarks(facts, how), *of_files)

    def known_facts(self) -> "list[SoundFacts]":
        """Give the facts of the files that have been read."""
        return list(self._known().values())

    def set_name(self, name: str) -> None:
        """Name the study."""
        self._take(replace(self.draft, name=name))

    def set_vehicle(self, vehicle: str) -> None:
        """Name the vehicle."""
        self._take(replace(self.draft, vehicle=vehicle))

    def set_place(self, place: Path) -> None:
        """Say in which folder the study's own folder is made."""
        self._take(replace(self.draft, place=place.absolute()))

    def set_evaluator_names(self, text: str) -> None:
        """Take names separated by commas; there are at least as many people as names."""
        named = replace(self.draft, evaluator_text=text)
        count = max(self.draft.evaluator_count, len(named.evaluator_names))
        self._take(replace(named, evaluator_count=count))

    def set_evaluator_count(self, count: int) -> None:
        """Say how many listen; never fewer than there are names."""
        count = max(count, len(self.draft.evaluator_names), 1)
        self._take(replace(self.draft, evaluator_count=count))

    def change_recorded(self, how: HowRecorded) -> None:
        """Say how the files were recorded."""
        self.recorded.begin(how)
        self._take(replace(self.draft, recorded=how))

    def add_set(self) -> None:
        """Add a set to be named."""
        self._take(self.draft.with_set(_free("Set", [s.name for s in self.draft.sets])))

    def rename_set(self, set_id: int, name: str) -> None:
        """Name a set."""
        for tyre_set in self.draft.sets:
            if tyre_set.set_id == set_id:
                self._take(self.draft.with_changed_set(replace(tyre_set, name=name)))

    def choose_control(self, set_id: int) -> None:
        """Mark the set that every other is compared with."""
        self._take(self.draft.with_control(set_id))

    def take_out_set(self, set_id: int) -> None:
        """Take a set out of the grid with its files."""
        name = next(each.name for each in self.draft.sets if each.set_id == set_id)
        self._take(self.draft.without_set(set_id), removed=name)

    def add_condition(self) -> None:
        """Add a condition to be described."""
        surface = _free("Road", [c.surface for c in self.draft.conditions])
        self._take(self.draft.with_condition(Condition(0, surface)))

    def change_condition(self, condition: Condition) -> None:
        """Describe a condition anew; only a coast-down keeps an end speed."""
        if condition.manoeuvre == "steady":
            condition = replace(condition, end_speed_km_h=None)
        self._take(self.draft.with_changed_condition(condition))

    def take_out_condition(self, condition_id: int) -> None:
        """Take a condition out of the grid with its files."""
        title = next(c.title for c in self.draft.conditions if c.condition_id == condition_id)
        self._take(self.draft.without_condition(condition_id), removed=title)

    def put_files(self, paths: Sequence[Path], cell: Cell | None = None) -> None:
        """Put one file into a cell; several, or one without a cell, go where their names say.

        Traces of speed among them go to the recordings of their names.
        """
        if cell is None:
            paths = self._without_speeds(paths)
        if not paths:
            return
        self.last_folder = paths[0].absolute().parent
        if cell is not None and len(paths) == 1:
            self._take(self.draft.with_file(cell, paths[0]), read=paths)
            return
        outcome = spread(self.draft, paths)
        self._take(outcome.draft, read=paths)
        if (problem := outcome.remainder()) is not None:
            self.problem_raised.emit(problem)

    def empty_cell(self, cell: Cell) -> None:
        """Take the file out of a cell."""
        path = self.draft.file_in(cell)
        if path is not None:
            self._take(self.draft.without_file(cell), removed=path.name)

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
            self._take(self._removed[1])

    def choose_attribute(self, key: str, *, is_chosen: bool) -> None:
        """Say whether an attribute is rated."""
        chosen = self.draft.chosen | {key} if is_chosen else self.draft.chosen - {key}
        self._take(replace(self.draft, chosen=chosen))

    def write_attribute(self, attribute: Attribute | None) -> None:
        """Know what is written in the open card of an attribute; None when it was closed."""
        if attribute != self.written:
            self.written = attribute
            self.changed.emit()

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

    def keep_attribute(self, attribute: Attribute) -> DesignError | None:
        """Take an attribute written by the lead, a new one when its key is empty.

        Returns
        -------
        What is missing from it; then nothing was taken.
        """
        others = tuple(a for a in self.draft.attributes if a.key != attribute.key)
        problem = attribute_shortcoming(attribute, others)
        if problem is not None:
            return problem
        kept = replace(
            attribute,
            key=attribute.key or _new_key(attribute.name, {a.key for a in others}),
            name=attribute.name.strip(),
            definition=attribute.definition.strip(),
        )
        if attribute.key:
            listed = tuple(kept if a.key == kept.key else a for a in self.draft.attributes)
        else:
            listed = (*self.draft.attributes, kept)
        self._take(replace(self.draft, attributes=listed, chosen=self.draft.chosen | {kept.key}))
        return None

    def make(self) -> None:
        """Begin to make the study, or say what keeps it from being made."""
        problem = self.shortcoming()
        if problem is not None:
            self.problem_raised.emit(problem)
            return
        if self.written is not None and self._is_written:
            self.keep_attribute(self.written)
        self.write_attribute(None)
        self.maker.make(self.draft.folder, self._plan())

    @property
    def _is_written(self) -> bool:
        """Whether the open card says something else than the list."""
        return self.written is not None and self.written not in (
            Attribute("", "", ""),
            *self.draft.attributes,
        )

    def _of_writing(self, written: Attribute) -> RatingsError | None:
        if not self._is_written:
            return None
        return attribute_shortcoming(
            written, tuple(a for a in self.draft.attributes if a.key != written.key)
        )

    def _known(self) -> "dict[Cell, SoundFacts]":
        known = {placed.cell: self._files.facts(placed.path) for placed in self.draft.files}
        return {cell: facts for cell, facts in known.items() if facts is not None}

    def _odd_mono(self) -> list[Cell]:
        return mono_beside_stereo(self._known(), self.draft.recorded)

    def _concerns(self) -> "list[Concern]":
        found = file_concerns(self._known(), self.draft.recorded)
        return [
            each
            for each in (*found, *self._last_cut.doubts(self.draft))
            if each.what_it_is not in self.draft.accepted
        ]

    def _refuse(self, problem: RatingsError) -> None:
        if self._last_cut.take(self.draft, problem):
            # The heading says it, with the press that mends it.
            self.changed.emit()
        else:
            self.problem_raised.emit(problem)

    def _plan(self) -> "StudyPlan":
        return self.draft.plan(self._seed, self.recorded.tone_factor(self.draft.recorded))

    def _problem_of(self, path: Path) -> RatingsError | None:
        facts = self._files.facts(path)
        if facts is None:
            return self._files.problem(path)
        return unheard_ear(facts, self.draft.recorded)

    def _without_speeds(self, paths: Sequence[Path]) -> list[Path]:
        speeds = [path for path in paths if path.suffix.lower() in SPEED_ENDINGS]
        if speeds:
            how = self.draft.recorded
            kept = dict.fromkeys((*how.speeds, *(path.absolute() for path in speeds)))
            self.change_recorded(replace(how, speeds=tuple(kept)))
        return [path for path in paths if path not in speeds]

    def _take_up(self, keeper: DraftKeeper) -> None:
        keeper.problem_raised.connect(self.problem_raised)
        try:
            draft = keeper.take_up()
        except RatingsError as problem:
            self.notice = problem
            return
        if draft is not None:
            self.recorded.begin(draft.recorded)
            self._take(draft, read=[placed.path for placed in draft.files])

    def _take(self, draft: Draft, read: Sequence[Path] = (), removed: str = "") -> None:
        if draft == self.draft and not read:
            return
        self._removed = (removed, self.draft) if removed else None
        self.draft = draft
        if self._keeper is not None:
            self._keeper.keep(draft if self.draft.is_begun else None)
        placed = {placed.path for placed in draft.files}
        for path in placed.intersection(path.absolute() for path in read):
            self._files.read(path)
        self.changed.emit()

    def _clip_lengths_s(self) -> dict[int, float]:
        # Inside, so that the first window opens without the libraries for sound files.
        from ratings.clips.alike import expected_length_s

        lengths_s = {}
        for condition in self.draft.conditions:
            durations_s = [
                facts.duration_s
                for placed in self.draft.files
                if placed.cell[1] == condition.condition_id
                and (facts := self._files.facts(placed.path)) is not None
            ]
            lengths_s[condition.condition_id] = expected_length_s(condition, durations_s)
        return lengths_s

    def _start_afresh(self, folder: Path) -> None:
        self._seed = self._draw_seed()
        self._take(Draft(self.draft.place))
        if self._keeper is not None:
            # The study is there: its draft must not come back, whatever happens next.
            self._keeper.is_kept()
        self.study_made.emit(folder)

    def put_away(self) -> None:
        """Stop a study that is being made, and leave the draft to the next window."""
        self.maker.cancel()
        if self._keeper is not None:
            self._keeper.let_go()


def _free(noun: str, taken: Sequence[str]) -> str:
    number = len(taken) + 1
    while f"{noun} {number}" in taken:
        number += 1
    return f"{noun} {number}"


def _new_key(name: str, taken: set[str]) -> str:
    stem = re.sub(r"\W+", "_", name.strip().casefold()).strip("_") or "attribute"
    key, number = stem, 2
    while key in taken:
        key, number = f"{stem}_{number}", number + 1
    return key
