"""What an evaluator meets: pairs, sides, clips under blind codes."""

from dataclasses import dataclass
from typing import Literal

from ratings.study.sets import Manoeuvre

Side = Literal["A", "B"]
SIDES: tuple[Side, Side] = ("A", "B")
Origin = Literal["listened", "driven"]


def other_side(side: Side) -> Side:
    """Return the side that `side` is compared with."""
    return "B" if side == "A" else "A"


@dataclass(frozen=True, slots=True)
class Evaluator:
    """A person who rates. Tables and pages show the code; the name stays with the lead."""

    evaluator_id: int
    code: str
    name: str = ""


def name_key(name: str) -> str:
    """Return what is alike in all spellings of one person's name: no capitals, single spaces."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True, slots=True)
class BlindClip:
    """A clip as the evaluator's side may know it: a code, no origin and no level.

    How loud it is comes from the samples that are played, never from a table.

    Attributes
    ----------
    pa_per_full_scale
        Sound pressure in pascal of a sample of 1.0; None when the recording was not calibrated.
    """

    clip_id: int
    code: str
    content_hash: str
    sample_rate_hz: int
    frames: int
    pa_per_full_scale: float | None

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.frames / self.sample_rate_hz


@dataclass(frozen=True, slots=True)
class PlayedLevel:
    """How loud the clips of a session are played: one setting for both sides of every pair.

    Attributes
    ----------
    below_db
        How far below the recorded level; below the output's full level where that is not known.
    output_db
        Level at the ear of a full-scale sine; None when clips are not played at a known level.
    """

    below_db: float
    output_db: float | None = None

    def louder_db(self, before: "PlayedLevel") -> float | None:
        """Return how much louder the same clip is played than before, at the same volume.

        To a tenth of a decibel; None between a known and an unknown level.
        """
        louder_db = before.below_db - self.below_db
        if self.output_db is None or before.output_db is None:
            return round(louder_db, 1) if self.output_db is before.output_db else None
        return round(louder_db + before.output_db - self.output_db, 1)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two clips of one condition, heard back to back as side A and side B."""

    pair_id: int
    position: int
    condition_title: str
    manoeuvre: Manoeuvre
    clip_a: BlindClip
    clip_b: BlindClip

    def clip(self, side: Side) -> BlindClip:
        """Return the clip on `side`."""
        return self.clip_a if side == "A" else self.clip_b
