"""The 1-10 rail and the two marks on it, as plain numbers."""

import math
from dataclasses import dataclass, replace
from typing import Literal

from ratings.study.listening import Side

LOWEST = 1.0
HIGHEST = 10.0
BORDERLINE = 5.0

TickKind = Literal["step", "half", "borderline", "end"]


@dataclass(frozen=True, slots=True)
class Rail:
    """A rail from 1 to 10 between two places in pixels, divided by the step of the scale.

    The anchors follow SAE J1441: 10 nothing to hear, 5 borderline, 1 not acceptable.
    """

    left_px: float
    right_px: float
    step: float = 0.25

    def position_px(self, score: float) -> float:
        """Place of a score along the rail."""
        share = (score - LOWEST) / (HIGHEST - LOWEST)
        return self.left_px + share * (self.right_px - self.left_px)

    def score_at(self, x_px: float) -> float:
        """Score nearest to a place: on the step, and never off the rail."""
        share = (x_px - self.left_px) / (self.right_px - self.left_px)
        return on_step(LOWEST + share * (HIGHEST - LOWEST), self.step)

    def ticks(self) -> list[tuple[float, TickKind]]:
        """Scores that carry a tick; whole numbers no heavier than halves, to invite no rounding."""
        count = round((HIGHEST - LOWEST) / self.step)
        scores = [LOWEST + i * self.step for i in range(count + 1)]
        return [(score, _tick_kind(score)) for score in scores]


@dataclass(frozen=True, slots=True)
class Marks:
    """The scores of both sides on one ladder; None where no judgement was given."""

    a: float | None = None
    b: float | None = None

    def of(self, side: Side) -> float | None:
        """Score of one side."""
        return self.a if side == "A" else self.b

    def with_mark(self, side: Side, score: float | None) -> "Marks":
        """Give the same marks with one side's score changed."""
        return replace(self, a=score) if side == "A" else replace(self, b=score)

    @property
    def difference(self) -> float | None:
        """A minus B, or None until both sides are rated."""
        return None if self.a is None or self.b is None else self.a - self.b

    @property
    def better(self) -> Side | None:
        """Side with the higher score, None when equal or not rated."""
        if not self.difference:
            return None
        return "A" if self.difference > 0 else "B"


def on_step(score: float, step: float) -> float:
    """Bring a score onto the nearest step and between 1 and 10."""
    steps = math.floor((score - LOWEST) / step + 0.5)
    return min(max(LOWEST + steps * step, LOWEST), HIGHEST)


def score_text(score: float, step: float) -> str:
    """Score in figures, with as many decimals as the step has."""
    decimals = 0 if step % 1 == 0 else 1 if (step * 10) % 1 == 0 else 2
    return f"{score:.{decimals}f}"


def _tick_kind(score: float) -> TickKind:
    if score in {LOWEST, HIGHEST}:
        return "end"
    if score == BORDERLINE:
        return "borderline"
    return "half" if score % 0.5 == 0 else "step"
