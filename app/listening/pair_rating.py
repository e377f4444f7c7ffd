"""What is done to the pair at hand: scores, notes, what was heard; one act after another."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QObject, Signal

from app.background.database import Act, Acts
from app.listening.attention import Attention
from app.listening.hearing import Hearing
from app.listening.hints import LEFT_OUT, hint_words, unattended_words
from app.listening.pair_form import NotYetError, PairForm
from app.listening.pair_player import PairPlayer
from app.listening.score_entry import ScoreEntry
from ratings.errors import RatingsError
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.attributes import Attribute
from ratings.study.listening import Side, other_side


class PairRating(QObject):
    """Lets a pair be heard and rated, the window living on while the disk is waited for.

    Acts keep the order in which they were asked for, and belong to the side that sounded then. What
    was meant for a pair that is not in sight any more when its turn comes is left out, and that is
    said: nothing is given to another pair.

    Attributes
    ----------
    form
        The pair at hand; None while there is none.
    has_left
        Whether it was put away; nothing is done any more.

    Signals
    -------
    answers_changed
        Scores, what is being typed, notes, the active attribute, or whether scores are taken.
    sound_changed
        Which side sounds, whether it plays, what was heard.
    problem_raised(RatingsError)
        Something could not be done; what was given is safe.
    """

    answers_changed = Signal()
    sound_changed = Signal()
    problem_raised = Signal(object)

    def __init__(
        self, desk: ListeningDesk, player: PairPlayer, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.desk = desk
        self.player = player
        self.form: PairForm | None = None
        self.has_left = False
        self._acts = Acts(self)
        #: Sides of the pair at hand whose hearing is being written down.
        self._being_marked: set[Side] = set()
        self.entry = ScoreEntry(desk.scale, self._give_typed, self)
        self.entry.changed.connect(self.answers_changed)
        self.entry.paused.connect(lambda: self._take(self.entry.settle_after_pause()))
        self.attention = Attention(player, self)
        self.attention.changed.connect(self.answers_changed)

    @property
    def is_last(self) -> bool:
        """Whether no pair is left after the one at hand; without others, it is not said."""
        return False

    @property
    def is_idle(self) -> bool:
        """Whether everything that was asked for is done."""
        return self._acts.is_idle

    @property
    def is_silent(self) -> bool:
        """Whether the pair at hand has no sound to play."""
        return self.form is not None and self.player.duration_s <= 0

    # The form

    def activate(self, place: int) -> None:
        """Let keys go to the attribute at this place."""
        self._take_on_pair(lambda form: self._activate(form, place - form.active), is_told=False)

    def step_attribute(self, steps: int) -> None:
        """Go on to the next attribute, or back; stay where what was typed is refused."""
        self._take_on_pair(lambda form: self._activate(form, steps))

    def _activate(self, form: PairForm, steps: int) -> Act[None]:
        if steps:
            yield from self.entry.settle()
            form.activate(form.active + steps)
            self.answers_changed.emit()

    def type_score(self, character: str) -> None:
        """Take a digit or a decimal mark for the side playing of the active attribute."""
        side = self.player.side
        self._take_on_pair(lambda form: self._type_score(form, character, side))

    def _type_score(self, form: PairForm, character: str, side: Side) -> Act[None]:
        self._refuse_unheard(form)
        yield from self.entry.press(character, form.attribute.key, side)

    def settle(self, then: Callable[[], None] = lambda: None, *, is_told: bool = False) -> None:
        """Let what is typed count, then do something, if the same pair is still in sight.

        Parameters
        ----------
        is_told
            Whether it is said that it was left out.
        """
        self._take_on_pair(lambda _form: self._settle(then), is_told=is_told)

    def in_turn(self, then: Callable[[], None]) -> None:
        """Do something after what was asked for before, if the same pair is still in sight."""
        self._take_on_pair(lambda _form: self._done(then))

    def _done(self, then: Callable[[], None]) -> Act[None]:
        then()
        yield from ()

    def _settle(self, then: Callable[[], None]) -> Act[None]:
        yield from self.entry.settle()
        then()

    def give(self, key: str, side: Side, value: float) -> None:
        """Score one side of an attribute."""

        def act(form: PairForm) -> Act[None]:
            typed = self.entry.typed
            if typed is not None and (typed.key, typed.side) == (key, side):
                self.entry.drop()
            yield from self._score(form, form.give(key, side, value))

        self._take_on_pair(act)

    def nudge(self, steps: int) -> None:
        """Move the score of the side playing of the active attribute."""
        side = self.player.side
        self._take_on_pair(
            lambda form: self._score(form, form.nudge(form.attribute.key, side, steps))
        )

    def say_equal(self, key: str | None = None) -> None:
        """Say that an attribute, or the active one, shows no difference."""
        side = self.player.side
        self._take_on_pair(
            lambda form: self._score(form, form.say_equal(key or form.attribute.key, side))
        )

    def take_back(self, key: str | None = None, side: Side | None = None) -> None:
        """Take the last change of a score back; first what is being typed.

        Without words, of the side playing and the active attribute.
        """
        chosen = side or self.player.side

        def act(form: PairForm) -> Act[None]:
            if self.entry.typed is not None:
                self.entry.rub_out()
                return
            last = form.take_back(key or form.attribute.key, chosen)
            yield from self._score(form, last)

        self._take_on_pair(act)

    def write_note(
        self, side: Side, text: str, answer: Callable[[bool], None] = lambda _is_kept: None
    ) -> None:
        """Keep a note about a side; the answer tells whether it is on the disk."""

        def act(form: PairForm) -> Act[None]:
            try:
                yield from self._change(form.write_note(side, text.strip()))
            except RatingsError:
                answer(False)  # the answer to a question
                raise
            answer(True)

        self._take_on_pair(act)

    def note(self, side: Side) -> str:
        """Return the note that stands for a side."""
        return "" if self.form is None else self.form.answers.notes.get(side, "")

    @property
    def attributes(self) -> tuple[Attribute, ...]:
        """What is rated for the pair at hand."""
        return () if self.form is None else self.form.attributes

    # What is heard

    def hear_other(self) -> None:
        """Play the other side from here, also when paused; not while a typed number is refused."""
        self.hear(other_side(self.player.side))

    def hear(self, side: Side) -> None:
        """Play a side from here, also when paused; the sound waits for no disk."""
        typed = self.entry.typed
        is_refused = typed is not None and self.entry.value_of(typed) is None
        self.settle()
        if self.form is not None and not is_refused:
            self.player.switch_to(side)
            if not self.player.is_playing:
                self.player.play()

    @property
    def hearing(self) -> Hearing | None:
        """What was heard of the pair at hand, and what is still missing; None without a pair."""
        return None if self.form is None else Hearing(self.form, self.player)

    def unheard_words(self) -> str:
        """Say what must be heard before scores are taken; empty when both sides were heard."""
        if self.is_silent:
            return "no sound to play"
        return "" if self.hearing is None else self.hearing.short_words()

    def hint(self) -> str:
        """Say the one thing to do next."""
        if self.form is None:
            return ""
        if self.attention.has_paused:
            return unattended_words()
        return hint_words(self.form, self.player, self.entry, is_last=self.is_last)

    def _on_state(self) -> None:
        self.attention.follow()
        typed = self.entry.typed
        if typed is not None and typed.side != self.player.side:
            self.settle()
        self.sound_changed.emit()

    def _on_heard(self) -> None:
        hearing = self.hearing
        if hearing is None:
            return
        for side in hearing.newly_heard():
            # While it waits for its turn the sound plays on.
            if side not in self._being_marked:
                self._being_marked.add(side)
                self._take_on_pair(partial(self._mark_heard, side), is_told=False)
        self.sound_changed.emit()

    def _mark_heard(self, side: Side, form: PairForm) -> Act[None]:
        try:
            yield from self._change(form.mark_heard(side))
        finally:
            self._being_marked.discard(side)

    # Acts, one after another

    def _take_on_pair(self, act: Callable[[PairForm], Act[None]], *, is_told: bool = True) -> None:
        """Do an act in its turn, if the pair now in sight is still in sight then.

        Parameters
        ----------
        is_told
            Whether it is said that an act was left out.
        """
        form = self.form

        def on_pair() -> Act[None]:
            if form is None:
                return
            if self.form is form:
                yield from act(form)
            elif is_told and self.form is not None:
                raise NotYetError(LEFT_OUT)

        self._take(on_pair())

    def _take(self, act: Act[None]) -> None:
        """Do an act in its turn; a refusal ends it, and is told."""

        def told() -> Act[None]:
            try:
                if not self.has_left:
                    yield from act
            except RatingsError as problem:
                self.problem_raised.emit(problem)

        self._acts.take(told())

    def _refuse_unheard(self, form: PairForm) -> None:
        """Take no scores before both sides were heard; say what must be heard."""
        if not form.is_heard:
            raise NotYetError(self.hint())

    def _score(self, form: PairForm, act: Act[None]) -> Act[None]:
        self._refuse_unheard(form)
        yield from self._change(act)

    def _change(self, act: Act[None]) -> Act[None]:
        yield from self.entry.settle()
        self.entry.forget()
        yield from act
        self.answers_changed.emit()

    def _give_typed(self, key: str, side: Side, value: float) -> Act[None]:
        form = self.form
        if form is None or (form.score_of(key, side) == value and not form.waits_for_equal(key)):
            return
        self.entry.forget()
        yield from form.give(key, side, value)
        self.answers_changed.emit()
