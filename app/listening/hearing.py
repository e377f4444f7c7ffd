"""When a side counts as heard, and what is still missing: one rule, and its words."""

import math

import numpy as np

from app.listening.pair_form import PairForm
from app.listening.pair_player import PairPlayer
from app.parts.sides import longer_words
from app.playback.mix import BIN_S
from ratings.study.listening import SIDES, Side

#: How much of a steady sound must have been heard, in seconds, in one go or in pieces: our
#: judgement.
HEARD_ENOUGH_S = 3.0
#: What counts as the whole of a coast-down, and of a clip shorter than that: the bins at its ends
#: may be cut by a fade.
WHOLE_CLIP_SHARE = 0.95


class Hearing:
    """What was heard of a pair, and what must still be heard before scores are taken."""

    def __init__(self, form: PairForm, player: PairPlayer) -> None:
        self._form = form
        self._player = player
        #: A coast-down is one event: it must be heard from start to end.
        self._needs_whole = form.pair.manoeuvre == "coast-down"

    def missing_s(self, side: Side) -> float:
        """Return how much longer a side must be heard, in seconds; 0 when it was heard enough."""
        if side in self._form.answers.heard:
            return 0.0
        return max(self._enough_s(side) - self._player.coverage(side).heard_s, 0.0)

    def newly_heard(self) -> list[Side]:
        """Return the sides that have been heard enough, and are not marked so yet."""
        return [
            side
            for side in self._missing_sides()
            if self._player.coverage(side).heard_s > 0 and self.missing_s(side) == 0
        ]

    def unheard_stretches(self) -> tuple[Side, list[tuple[float, float]]] | None:
        """Return a side that must be heard, and its stretches not heard yet in seconds.

        The side playing goes first; None when both were heard.
        """
        missing = self._missing_sides()
        if not missing:
            return None
        side = self._player.side if self._player.side in missing else missing[0]
        return side, self._unheard_of(side)

    def short_words(self) -> str:
        """Say in a few words what must be heard; nothing when both sides were heard."""
        missing = self._missing_sides()
        if len(missing) == 2:
            return "listen to both sides first"
        return longer_words(missing[0], self.missing_s(missing[0])) if missing else ""

    def sentence(self) -> str:
        """Say what must be heard, by which rule; nothing when both sides were heard."""
        missing = self._missing_sides()
        if len(missing) == 2:
            return f"{self._rule()} {'Space changes sides.'}"
        if not missing:
            return ""
        words = self.short_words()
        told = f"{words[:1].upper() + words[1:]}, then score."
        stretches = self._unheard_of(missing[0])
        if self._needs_whole and stretches:
            where = ", ".join(f"{start:.1f}-{stop:.1f} s" for start, stop in stretches[:3])
            told += " " + f"Not heard: {where}."
        return told

    def _rule(self) -> str:
        if self._needs_whole:
            return "Listen to each side from start to end (95 %), in one go or in pieces."
        enough_s = math.ceil(max(map(self._enough_s, SIDES)))
        return f"Listen to each side for {enough_s} s, in one go or in pieces."

    def _enough_s(self, side: Side) -> float:
        whole_s = WHOLE_CLIP_SHARE * self._player.coverage(side).total_s
        return whole_s if self._needs_whole else min(HEARD_ENOUGH_S, whole_s)

    def _missing_sides(self) -> list[Side]:
        return [side for side in SIDES if side not in self._form.answers.heard]

    def _unheard_of(self, side: Side) -> list[tuple[float, float]]:
        coverage = self._player.coverage(side)
        is_heard = np.concatenate(([True], coverage.bins > 0, [True]))
        starts = np.flatnonzero(is_heard[:-1] & ~is_heard[1:])
        stops = np.flatnonzero(~is_heard[:-1] & is_heard[1:])
        return [
            (float(start * BIN_S), min(float(stop * BIN_S), coverage.total_s))
            for start, stop in zip(starts, stops, strict=True)
        ]
