"""What the name of a recording says of how it was driven: speeds, manoeuvre, which run."""

import re
from dataclasses import dataclass, field

from ratings.study.sets import Manoeuvre

#: What a road is called in names of files: common practice, no source.
ROAD_WORDS = frozenset(
    {"asphalt", "belgian", "chip", "chips", "coarse", "cobble", "cobbles", "concrete", "dry"}
    | {"gravel", "joints", "patched", "road", "rough", "smooth", "surface", "wet"}
)
_SAID_BY_SPEED = frozenset({"kmh", "kph", "km", "h", "steady"})
_SPEED = re.compile(r"([1-9]\d{1,2})(?:kmh|kph|km)?", re.IGNORECASE)
_LOWEST_SPEED_KM_H, _HIGHEST_SPEED_KM_H = 20, 250
#: A run of several: ``run1`` and ``run_1``, ``r2``, or ``01`` at the end (common practice, no
#: source). Higher numbers are speeds or sizes of rims.
_RUN = re.compile(r"run0*([1-9]|1\d)|r0*([1-9])", re.IGNORECASE)
_RUN_APART = re.compile(r"(?<![^\W_])run[\s._-]+(?=0*[1-9](?![^\W_]))", re.IGNORECASE)
_LAST = re.compile(r"0([1-9])")
_GLUED = re.compile(r"([^\W\d_]+)(\d{2,3}(?:kmh|kph|km)?)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Driving:
    """What a name says about how its file was driven, beside the words that are left.

    Attributes
    ----------
    run
        Which of several runs it is; None where the name does not say. Files of the same driving
        that are only other runs are equal.
    """

    words: tuple[str, ...]
    manoeuvre: Manoeuvre
    speeds_km_h: tuple[int, ...]
    run: int | None = field(default=None, compare=False)


def driving(stem: str) -> Driving:
    """Read speeds and manoeuvre out of a file's name without its extension."""
    joined = _RUN_APART.sub("run", stem)
    plain = re.sub(r"coast[\s._-]*down|roll[\s._-]*down", " ", joined, flags=re.IGNORECASE)
    kept, speeds_km_h = [], []
    for word in _with_speed_apart([word for word in re.split(r"[\s._-]+", plain) if word]):
        speed_km_h = _speed_km_h(word)
        if speed_km_h is not None:
            speeds_km_h.append(speed_km_h)
        elif word.casefold() not in _SAID_BY_SPEED:
            kept.append(word)
    manoeuvre: Manoeuvre = "steady" if plain == joined else "coast-down"
    words, run = _without_run(kept)
    return Driving(words, manoeuvre, tuple(speeds_km_h), run)


def _without_run(words: list[str]) -> tuple[tuple[str, ...], int | None]:
    """Take out the word for a run; it stays where nothing else could name the set."""
    for place in reversed(range(1, len(words))):
        found = _RUN.fullmatch(words[place])
        if found is None and place == len(words) - 1:
            found = _LAST.fullmatch(words[place])
        others = (*words[:place], *words[place + 1 :])
        if found and any(word.casefold() not in ROAD_WORDS for word in others):
            return others, int(next(filter(None, found.groups())))
    return tuple(words), None


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
    roads = [place for place, parts in glued.items() if parts[0].casefold() in ROAD_WORDS]
    place = (roads or list(glued))[-1]
    return [*words[:place], *glued[place], *words[place + 1 :]]
