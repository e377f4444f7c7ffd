"""The state of a listening session and what it says, without a window."""

import weakref
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from app.evaluator.open_twice import both_count, holder_words
from app.evaluator.session_hints import hint_words, no_set_aside, score_missing, unattended_words
from app.listening.attention import Attention
from app.listening.exposure_keeper import ExposureKeeper
from app.listening.exposure_words import (
    dose_words,
    full_notice,
    half_notice,
    passed_words,
    to_come_words,
    today_words,
)
from app.listening.hearing import Hearing
from app.listening.level_change import hear_again, level_change
from app.listening.pair_form import NotYetError, PairForm
from app.listening.pair_player import PairPlayer
from app.listening.pair_sound import SessionSound
from app.listening.score_entry import ScoreEntry
from ratings.errors import RatingsError, StudyError
from ratings.storage.listening_desk import ListeningDesk
from ratings.storage.seat_leases import SeatLease, take_seat
from ratings.study.attributes import Attribute
from ratings.study.listening import Pair, Side, other_side


class SessionPresenter(QObject):
    """Leads an evaluator through the pairs of a session.

    Signals
    -------
    pair_changed
        Another pair is at hand, or a break, a request to stop, or the end.
    answers_changed
        Scores, what is being typed, notes, the active attribute, or whether scores are taken.
    sound_changed
        Which side sounds, whether it plays, what was heard.
    moved
        The shared position.
    problem_raised(RatingsError)
        Something could not be done; what was given is safe.
    problem_cleared
        The sound device is back.
    exposure_changed
        More was played; to be shown where no pair is at hand.
    """

    pair_changed = Signal()
    answers_changed = Signal()
    sound_changed = Signal()
    moved = Signal()
    problem_raised = Signal(object)
    problem_cleared = Signal()
    exposure_changed = Signal()

    def __init__(
        self,
        desk: ListeningDesk,
        player: PairPlayer,
        sound: SessionSound | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.desk = desk
        self.player = player
        self._sound = SessionSound(desk) if sound is None else sound
        self._answers = desk.answers()
        self.form: PairForm | None = None
        self.is_resting = False
        self.is_asked_to_stop = False
        self.exposure = ExposureKeeper(desk, player, self, self._sound.level_db_a)
        self.exposure.changed.connect(self._on_exposure)
        self.exposure.problem_raised.connect(self.problem_raised)
        # A notice is told when its mark is passed, not at every opening after it.
        self._is_half_told = self.exposure.today.is_half
        self._is_full_told = self._may_pass_full = False
        self._aside: set[int] = set()
        self._lease: SeatLease | None = None
        self._is_saving = False
        self._level_sentence = ""
        self.entry = ScoreEntry(desk.scale, self._give_typed, self.problem_raised.emit, self)
        self.entry.changed.connect(self.answers_changed)
        self.attention = Attention(player, self)
        self.attention.changed.connect(self.answers_changed)
        player.state_changed.connect(self._on_state)
        player.moved.connect(self.moved)
        player.heard_changed.connect(self._on_heard)
        player.trouble_raised.connect(self.problem_raised)
        player.trouble_cleared.connect(self.problem_cleared)
        player.set_looping(True)

    # The way through the session

    @property
    def pair_count(self) -> int:
        """How many pairs the session has."""
        return len(self.desk.pairs)

    @property
    def locked_count(self) -> int:
        """How many pairs are closed."""
        return sum(answers.is_locked for answers in self._answers.values())

    @property
    def is_finished(self) -> bool:
        """Whether every pair is closed."""
        return self.locked_count == self.pair_count

    @property
    def aside_count(self) -> int:
        """How many pairs were set aside because their sound could not be played."""
        return len(self._aside)

    @property
    def is_last(self) -> bool:
        """Whether no pair is left after the one at hand but those that were set aside."""
        return self.locked_count + self.aside_count + 1 == self.pair_count

    def locked_positions(self) -> list[int]:
        """Return the numbers of the pairs that are closed, from 1."""
        return [p.position for p in self.desk.pairs if self._answers[p.pair_id].is_locked]

    def aside_positions(self) -> list[int]:
        """Return the numbers of the pairs that were set aside, from 1."""
        return [p.position for p in self.desk.pairs if p.pair_id in self._aside]

    @property
    def is_over(self) -> bool:
        """Whether there is no pair left to rate now."""
        return self.form is None and not self.is_resting and not self.is_asked_to_stop

    @property
    def is_silent(self) -> bool:
        """Whether the pair at hand has no sound to play."""
        return self.form is not None and self.player.duration_s <= 0

    @property
    def minutes_left(self) -> float | None:
        """Estimate of the time left; None while the study cannot be read."""
        try:
            return self.desk.seconds_left() / 60
        except RatingsError:
            return None

    def begin(self) -> None:
        """Take the session up where it was left; at its break, if that was only just due."""
        self._lease = take_seat(self.desk.study, self.desk.session_id)
        weakref.finalize(self, self._lease.release)
        self.is_resting = self.desk.break_is_due(self._answers)
        if self.is_resting:
            self.pair_changed.emit()
        else:
            self._come_back()
        if self._lease.other is not None:
            told = f"This seat is {holder_words(self._lease.other)}."
            self.problem_raised.emit(StudyError(told, both_count()))

    def leave(self) -> None:
        """Put the session away; everything given is on the disk."""
        self.entry.settle()
        if self._lease is not None:
            self._lease.release()
        self._try(self.exposure.close)
        self.player.unload()
        for signal, slot in (
            (self.player.state_changed, self._on_state),
            (self.player.moved, self.moved),
            (self.player.heard_changed, self._on_heard),
            (self.player.trouble_raised, self.problem_raised),
            (self.player.trouble_cleared, self.problem_cleared),
        ):
            signal.disconnect(slot)

    def go_on(self) -> None:
        """Close the pair at hand and come to the next one, or to a break."""
        form = self.form
        if form is None or not self.entry.settle():
            return
        # The same seat may be open in another window, which has closed the pair already.
        if not self._is_closed(form.pair):
            if not self._takes_scores():
                return
            missing = form.first_missing()
            if missing is not None:
                form.activate(missing)
                self.answers_changed.emit()
                self.problem_raised.emit(score_missing(form))
                return
            if not self._try(form.lock):
                return
        self._answers[form.pair.pair_id].is_locked = True
        self.exposure.end()
        self.player.unload()
        self.form = None
        self.is_resting = form.pair.position in self.desk.breaks and not self.is_finished
        if self.is_resting:
            self.pair_changed.emit()
        else:
            self._come_to_next()

    def set_aside(self) -> None:
        """Leave a pair that cannot be played open, and come to the next; it comes again later."""
        if self.form is not None and self.is_silent:
            self._aside.add(self.form.pair.pair_id)
            self.form = None
            self._come_to_next()
        elif self.form is not None:
            self.problem_raised.emit(no_set_aside(self.player))

    def take_up_aside(self) -> None:
        """Come back to the pairs that were set aside, now; the one at hand stays open."""
        if self._aside and self.entry.settle():
            self._aside.clear()
            self._come_to_next()

    def end_rest(self) -> None:
        """Come back from a break."""
        following = self._next_pair()
        if self.is_resting and following is not None:
            self._try(lambda: self.desk.record_rested(following.pair_id))
            self.is_resting = False
            self._come_back()

    def pass_full_dose(self) -> None:
        """Go on although a full day's dose is reached; asked once in each opening."""
        if self.is_asked_to_stop:
            self.is_asked_to_stop = False
            self._may_pass_full = True
            self._come_back()

    def _come_back(self) -> None:
        """Go on after ears have rested, and headphones were off: the sound rises slowly."""
        self.player.rise_slowly()
        self._come_to_next()

    def _next_pair(self) -> Pair | None:
        for pair in self.desk.pairs:
            if not self._answers[pair.pair_id].is_locked and pair.pair_id not in self._aside:
                return pair
        return None

    def _come_to_next(self) -> None:
        pair = self._next_pair()
        if pair is None:
            self.form = None
            self.pair_changed.emit()
            return
        if self.exposure.today.is_full and not self._may_pass_full:
            self.form = None
            self.is_asked_to_stop = self._is_full_told = True
            self.pair_changed.emit()
            return
        self.form = PairForm(self.desk, pair, self._answers[pair.pair_id])
        problem = self._load_if_possible(pair)
        # What is wrong with the pair is said once the pair is in sight.
        self.pair_changed.emit()
        if self.player.duration_s > 0:
            self.player.play()
            problem = problem or self.player.trouble
        if problem is not None:
            self.problem_raised.emit(problem)
        elif self.exposure.today.is_half and not self._is_half_told:
            self._is_half_told = True
            self.problem_raised.emit(half_notice())

    def _load_if_possible(self, pair: Pair) -> RatingsError | None:
        level, answers = self._sound.level, self._answers[pair.pair_id]
        before = answers.level
        try:
            self._load(pair)
            must_hear_again = answers.open_at(level)
            # After the sound: a busy disk must not leave the pair silent.
            self.desk.record_opened(pair.pair_id, level)
        except RatingsError as problem:
            return problem
        if before is not None and must_hear_again:
            return hear_again(level.louder_db(before))
        return None

    def _load(self, pair: Pair) -> None:
        self.exposure.end()
        self.player.unload()
        sound = self._sound.read(pair)
        self.player.load(sound.loaded)
        self.exposure.begin(pair, sound.levels_db_a)
        self.player.switch_to("A")
        self._level_sentence = sound.level_sentence

    # The sound of the day

    def level_words(self) -> str:
        """Say how loud the pair at hand is played, also beside those before."""
        change = level_change(self.desk.pairs, self._answers, self._sound.level)
        sentences = [self._level_sentence, "" if change is None else change.words()]
        if self.exposure.today.is_full:
            sentences.append(passed_words())
        return " ".join(filter(None, sentences))

    def exposure_words(self) -> str:
        """Say what was played today and what is still to come; not for while a pair is judged."""
        today = self.exposure.today
        sentences = [today_words(today)]
        minutes = None if self.is_over else self.minutes_left
        if minutes is not None and not self.is_asked_to_stop:
            sentences.append(to_come_words(today, minutes * 60, self._sound.level_db_a()))
        if not self.is_asked_to_stop:
            sentences.append(dose_words(today))
        return "\n".join(filter(None, sentences))

    def _on_exposure(self) -> None:
        self.exposure_changed.emit()
        if self.exposure.today.is_full and not self._is_full_told and self.form is not None:
            self._is_full_told = True
            self.problem_raised.emit(full_notice())

    # The form

    def activate(self, place: int) -> None:
        """Let keys go to the attribute at this place."""
        if self.form is not None and place != self.form.active and self.entry.settle():
            self.form.activate(place)
            self.answers_changed.emit()

    def step_attribute(self, steps: int) -> None:
        """Go on to the next attribute, or back; stay where what was typed is refused."""
        if self.form is not None and self.entry.settle():
            self.form.activate(self.form.active + steps)
            self.answers_changed.emit()

    def type_score(self, character: str) -> None:
        """Take a digit or a decimal mark for the side playing of the active attribute."""
        form = self.form
        if form is not None and self._takes_scores():
            self.entry.press(character, form.attribute.key, self.player.side)

    def confirm(self) -> None:
        """Let the number that is being typed count; without one, go on to the next pair."""
        if self.entry.typed is None:
            self.go_on()
        else:
            self.entry.settle()

    def give(self, key: str, side: Side, value: float) -> None:
        """Score one side of an attribute."""
        typed = self.entry.typed
        if typed is not None and (typed.key, typed.side) == (key, side):
            self.entry.drop()
        self._score(lambda form: form.give(key, side, value))

    def nudge(self, steps: int) -> None:
        """Move the score of the side playing of the active attribute."""
        self._score(lambda form: form.nudge(form.attribute.key, self.player.side, steps))

    def say_equal(self, key: str | None = None) -> None:
        """Say that an attribute, or the active one, shows no difference."""
        self._score(lambda form: form.say_equal(key or form.attribute.key, self.player.side))

    def take_back(self, key: str | None = None, side: Side | None = None) -> None:
        """Take the last change of a score back; first what is being typed.

        Without words, of the side playing and the active attribute.
        """
        if self.entry.typed is not None:
            self.entry.rub_out()
            return
        self._score(
            lambda form: form.take_back(key or form.attribute.key, side or self.player.side)
        )

    def write_note(self, side: Side, text: str) -> bool:
        """Keep a note about a side; tell whether it is on the disk."""
        return self._change(lambda form: form.write_note(side, text.strip()))

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
        """Play a side from here, also when paused."""
        if self.entry.settle():
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

    def _is_closed(self, pair: Pair) -> bool:
        try:
            return self.desk.answers()[pair.pair_id].is_locked
        except RatingsError:
            return False

    def _takes_scores(self) -> bool:
        """Tell whether scores are taken now; if not, say what must be heard."""
        form = self.form
        if form is None or form.is_heard:
            return form is not None
        self.problem_raised.emit(NotYetError(self.hint()))
        return False

    def _score(self, act: Callable[[PairForm], None]) -> None:
        if self._takes_scores():
            self._change(act)

    def _change(self, act: Callable[[PairForm], None]) -> bool:
        form = self.form
        if form is None or not self.entry.settle():
            return False
        self.entry.forget()
        if not self._try(lambda: act(form)):
            return False
        self.answers_changed.emit()
        return True

    def _give_typed(self, key: str, side: Side, value: float) -> bool:
        form = self.form
        if form is None or (form.score_of(key, side) == value and not form.waits_for_equal(key)):
            return True
        return self._change(lambda form: form.give(key, side, value))

    def _on_state(self) -> None:
        self.attention.follow()
        typed = self.entry.typed
        if typed is not None and typed.side != self.player.side:
            self.entry.settle()
        self.sound_changed.emit()

    def _on_heard(self) -> None:
        hearing = self.hearing
        if hearing is None:
            return
        # While a write waits for its turn the sound plays on: what it adds is looked at again then.
        for side in () if self._is_saving else hearing.newly_heard():
            self._change(lambda form, side=side: form.mark_heard(side))  # type: ignore[misc]
        self.sound_changed.emit()

    def _try(self, act: Callable[[], None]) -> bool:
        was_saving, self._is_saving = self._is_saving, True
        try:
            act()
        except RatingsError as problem:
            self.problem_raised.emit(problem)
            return False
        finally:
            self._is_saving = was_saving
        return True
