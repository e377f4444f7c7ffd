"""Words of a table looked up among what is in a study, refused where they could mean two things."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from ratings.errors import ScoreTableError


@dataclass(frozen=True, slots=True)
class Words:
    """How a table may call the things of one kind; capitals and spaces do not matter.

    Attributes
    ----------
    kind, own_kind
        What the things are called, and what the study writes for them: ``set`` and ``code``.
    own
        What the study writes in its own tables, by id: the codes of sets, the keys of attributes.
    names
        What people call them, by id.
    """

    kind: str
    own_kind: str
    own: Mapping[int, str]
    names: Mapping[int, str] = field(default_factory=dict)

    def look_up(self, words: Iterable[object]) -> FoundWords:
        """Look up every word of a table's column; None stands for a column that is not there.

        What the study itself writes goes first: in a column that holds nothing else, a word is a
        code even if some set bears it as its name. In a column with names in it such a word may
        mean either, and is told as doubtful.
        """
        own = {word: self._own(word) for word in words}
        is_own = all(own.values())
        ids: dict[object, int] = {}
        doubtful = set()
        for word, by_own in own.items():
            meant = by_own if is_own else by_own | _alike(word, self.names)
            if len(meant) == 1:
                ids[word] = next(iter(meant))
            elif meant:
                doubtful.add(word)
        return FoundWords(self, ids, frozenset(doubtful), is_own)

    def _own(self, word: object) -> frozenset[int]:
        if word is None:
            return frozenset(self.own) if len(self.own) == 1 else frozenset()
        alike = _alike(word, self.own)
        # What the study writes may differ in capitals alone, and is then written with them.
        exactly = frozenset(i for i in alike if _spaced(self.own[i]) == _spaced(word))
        return exactly or alike


@dataclass(frozen=True, slots=True)
class FoundWords:
    """What the words of one column mean.

    Attributes
    ----------
    ids
        By word, those that mean one thing.
    doubtful
        Words that could mean several.
    is_own
        Whether the study itself writes all of them so.
    """

    words: Words
    ids: Mapping[object, int]
    doubtful: frozenset[object]
    is_own: bool = True

    def id_of(self, word: object, where: str) -> int:
        """Return what a word means.

        Raises
        ------
        ScoreTableError
            When it is not in the study, or could mean several things; `where` names the cell.
        """
        if word in self.ids:
            return self.ids[word]
        known = "; ".join(sorted(set(self.words.own.values())))
        if word in self.doubtful:
            raise ScoreTableError(
                f'{where}: "{word}" may mean more than one {self.words.kind} of the study.',
                f"Write the {self.words.own_kind} as the study does in every row, one of: {known}. "
                "Nothing was added.",
            )
        raise ScoreTableError(
            f"{where}: {'nothing' if word is None else word} is not in the study.",
            f"Write one of: {known}. Nothing was added.",
        )


def _alike(word: object, told: Mapping[int, str]) -> frozenset[int]:
    if word is None:
        return frozenset()
    plain = _spaced(word).casefold()
    return frozenset(i for i, own in told.items() if _spaced(own).casefold() == plain)


def _spaced(word: object) -> str:
    return " ".join(str(word).split())
