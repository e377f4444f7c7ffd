"""What a draft and its files amount to: what is missing, what is odd, and what can be made."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Literal, TypeVar

from ratings.design.plan_words import session_words
from ratings.errors import DesignError, RatingsError
from ratings.intake.concerns import (
    Concern,
    LevelProblem,
    cell_warning,
    fact_words,
    file_concerns,
    file_remarks,
    mono_beside_stereo,
    short_reason,
)
from ratings.intake.draft_checks import draft_shortcoming, place_shortcoming
from ratings.intake.how_recorded import factor_by_tones
from ratings.intake.known_files import KnownFiles, usable_facts
from ratings.intake.study_draft import Cell, Draft

Known = TypeVar("Known")

CellKind = Literal["empty", "reading", "ready", "refused"]


@dataclass(frozen=True, slots=True)
class CellView:
    """What a cell of the grid holds; `warning` is what is odd about a file that can be used."""

    kind: CellKind
    name: str = ""
    words: str = ""
    problem: str = ""
    warning: str = ""


@dataclass(frozen=True, slots=True)
class Offer:
    """One step that takes away what keeps the study from being made, and the draft it gives."""

    words: str
    draft: Draft


class DraftReview:
    """Holds as long as neither the draft nor what is known of its files changes.

    Attributes
    ----------
    facts
        By cell, of the files that have been read.
    plan
        From which the study can be made once nothing is missing.

    Parameters
    ----------
    seed
        Of the study to be made.
    levels
        What was wrong with the levels when clips were last cut.
    """

    def __init__(
        self, draft: Draft, files: KnownFiles, seed: int = 0, levels: LevelProblem | None = None
    ) -> None:
        self.draft, self.files = draft, files
        known = {placed.cell: files.facts(placed.path) for placed in draft.files}
        self.facts = {cell: facts for cell, facts in known.items() if facts is not None}
        self.plan = draft.plan(seed, files.tone_factor)
        self._levels = levels if levels is not None and levels.is_of(draft) else None

    def shortcoming(self) -> RatingsError | None:
        """Return the first thing that is missing or wrong; None when the study can be made."""
        concerns = (DesignError(each.what_it_is, each.what_to_do) for each in self._concerns)
        too_loud = self._levels.too_loud if self._levels else None
        return self._unsaid() or too_loud or next(concerns, None)

    def offer(self) -> Offer | None:
        """Return the step that takes away what is wrong; None where something has to be said."""
        if self._unsaid() is not None:
            return None
        too_loud = self._levels.too_loud if self._levels else None
        if too_loud is not None:
            gain_db = round(self.draft.gain_db - too_loud.over_db, 1)
            return Offer(
                f"Lower all clips by {too_loud.over_db:.1f} dB",
                replace(self.draft, gain_db=gain_db),
            )
        if not self._concerns:
            return None
        accepted = self.draft.accepted | {self._concerns[0].what_it_is}
        return Offer("Accept as recorded", replace(self.draft, accepted=accepted))

    def ready_words(self) -> str:
        """Say what a draft that lacks nothing amounts to."""
        # Inside, so that a page opens without the libraries for sound files.
        from ratings.clips.alike import expected_length_s

        durations_s: dict[int, list[float]] = defaultdict(list)
        for (_, condition_id), facts in self.facts.items():
            durations_s[condition_id].append(facts.duration_s)
        lengths_s = {
            each.condition_id: expected_length_s(each, durations_s[each.condition_id])
            for each in self.draft.conditions
        }
        return session_words(self.plan, lengths_s)

    def cell(self, cell: Cell) -> CellView:
        """Say what a cell of the grid holds."""
        path = self.draft.file_in(cell)
        if path is None:
            return CellView("empty")
        problem = self.files.problem(path, self.draft.recorded)
        if problem is not None:
            return CellView("refused", path.name, short_reason(problem, path.name), str(problem))
        facts = self.facts.get(cell)
        if facts is None:
            return CellView("reading", path.name, "being read")
        warning = cell_warning(facts, self.draft.recorded, is_odd_mono=cell in self._odd_mono)
        return CellView("ready", path.name, fact_words(facts), warning=warning)

    def problems(self) -> tuple[str, ...]:
        """Say of each file that cannot be used what is wrong and what to do."""
        how = self.draft.recorded
        found = (self.files.problem(path, how) for path in self.draft.paths)
        return tuple(str(problem) for problem in found if problem is not None)

    def remarks(self) -> tuple[str, ...]:
        """Say what is odd about the files that can be used."""
        return file_remarks(list(self.facts.values()), self.draft.recorded)

    def _unsaid(self) -> RatingsError | None:
        # The disk is looked at each time: others write to it.
        return self._shortcoming or place_shortcoming(self.draft.folder)

    @cached_property
    def _shortcoming(self) -> RatingsError | None:
        return draft_shortcoming(self.draft, self.plan, self.files, self.facts)

    @cached_property
    def _odd_mono(self) -> frozenset[Cell]:
        return frozenset(mono_beside_stereo(self.facts, self.draft.recorded))

    @cached_property
    def _concerns(self) -> list[Concern]:
        found = file_concerns(self.facts, self.draft.recorded)
        doubts = self._levels.doubts if self._levels else ()
        return [each for each in (*found, *doubts) if each.what_it_is not in self.draft.accepted]


def read_files(draft: Draft) -> KnownFiles:
    """Read all files of a draft at once, where nobody waits for them one by one."""
    from ratings.clips.equaliser import read_equaliser
    from ratings.recordings.speed.trace_files import read_speed_trace

    how, level = draft.recorded, draft.recorded.calibration
    has_tone = level.kind == "tones" and level.tone_before is not None
    return KnownFiles(
        {path: _answer(partial(usable_facts, path)) for path in draft.paths},
        _answer(partial(factor_by_tones, level, how.ears)) if has_tone else None,
        None if how.equaliser is None else _answer(partial(read_equaliser, how.equaliser)),
        {path: _answer(partial(read_speed_trace, path)) for path in how.speeds},
    )


def _answer(read: Callable[[], Known]) -> Known | RatingsError:
    try:
        return read()
    except RatingsError as problem:
        return problem
