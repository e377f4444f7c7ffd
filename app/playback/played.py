"""How long each side of a pair was really played, taken piece by piece."""

from typing import Protocol

from ratings.study.listening import SIDES, Side


class CountsPlaying(Protocol):
    """A player that counts what it has mixed since the pair was loaded."""

    def played_s(self, side: Side) -> float: ...  # noqa: D102


class PlayedCount:
    """Hands out what was played of each side, every moment of it once.

    The count is that of the frames which the sound process has handed to the device: a pause, a
    missing device and a stalled one add nothing.
    """

    def __init__(self, player: CountsPlaying) -> None:
        self._player = player
        self._taken_s: dict[Side, float] = dict.fromkeys(SIDES, 0.0)

    def begin(self) -> None:
        """Start with a pair that was just loaded."""
        self._taken_s = dict.fromkeys(SIDES, 0.0)

    def take(self) -> dict[Side, float]:
        """Return the seconds played of each side since the last taking; silent sides are left out.

        To be asked once more before a pair is unloaded: its count goes with it.
        """
        pieces: dict[Side, float] = {}
        for side in SIDES:
            played_s = self._player.played_s(side)
            if played_s > self._taken_s[side]:
                pieces[side] = played_s - self._taken_s[side]
                self._taken_s[side] = played_s
        return pieces
