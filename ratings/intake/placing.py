"""A place in the grid of sets and conditions for each sound file, proposed by its name.

A name is cut into words at spaces, dots, hyphens and underscores. Speeds (``80``, ``80kmh``) and
``coast-down`` belong to the condition wherever they stand; the word for a run (``run1``) belongs to
neither, and the first run gets the cell. The words that are left are split once,
in all files alike: the set in front and the surface behind it, or the other way round. Of all such
splits the one is proposed in which, in this order, no two files want the same cell, words of a
road are no part of a set, most files fit what the grid holds already, fewest cells stay empty, the
surfaces have fewest words that are no words of a road, there are two sets, and the set has the
fewest words; between equals the set stands in front.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ratings.errors import DesignError
from ratings.intake.named_driving import ROAD_WORDS, Driving, driving
from ratings.intake.study_draft import Draft
from ratings.study.sets import Condition

UNNAMED_SURFACE = "road"


@dataclass(frozen=True, slots=True)
class Proposal:
    """The set and the condition that a file's name speaks of; the ids are not given yet."""

    path: Path
    set_name: str
    condition: Condition
    run: int | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """A draft after files were spread over its grid.

    Attributes
    ----------
    left_over
        Files that found no free cell.
    later_runs
        Files that are further runs of a cell, by their names.
    """

    draft: Draft
    left_over: tuple[Path, ...]
    later_runs: tuple[Path, ...] = ()

    def remainder(self) -> DesignError | None:
        """Say which files lie in no cell, and what to do with them; None when all do."""
        if self.left_over:
            names = ", ".join(path.name for path in self.left_over)
            return DesignError(
                f"The cell for {names} holds a file already.",
                "Put it into its cell by hand, or choose only one run for each.",
            )
        if self.later_runs:
            first, *others = (path.name for path in self.later_runs)
            more = f" and {len(others)} more" if others else ""
            return DesignError(
                f"{first}{more}: one run of each set and condition is listened to.",
                "Run 2 and later are imported after the study is made, under Recordings.",
            )
        return None


@dataclass(frozen=True, slots=True)
class _Split:
    set_words: int
    is_set_behind: bool

    def cut(self, words: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        if self.is_set_behind:
            where = max(0, len(words) - self.set_words)
            return words[where:], words[:where]
        return words[: self.set_words], words[self.set_words :]


def spread(draft: Draft, paths: Sequence[Path]) -> Spread:
    """Put files into the cells that their names propose, adding sets and conditions as needed.

    A cell that holds a file keeps it.
    """
    here = {placed.path for placed in draft.files}
    new = [path for path in dict.fromkeys(p.absolute() for p in paths) if path not in here]
    left_over, later_runs = [], []
    for proposal in sorted(propose(new, draft), key=lambda proposal: proposal.run or 0):
        draft, set_id = _set_for(draft, proposal.set_name)
        draft, condition_id = _condition_for(draft, proposal.condition)
        if draft.file_in((set_id, condition_id)) is None:
            draft = draft.with_file((set_id, condition_id), proposal.path)
        elif proposal.run is None:
            left_over.append(proposal.path)
        else:
            later_runs.append(proposal.path)
    return Spread(draft, tuple(left_over), tuple(later_runs))


def propose(paths: Sequence[Path], draft: Draft) -> tuple[Proposal, ...]:
    """Propose a set and a condition for each new file, with the draft's files as examples."""
    if not paths:
        return ()
    named = [driving(path.stem) for path in paths]
    longest = max(1, *(len(name.words) for name in named))
    splits = [_Split(words, behind) for words in range(1, longest + 1) for behind in (False, True)]

    def made_by(split: _Split) -> dict[Driving, Proposal]:
        # Further runs of the same say nothing more of the names.
        return {name: _proposal(path, name, split) for path, name in zip(paths, named, strict=True)}

    def cost(split: _Split) -> tuple[int, ...]:
        return (*_cost(tuple(made_by(split).values()), draft), split.set_words)

    best = min(splits, key=cost)
    return tuple(_proposal(path, name, best) for path, name in zip(paths, named, strict=True))


def _proposal(path: Path, name: Driving, split: _Split) -> Proposal:
    set_words, surface_words = split.cut(name.words)
    speeds_km_h = name.speeds_km_h
    coasts = name.manoeuvre == "coast-down"
    return Proposal(
        path,
        " ".join(set_words) or path.stem,
        Condition(
            0,
            " ".join(surface_words) or UNNAMED_SURFACE,
            name.manoeuvre,
            speeds_km_h[0] if speeds_km_h else None,
            speeds_km_h[1] if coasts and len(speeds_km_h) > 1 else None,
        ),
        name.run,
    )


def _cost(proposals: Sequence[Proposal], draft: Draft) -> tuple[int, ...]:
    """Say how bad a split is, worst reasons first."""
    names = {proposal.set_name.casefold() for proposal in proposals}
    conditions = {_sameness(proposal.condition) for proposal in proposals}
    cells = {(p.set_name.casefold(), _sameness(p.condition)) for p in proposals}
    known_names = {s.name.casefold() for s in draft.sets}
    known_conditions = {_sameness(c) for c in draft.conditions}
    clashes = len(proposals) - len(cells)
    roads_in_sets = sum(_road_words(proposal.set_name) for proposal in proposals)
    strangers = sum(
        (name not in known_names) + (condition not in known_conditions) for name, condition in cells
    )
    empty_cells = len(names) * len(conditions) - len(cells)
    unlike_roads = sum(
        len(p.condition.surface.split()) - _road_words(p.condition.surface) for p in proposals
    ) + sum(p.condition.surface == UNNAMED_SURFACE for p in proposals)
    is_one_set = len(names | known_names) < 2
    return clashes, roads_in_sets, strangers, empty_cells, unlike_roads, is_one_set


def _road_words(text: str) -> int:
    return sum(word in ROAD_WORDS for word in text.casefold().split())


def _sameness(condition: Condition) -> Condition:
    return replace(condition, condition_id=0, surface=condition.surface.casefold())


def _set_for(draft: Draft, name: str) -> tuple[Draft, int]:
    for known in draft.sets:
        if known.name.casefold() == name.casefold():
            return draft, known.set_id
    draft = draft.with_set(name)
    return draft, draft.sets[-1].set_id


def _condition_for(draft: Draft, condition: Condition) -> tuple[Draft, int]:
    for known in draft.conditions:
        if _sameness(known) == _sameness(condition):
            return draft, known.condition_id
    draft = draft.with_condition(condition)
    return draft, draft.conditions[-1].condition_id
