"""What the lead has to know of chosen recordings before they are used, and may accept."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ratings.errors import DoubtfulClipError, FullScaleError, RatingsError
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.study_draft import Cell, Draft
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts


@dataclass(frozen=True, slots=True)
class Concern:
    """One thing that can be accepted.

    Attributes
    ----------
    what_it_is
        With the files' names, so that accepting holds for these files only.
    what_to_do
        The other way out, beside accepting it.
    """

    what_it_is: str
    what_to_do: str


class LastCut:
    """What was wrong with the levels when clips were last to be cut, of these recordings only."""

    def __init__(self) -> None:
        self._cut: object = None
        self._problem: RatingsError | None = None

    def take(self, draft: Draft, problem: RatingsError) -> bool:
        """Remember a problem, and say whether it is one of levels."""
        if not isinstance(problem, FullScaleError | DoubtfulClipError):
            return False
        self._cut, self._problem = _what_is_cut(draft), problem
        return True

    def too_loud(self, draft: Draft) -> FullScaleError | None:
        """Give by how much which recordings are too loud; None when that is not known."""
        is_of_these = self._cut == _what_is_cut(draft)
        return self._problem if is_of_these and isinstance(self._problem, FullScaleError) else None

    def doubts(self, draft: Draft) -> list[Concern]:
        """Give what is hardly right with the levels."""
        problem = self._problem
        if self._cut != _what_is_cut(draft) or not isinstance(problem, DoubtfulClipError):
            return []
        return [Concern(problem.what_happened, problem.what_to_do)]


def file_concerns(facts: "Mapping[Cell, SoundFacts]", how: HowRecorded) -> tuple[Concern, ...]:
    """Give what is odd about the files in their cells, what tells a set by itself first."""
    return (*_of_mono(facts, how), *_of_clipping(list(facts.values())))


def mono_beside_stereo(facts: "Mapping[Cell, SoundFacts]", how: HowRecorded) -> list[Cell]:
    """Give the cells of mono files in conditions in which others are heard with two ears."""
    if len(how.ears) == 1:
        return []
    wide = {cell[1] for cell, each in facts.items() if each.channels > 1}
    return [cell for cell, each in facts.items() if each.channels == 1 and cell[1] in wide]


def _what_is_cut(draft: Draft) -> object:
    return draft.files, draft.conditions, draft.recorded, draft.gain_db


def _of_mono(facts: "Mapping[Cell, SoundFacts]", how: HowRecorded) -> list[Concern]:
    names = [facts[cell].name for cell in mono_beside_stereo(facts, how)]
    if not names:
        return []
    verb = "is mono" if len(names) == 1 else "are mono"
    return [
        Concern(
            f"{_listed(names)} {verb}, the others of the condition are stereo.",
            "Whoever listens hears which one it is. Choose stereo runs, or one channel for both "
            "ears under How it was recorded.",
        )
    ]


def _of_clipping(facts: "list[SoundFacts]") -> list[Concern]:
    clipped = [each for each in facts if each.clipped_samples]
    if not clipped:
        return []
    worst = max(clipped, key=lambda each: each.clipped_samples)
    many = counted(worst.clipped_samples, "sample")
    verb = "reaches" if len(clipped) == 1 else "reach"
    in_it = f"in {many}" if len(clipped) == 1 else f"the worst in {many}"
    return [
        Concern(
            f"{_listed([each.name for each in clipped])} {verb} full scale {in_it}.",
            "A clipped run sounds harsher than the tyre was. Choose another run, or accept it.",
        )
    ]


def _listed(names: list[str]) -> str:
    """Name the first ones, and count the others."""
    shown = names if len(names) <= 3 else names[:2]
    rest = len(names) - len(shown)
    return ", ".join(shown) + (f" and {rest} more" if rest else "")
