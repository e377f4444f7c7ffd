"""What is odd about chosen recordings: what is told of it, and what the lead has to accept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ratings.errors import DoubtfulClipError, FullScaleError, RatingsError
from ratings.intake.how_recorded import HowRecorded, ears_in
from ratings.intake.study_draft import Cell, Draft
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts

_CHANNEL_WORDS = {1: "mono", 2: "stereo"}


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


@dataclass(frozen=True, slots=True)
class LevelProblem:
    """What was wrong with the levels when clips of a draft were to be cut."""

    draft: Draft
    problem: FullScaleError | DoubtfulClipError

    def is_of(self, draft: Draft) -> bool:
        """Tell whether the same clips would be cut of another draft."""
        return _what_is_cut(self.draft) == _what_is_cut(draft)

    @property
    def too_loud(self) -> FullScaleError | None:
        """By how much which recordings are too loud; None when they are not."""
        return self.problem if isinstance(self.problem, FullScaleError) else None

    @property
    def doubts(self) -> list[Concern]:
        """What is hardly right with the levels."""
        if isinstance(self.problem, FullScaleError):
            return []
        return [Concern(self.problem.what_happened, self.problem.what_to_do)]


def file_concerns(facts: Mapping[Cell, SoundFacts], how: HowRecorded) -> tuple[Concern, ...]:
    """Give what is odd about the files in their cells, what tells a set by itself first."""
    return (*_of_mono(facts, how), *_of_clipping(list(facts.values())))


def mono_beside_stereo(facts: Mapping[Cell, SoundFacts], how: HowRecorded) -> list[Cell]:
    """Give the cells of mono files in conditions in which others are heard with two ears."""
    if len(how.ears) == 1:
        return []
    wide = {cell[1] for cell, each in facts.items() if each.channels > 1}
    return [cell for cell, each in facts.items() if each.channels == 1 and cell[1] in wide]


def fact_words(facts: SoundFacts) -> str:
    """Say rate, channels and length, such as ``48 kHz stereo 9.4 s``, short enough for a cell."""
    channels = _CHANNEL_WORDS.get(facts.channels, f"{facts.channels} channels")
    decimals = 1 if facts.duration_s < 10 else 0
    return f"{facts.sample_rate_hz / 1000:g} kHz {channels} {facts.duration_s:.{decimals}f} s"


def cell_warning(facts: SoundFacts, how: HowRecorded, *, is_odd_mono: bool) -> str:
    """Say what is odd about a file that can be used, short enough for its cell."""
    odd = []
    if is_odd_mono:
        odd.append("mono, others stereo")
    if facts.clipped_samples:
        odd.append(f"full scale in {counted(facts.clipped_samples, 'sample')}")
    if lost_s := facts.lost_s(ears_in(facts, how)):
        odd.append(f"signal lost at {lost_s[0][0]:.2f} s")
    return "; ".join(odd)


def short_reason(problem: RatingsError, name: str) -> str:
    """Say why a file cannot be used, to stand under its name in a cell."""
    words = problem.what_happened.rstrip(".")
    for named in (f" of '{name}'", f"'{name}' ", f" '{name}'"):
        words = words.replace(named, "", 1)
    return words


def file_remarks(facts: Sequence[SoundFacts], how: HowRecorded) -> tuple[str, ...]:
    """Say what is odd about files that can be used, what many share first."""
    of_files = (words for each in facts for words in _of_file(each, how))
    return (*_of_rates(facts), *_of_channels(facts, how), *of_files)


def _of_rates(facts: Sequence[SoundFacts]) -> list[str]:
    from ratings.clips.sources import COMMON_RATE_HZ

    rates_hz = sorted({each.sample_rate_hz for each in facts})
    if len(rates_hz) < 2:
        return []
    named = " and ".join(f"{rate_hz / 1000:g}" for rate_hz in rates_hz)
    common = f"{COMMON_RATE_HZ / 1000:g} kHz"
    return [f"Sample rates differ ({named} kHz): each clip is brought to {common} once."]


def _of_channels(facts: Sequence[SoundFacts], how: HowRecorded) -> list[str]:
    """Say which channels are heard of files that have more than two, alike files in one line."""
    by_channels: dict[int, list[str]] = {}
    for each in facts:
        by_channels.setdefault(each.channels, []).append(each.name)
    heard = " and ".join(str(ear + 1) for ear in how.ears)
    verb = "is" if len(how.ears) == 1 else "are"
    return [
        f"{', '.join(names) if len(names) < 3 else counted(len(names), 'file')}: "
        f"of {channels} channels {heard} {verb} heard."
        for channels, names in by_channels.items()
        if channels > 2
    ]


def _of_file(facts: SoundFacts, how: HowRecorded) -> list[str]:
    remarks = []
    if facts.channels == 1:
        remarks.append(f"{facts.name} is mono: both ears hear the same.")
    if facts.clipped_samples:
        samples = counted(facts.clipped_samples, "sample")
        remarks.append(f"{facts.name} reaches full scale in {samples}: it may be clipped.")
    if lost_s := facts.lost_s(ears_in(facts, how)):
        remarks.append(
            f"{facts.name} loses its signal at {lost_s[0][0]:.2f} s: its clip is cut beside it if "
            "there is room."
        )
    if facts.is_lossy:
        remarks.append(f"{facts.name} was stored with loss ({facts.encoding}).")
    return remarks


def _what_is_cut(draft: Draft) -> object:
    return draft.files, draft.conditions, draft.recorded, draft.gain_db


def _of_mono(facts: Mapping[Cell, SoundFacts], how: HowRecorded) -> list[Concern]:
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


def _of_clipping(facts: list[SoundFacts]) -> list[Concern]:
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
