"""A place in the grid of sets and conditions for each sound file, proposed by its name.

A name is cut into words at spaces, dots, hyphens and underscores. Speeds (``80``, ``80kmh``) and
``coast-down`` belong to the condition wherever they stand. The words that are left are split once,
in all files alike: the set in front and the surface behind it, or the other way round. Of all such
splits the one is proposed in which, in this order, no two files want the same cell, words of a
road are no part of a set, most files fit what the grid holds already, fewest cells stay empty, the
surfaces have fewest words that are no words of a road, there are two sets, and the set has the
fewest words; between equals the set stands in front.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from app.lead.new_study.draft import Draft
from ratings.study.sets import Condition, Manoeuvre

#: What a road is called in names of files: common practice, no source.
_ROAD_WORDS = frozenset(
    {"asphalt", "belgian", "chip", "chips", "coarse", "cobble", "cobbles", "concrete", "dry"}
    | {"gravel", "joints", "patched", "road", "rough", "smooth", "surface", "wet"}
)
_SAID_BY_SPEED = frozenset({"kmh", "kph", "km", "h", "steady"})
_SPEED = re.compile(r"([1-9]\d{1,2})(?:kmh|kph|km)?", re.IGNORECASE)
_LOWEST_SPEED_KM_H, _HIGHEST_SPEED_KM_H = 20, 250
_GLUED = re.compile(r"([^\W\d_]+)(\d{2,3}(?:kmh|kph|km)?)", re.IGNORECASE)
UNNAMED_SURFACE = "road"


@dataclass(frozen=True, slots=True)
class Driving:
    """What a name says about how its file was driven, beside the words that are left."""

    words: tuple[str, ...]
    manoeuvre: Manoeuvre
    speeds_km_h: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """The set and the condition that a file's name speaks of; the ids are not given yet."""

    path: Path
    set_name: str
    condition: Condition


@dataclass(frozen=True, slots=True)
class Spread:
    """A draft after files were spread over its grid, and the files that found no free cell."""

    draft: Draft
    left_over: tuple[Path, ...]


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
    left_over = []
    for proposal in propose(new, draft):
        draft, set_id = _set_for(draft, proposal.set_name)
        draft, condition_id = _condition_for(draft, proposal.condition)
        if draft.file_in((set_id, condition_id)) is None:
            draft = draft.with_file((set_id, condition_id), proposal.path)
        else:
            left_over.append(proposal.path)
    return Spread(draft, tuple(left_over))


def propose(paths: Sequence[Path], draft: Draft) -> tuple[Proposal, ...]:
    """Propose a set and a condition for each new file, with the draft's files as examples."""
    if not paths:
        return ()
    named = [driving(path.stem) for path in paths]
    longest = max(1, *(len(name.words) for name in named))
    splits = [_Split(words, behind) for words in range(1, longest + 1) for behind in (False, True)]

    def made_by(split: _Split) -> tuple[Proposal, ...]:
        return tuple(_proposal(path, name, split) for path, name in zip(paths, named, strict=True))

    return made_by(min(splits, key=lambda split: (*_cost(made_by(split), draft), split.set_words)))


def driving(stem: str) -> Driving:
    """Read speeds and manoeuvre out of a file's name without its extension."""
    plain = re.sub(r"coast[\s._-]*down|roll[\s._-]*down", " ", stem, flags=re.IGNORECASE)
    kept, speeds_km_h = [], []
    for word in _with_speed_apart([word for word in re.split(r"[\s._-]+", plain) if word]):
        speed_km_h = _speed_km_h(word)
        if speed_km_h is not None:
            speeds_km_h.append(speed_km_h)
        elif word.casefold() not in _SAID_BY_SPEED:
            kept.append(word)
    manoeuvre: Manoeuvre = "steady" if plain == stem else "coast-down"
    return Driving(tuple(kept), manoeuvre, tuple(speeds_km_h))


def _speed_km_h(word: str) -> int | None:
    speed = _SPEED.fullmatch(word)
    if speed and _LOWEST_SPEED_KM_H <= int(speed[1]) <= _HIGHEST_SPEED_KM_H:
        return int(speed[1])
    return None


def _with_speed_apart(words: list[str]) -> list[str]:
    """Part ``coarse80`` into ``coarse`` and ``80`` in a name that holds no speed of its own.

    Where several words end in such a number, a road's word goes before the name of a set.
    """
    if any(_speed_km_h(word) is not None for word in words):
        return words
    glued = {
        place: (parts[1], parts[2])
        for place, word in enumerate(words)
        if (parts := _GLUED.fullmatch(word)) and _speed_km_h(parts[2]) is not None
    }
    if not glued:
        return words
    roads = [place for place, parts in glued.items() if parts[0].casefold() in _ROAD_WORDS]
    place = (roads or list(glued))[-1]
    return [*words[:place], *glued[place], *words[place + 1 :]]


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
    return sum(word in _ROAD_WORDS for word in text.casefold().split())


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
