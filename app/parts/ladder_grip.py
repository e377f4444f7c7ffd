"""What a press, a move and a release on the rail ask for."""

from dataclasses import dataclass

from app.parts.score_rail import Marks, Rail
from ratings.study.listening import Side

GRAB_PX = 14.0
_STILL_PX = 4.0


@dataclass(frozen=True, slots=True)
class Grip:
    """A press that is still held.

    A press beside the marks places the sounding side's mark; a press on a mark drags that mark.
    A press on the other side's mark without a move still places the sounding side's mark there,
    so that equal scores can be given with the mouse.
    """

    side: Side
    pressed_px: float
    sounding: Side
    score: float
    has_moved: bool = False

    @property
    def outcome(self) -> tuple[Side, float]:
        """Side and score that a release asks for."""
        return (self.side if self.has_moved else self.sounding), self.score


def take_hold(rail: Rail, marks: Marks, sounding: Side, x_px: float) -> Grip:
    """Begin a press at a place on the rail."""
    side = mark_near(rail, marks, sounding, x_px)
    own = marks.of(sounding)
    if side == sounding and own is not None:
        # A press on one's own mark must not shift it by a step before the drag begins.
        return Grip(side, x_px, sounding, own)
    return Grip(side or sounding, x_px, sounding, rail.score_at(x_px))


def move(grip: Grip, rail: Rail, x_px: float) -> Grip:
    """Follow the mouse; the first few pixels still count as a press in place."""
    if not grip.has_moved and abs(x_px - grip.pressed_px) < _STILL_PX:
        return grip
    return Grip(grip.side, grip.pressed_px, grip.sounding, rail.score_at(x_px), has_moved=True)


def mark_near(rail: Rail, marks: Marks, sounding: Side, x_px: float) -> Side | None:
    """Return the side whose mark stands at a place, the sounding one first; None beside both."""
    distances: list[tuple[float, bool, Side]] = []
    sides: tuple[Side, Side] = ("A", "B")
    for side in sides:
        score = marks.of(side)
        if score is not None:
            # Between equal marks the sounding side's comes first.
            distances.append((abs(rail.position_px(score) - x_px), side != sounding, side))
    if not distances:
        return None
    distance, _, nearest = min(distances)
    return nearest if distance <= GRAB_PX else None
