"""The form of one pair: which attribute is being rated, and what has been given."""

from collections.abc import Iterator
from contextlib import contextmanager

from app.background.database import Act
from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, UnheardError
from ratings.storage.listening_rows import PairAnswers
from ratings.study.attributes import Attribute
from ratings.study.listening import SIDES, Pair, Side, other_side
from ratings.study.score_trail import Given


class NotYetError(StudyError):
    """An act that comes too early; nothing is wrong, and nothing was changed."""


class PairForm:
    """What an evaluator does to the scores of one pair.

    Every act is on the disk before the form shows it: it stops while the worker writes. A refusal
    is raised in it as a RatingsError and leaves the form as it was.

    Attributes
    ----------
    pair, attributes, answers
    active
        Place of the attribute that keys go to.
    """

    def __init__(self, desk: ListeningDesk, pair: Pair, answers: PairAnswers) -> None:
        self._desk = desk
        self.pair = pair
        self.attributes = desk.attributes_of(pair)
        self.answers = answers
        self.active = 0
        #: Attributes whose next score counts for both sides.
        self._equal_waiting: set[str] = set()
        first = self.first_missing()
        if first is not None:
            self.active = first

    @property
    def attribute(self) -> Attribute:
        """The attribute that keys go to."""
        return self.attributes[self.active]

    @property
    def is_heard(self) -> bool:
        """Whether both sides have been heard, so that scores are taken."""
        return self.answers.heard.issuperset(SIDES)

    def waits_for_equal(self, key: str) -> bool:
        """Whether "no difference" was said and the score for both sides is still to come."""
        return key in self._equal_waiting

    def score_of(self, key: str, side: Side) -> float | None:
        """Return the score that stands, or None."""
        return self.answers.scores.get(key, {}).get(side)

    def first_missing(self) -> int | None:
        """Return the place of the first attribute without both scores; None when complete."""
        for place, attribute in enumerate(self.attributes):
            if any(self.score_of(attribute.key, side) is None for side in SIDES):
                return place
        return None

    def activate(self, place: int) -> None:
        """Let keys go to another attribute."""
        self.active = place % len(self.attributes)

    def give(self, key: str, side: Side, value: float) -> Act[None]:
        """Score one side; both after "no difference" was said without a score."""
        value = self._desk.scale.nearest(value)
        if self.waits_for_equal(key):
            yield from self._record(key, {"A": value, "B": value}, said_equal=True)
            self._equal_waiting.discard(key)
        else:
            yield from self._record(key, {side: value})

    def nudge(self, key: str, side: Side, steps: int) -> Act[None]:
        """Move a score by steps of the scale; it stays inside."""
        score = self.score_of(key, side)
        if score is None:
            raise NotYetError(
                f"Side {side} has no score to move yet.", "Give one with a digit or on the rail."
            )
        moved = self._desk.scale.nearest(score + steps * self._desk.scale.step)
        if moved != score:
            yield from self._record(key, {side: moved})

    def say_equal(self, key: str, sounding: Side) -> Act[None]:
        """Say that there is no difference: both sides get the score that stands.

        The sounding side's score goes before the other's. Without any, the next score counts for
        both.
        """
        score = self.score_of(key, sounding)
        if score is None:
            score = self.score_of(key, other_side(sounding))
        if score is not None:
            if key not in self.answers.said_equal:
                yield from self._record(key, {"A": score, "B": score}, said_equal=True)
        elif key in self._equal_waiting:
            self._equal_waiting.discard(key)
        else:
            self._refuse_unheard()
            self._equal_waiting.add(key)

    def take_back(self, key: str, side: Side) -> Act[None]:
        """Take the last score of a side back: what stood before it stands again, or nothing.

        Both sides go back together where both were scored in one act, by "no difference".
        """
        self._equal_waiting.discard(key)
        trails = {each: self.answers.trails[key, each] for each in SIDES}
        last, before = trails[side].last, trails[side].before
        if before is None:
            return
        values: dict[Side, float | None] = {side: before.value}
        other = trails[other_side(side)]
        if before.said_equal:
            values[other_side(side)] = before.value
        elif last.said_equal and other.last.act == last.act and other.before is not None:
            values[other_side(side)] = other.before.value
        yield from self._record(key, values, said_equal=before.said_equal)

    def write_note(self, side: Side, text: str) -> Act[None]:
        """Keep a note about one side."""
        yield lambda: self._desk.record_note(self.pair.pair_id, side, text)
        self.answers.notes[side] = text

    def mark_heard(self, side: Side) -> Act[None]:
        """Keep that a side has been heard for long enough."""
        if side not in self.answers.heard:
            yield lambda: self._desk.record_heard(self.pair.pair_id, side)
            self.answers.heard.add(side)

    def lock(self) -> Act[None]:
        """Close the pair for good."""
        with self._in_step():
            yield lambda: self._desk.lock(self.pair.pair_id)
        self.answers.is_locked = True

    @contextmanager
    def _in_step(self) -> Iterator[None]:
        """Ask for both sides again where another window has opened the pair at another level."""
        try:
            yield
        except UnheardError:
            self.answers.heard.clear()
            raise

    def _record(
        self, key: str, values: dict[Side, float | None], *, said_equal: bool = False
    ) -> Act[None]:
        self._refuse_unheard()
        with self._in_step():
            now = yield lambda: self._desk.record_scores(
                self.pair.pair_id, key, values, said_equal=said_equal
            )
        for side, value in values.items():
            self.answers.take_score(key, side, Given(value, said_equal, now))

    def _refuse_unheard(self) -> None:
        for side in SIDES:
            if side not in self.answers.heard:
                raise NotYetError(
                    f"Side {side} has not been heard yet.",
                    "Space changes sides.",
                )
