"""The state of a listening session and what it says, without a window."""

import math
from collections.abc import Callable
from typing import Protocol

from PySide6.QtCore import QObject, Signal, SignalInstance

from app.evaluator.exposure_keeper import ExposureKeeper
from app.evaluator.exposure_words import (
    dose_words,
    full_notice,
    half_notice,
    to_come_words,
    today_words,
)
from app.evaluator.pair_form import NotYetError, PairForm
from app.evaluator.pair_sound import SessionSound
from app.playback.pair import LoadedPair
from app.playback.player import Coverage
from ratings.errors import RatingsError
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.attributes import Attribute
from ratings.study.listening import SIDES, Pair, Side

#: How much of a side must have sounded before it counts as heard, in seconds: our judgement.
HEARD_ENOUGH_S = 3.0
#: What counts as the whole clip: the bins at its ends may be cut by a fade.
WHOLE_CLIP_SHARE = 0.95


class PairPlayer(Protocol):
    """What a session needs of the player."""

    state_changed: SignalInstance
    moved: SignalInstance
    heard_changed: SignalInstance
    trouble_raised: SignalInstance
    trouble_cleared: SignalInstance

    @property
    def side(self) -> Side: ...  # noqa: D102
    @property
    def is_playing(self) -> bool: ...  # noqa: D102
    @property
    def is_looping(self) -> bool: ...  # noqa: D102
    @property
    def position_s(self) -> float: ...  # noqa: D102
    @property
    def duration_s(self) -> float: ...  # noqa: D102
    @property
    def trouble(self) -> RatingsError | None: ...  # noqa: D102
    def load(self, pair: LoadedPair) -> None: ...  # noqa: D102
    def unload(self) -> None: ...  # noqa: D102
    def rise_slowly(self) -> None: ...  # noqa: D102
    def play(self) -> None: ...  # noqa: D102
    def pause(self) -> None: ...  # noqa: D102
    def toggle_play(self) -> None: ...  # noqa: D102
    def switch(self) -> None: ...  # noqa: D102
    def switch_to(self, side: Side) -> None: ...  # noqa: D102
    def seek(self, seconds: float) -> None: ...  # noqa: D102
    def set_looping(self, is_looping: bool) -> None: ...  # noqa: D102
    def coverage(self, side: Side) -> Coverage: ...  # noqa: D102
    def played_s(self, side: Side) -> float: ...  # noqa: D102


class SessionPresenter(QObject):
    """Leads an evaluator through the pairs of a session.

    Signals
    -------
    pair_changed
        Another pair is at hand, or a break, a request to stop, or the end.
    answers_changed
        Scores, notes, the active attribute, or whether scores are taken.
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
        self.exposure = ExposureKeeper(desk, player, self)
        self.exposure.changed.connect(self._on_exposure)
        self.exposure.problem_raised.connect(self.problem_raised)
        # A notice is told when its mark is passed, not at every opening after it.
        self._is_half_told = self.exposure.today.is_half
        self._is_full_told = self._may_pass_full = False
        self._aside: set[int] = set()
        self.level_sentence = ""
        player.state_changed.connect(self.sound_changed)
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
        self.player.rise_slowly()
        self.is_resting = self.desk.break_is_due(self._answers)
        if self.is_resting:
            self.pair_changed.emit()
        else:
            self._come_to_next()

    def leave(self) -> None:
        """Put the session away; everything given is on the disk."""
        self._try(self.exposure.close)
        self.player.unload()
        for signal, slot in (
            (self.player.state_changed, self.sound_changed),
            (self.player.moved, self.moved),
            (self.player.heard_changed, self._on_heard),
            (self.player.trouble_raised, self.problem_raised),
            (self.player.trouble_cleared, self.problem_cleared),
        ):
            signal.disconnect(slot)

    def go_on(self) -> None:
        """Close the pair at hand and come to the next one, or to a break."""
        form = self.form
        if form is None:
            return
        # The same seat may be open in another window, which has closed the pair already.
        if not self._is_closed(form.pair):
            missing = form.first_missing()
            if missing is not None:
                form.activate(missing)
                self.answers_changed.emit()
                self._tell_missing(form)
                return
            if not self._try(lambda: self.desk.lock(form.pair.pair_id)):
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
        if self.form is not None:
            self._aside.add(self.form.pair.pair_id)
            self.form = None
            self._come_to_next()

    def end_rest(self) -> None:
        """Come back from a break."""
        following = self._next_pair()
        if self.is_resting and following is not None:
            self._try(lambda: self.desk.record_rested(following.pair_id))
            self.is_resting = False
            self._come_to_next()

    def pass_full_dose(self) -> None:
        """Go on although a full day's dose is reached; asked once in each opening."""
        if self.is_asked_to_stop:
            self.is_asked_to_stop = False
            self._may_pass_full = True
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
        try:
            self._load(pair)
            # After the sound: a busy disk must not leave the pair silent.
            self.desk.record_opened(pair.pair_id)
        except RatingsError as problem:
            return problem
        return None

    def _load(self, pair: Pair) -> None:
        self.exposure.end()
        self.player.unload()
        sound = self._sound.read(pair)
        self.player.load(sound.loaded)
        self.exposure.begin(pair, sound.levels_db_a)
        self.player.switch_to("A")
        self.level_sentence = sound.level_sentence

    # The sound of the day

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
        if self.form is not None and place != self.form.active:
            self.form.activate(place)
            self.answers_changed.emit()

    def step_attribute(self, steps: int) -> None:
        """Go on to the next attribute, or back."""
        if self.form is not None:
            self.form.activate(self.form.active + steps)
            self.answers_changed.emit()

    def press_digit(self, digit: int) -> None:
        """Score the sounding side of the active attribute; 0 stands for 10."""
        if self.form is not None:
            self.give(self.form.attribute.key, self.player.side, 10.0 if digit == 0 else digit)

    def give(self, key: str, side: Side, value: float) -> None:
        """Score one side of an attribute."""
        self._change(lambda form: form.give(key, side, value))

    def nudge(self, steps: int) -> None:
        """Move the sounding side's score of the active attribute."""
        self._change(lambda form: form.nudge(form.attribute.key, self.player.side, steps))

    def say_equal(self, key: str | None = None) -> None:
        """Say that an attribute, or the active one, shows no difference."""
        self._change(lambda form: form.say_equal(key or form.attribute.key, self.player.side))

    def take_back(self, key: str | None = None, side: Side | None = None) -> None:
        """Take a score back; without words, the sounding side's of the active attribute."""
        self._change(
            lambda form: form.take_back(key or form.attribute.key, side or self.player.side)
        )

    def write_note(self, side: Side, text: str) -> None:
        """Keep a note about a side."""
        self._change(lambda form: form.write_note(side, text.strip()))

    def note(self, side: Side) -> str:
        """Return the note that stands for a side."""
        return "" if self.form is None else self.form.answers.notes.get(side, "")

    @property
    def attributes(self) -> tuple[Attribute, ...]:
        """What is rated for the pair at hand."""
        return () if self.form is None else self.form.attributes

    def unheard_words(self) -> str:
        """Say what must be heard before scores are taken; empty when both sides were heard."""
        form = self.form
        if form is None or form.is_heard:
            return ""
        missing = [side for side in SIDES if side not in form.answers.heard]
        if len(missing) == 2:
            return self.tr("hear both sides first")
        side = missing[0]
        seconds = math.ceil(self._enough_s(side) - self.player.coverage(side).heard_s)
        if side == self.player.side and seconds > 0:
            return self.tr("hear {0} s more of {1}").format(seconds, side)
        return self.tr("hear side {0} first").format(side)

    def _enough_s(self, side: Side) -> float:
        """Seconds of a side that must be heard: all of a coast-down, some of a steady sound."""
        whole_s = WHOLE_CLIP_SHARE * self.player.coverage(side).total_s
        is_coast_down = self.form is not None and self.form.pair.manoeuvre == "coast-down"
        return whole_s if is_coast_down else min(HEARD_ENOUGH_S, whole_s)

    def hint(self) -> str:
        """Say the one thing to do next."""
        form = self.form
        if form is None:
            return ""
        if not form.is_heard:
            return self.tr("Listen to both sides first. Space changes sides.")
        if form.waits_for_equal(form.attribute.key):
            return self.tr("No difference: give one score for both, by digit or on the rail.")
        if form.first_missing() is None:
            if self.locked_count + self.aside_count + 1 == self.pair_count:
                return self.tr("All rated. Enter closes this last pair and ends the session.")
            return self.tr("All rated. Enter closes this pair for good and brings the next.")
        return ""

    def _is_closed(self, pair: Pair) -> bool:
        try:
            return self.desk.answers()[pair.pair_id].is_locked
        except RatingsError:
            return False

    def _tell_missing(self, form: PairForm) -> None:
        side = next(s for s in SIDES if form.score_of(form.attribute.key, s) is None)
        self.problem_raised.emit(
            NotYetError(
                self.tr("{0} has no score for side {1} yet.").format(form.attribute.name, side),
                self.tr("Score it, or press = for no difference."),
            )
        )

    def _change(self, act: Callable[[PairForm], None]) -> None:
        form = self.form
        if form is not None and self._try(lambda: act(form)):
            self.answers_changed.emit()

    def _on_heard(self) -> None:
        form = self.form
        if form is None:
            return
        for side in SIDES:
            enough_s = self._enough_s(side)
            heard_s = self.player.coverage(side).heard_s
            if side not in form.answers.heard and 0 < enough_s <= heard_s:
                self._change(lambda form, side=side: form.mark_heard(side))  # type: ignore[misc]
        self.sound_changed.emit()

    def _try(self, act: Callable[[], None]) -> bool:
        try:
            act()
        except RatingsError as problem:
            self.problem_raised.emit(problem)
            return False
        return True
