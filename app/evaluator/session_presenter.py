"""The state of a listening session and what it says, without a window."""

import weakref
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from app.background.database import Act
from app.evaluator.open_twice import both_count, holder_words
from app.listening.exposure_keeper import ExposureKeeper
from app.listening.exposure_words import (
    dose_words,
    full_notice,
    half_notice,
    passed_words,
    to_come_words,
    today_words,
)
from app.listening.hints import no_set_aside, score_missing
from app.listening.level_change import hear_again, level_change
from app.listening.pair_form import PairForm
from app.listening.pair_player import PairPlayer
from app.listening.pair_rating import PairRating
from app.listening.pair_sound import PairSound, SessionSound
from app.listening.seat_state import SeatState, read_seat
from ratings.errors import RatingsError, StudyError
from ratings.storage.listening_desk import ListeningDesk
from ratings.storage.seat_leases import SeatLease, take_seat
from ratings.study.listening import Pair


class SessionPresenter(PairRating):
    """Leads an evaluator through the pairs of a session.

    Signals
    -------
    pair_changed
        Another pair is at hand, or a break, a request to stop, or the end.
    moved
        The shared position.
    problem_cleared
        The sound device is back.
    exposure_changed
        More was played; to be shown where no pair is at hand.
    """

    pair_changed = Signal()
    moved = Signal()
    problem_cleared = Signal()
    exposure_changed = Signal()

    def __init__(
        self,
        desk: ListeningDesk,
        player: PairPlayer,
        sound: SessionSound | None = None,
        seat: SeatState | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(desk, player, parent)
        self._sound = SessionSound(desk) if sound is None else sound
        seat = read_seat(desk) if seat is None else seat
        self._answers = seat.answers
        self.is_resting = seat.is_break_due
        self.is_asked_to_stop = False
        #: Estimate of the time left; None while the study cannot be read.
        self.minutes_left: float | None = seat.seconds_left / 60
        self.exposure = ExposureKeeper(desk, player, seat.today, self, self._sound.level_db_a)
        self.exposure.changed.connect(self._on_exposure)
        self.exposure.problem_raised.connect(self.problem_raised)
        # A notice is told when its mark is passed, not at every opening after it.
        self._is_half_told = self.exposure.today.is_half
        self._is_full_told = self._may_pass_full = False
        self._aside: set[int] = set()
        self._lease: SeatLease | None = None
        self._level_sentence = ""
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

    def begin(self) -> None:
        """Take the session up where it was left; at its break, if that was only just due."""
        self._take(self._begin())

    def _begin(self) -> Act[None]:
        lease: SeatLease = yield lambda: take_seat(self.desk.study, self.desk.session_id)
        self._lease = lease
        weakref.finalize(self, lease.release)
        if self.is_resting:
            self.pair_changed.emit()
        else:
            yield from self._come_back()
        if lease.other is not None:
            told = f"This seat is {holder_words(lease.other)}."
            self.problem_raised.emit(StudyError(told, both_count()))

    def leave(
        self, then: Callable[[], None] = lambda: None, may: Callable[[], bool] = lambda: True
    ) -> None:
        """Put the session away once everything given is on the disk; a refusal keeps it.

        Parameters
        ----------
        then
            Called when the session was put away; at once when it was before.
        may
            Asked once all that was given before was saved or refused.
        """
        if self.has_left:
            then()
        else:
            self._take(self._leave(then, may))

    def _leave(self, then: Callable[[], None], may: Callable[[], bool]) -> Act[None]:
        yield from self.entry.settle()
        if not may():
            return
        self.has_left = True
        if self._lease is not None:
            self._lease.release()
        for signal, slot in (
            (self.player.state_changed, self._on_state),
            (self.player.moved, self.moved),
            (self.player.heard_changed, self._on_heard),
            (self.player.trouble_raised, self.problem_raised),
            (self.player.trouble_cleared, self.problem_cleared),
        ):
            signal.disconnect(slot)
        self.exposure.close()
        self.player.unload()
        try:
            yield self.exposure.write_rest
        except RatingsError as problem:
            self.problem_raised.emit(problem)
        then()

    def go_on(self) -> None:
        """Close the pair at hand and come to the next one, or to a break."""
        # Pressed twice, it is meant once.
        self._take_on_pair(self._close, is_told=False)

    def _close(self, form: PairForm) -> Act[None]:
        yield from self.entry.settle()
        # The same seat may be open in another window, which has closed the pair already.
        if not (yield from self._is_closed(form.pair)):
            self._refuse_unheard(form)
            missing = form.first_missing()
            if missing is not None:
                form.activate(missing)
                self.answers_changed.emit()
                raise score_missing(form)
            yield from form.lock()
        self._answers[form.pair.pair_id].is_locked = True
        self.exposure.end()
        self.player.unload()
        self.form = None
        self.is_resting = form.pair.position in self.desk.breaks and not self.is_finished
        if self.is_resting:
            yield from self._read_time_left()
            self.pair_changed.emit()
        else:
            yield from self._come_to_next()

    def _is_closed(self, pair: Pair) -> Act[bool]:
        try:
            answers = yield self.desk.answers
        except RatingsError:
            return False
        return bool(answers[pair.pair_id].is_locked)

    def confirm(self) -> None:
        """Let the number that is being typed count; without one, go on to the next pair."""
        self._take_on_pair(
            lambda form: self._close(form) if self.entry.typed is None else self.entry.settle(),
            is_told=False,
        )

    def set_aside(self) -> None:
        """Leave a pair that cannot be played open, and come to the next; it comes again later."""
        self._take_on_pair(self._set_aside)

    def _set_aside(self, form: PairForm) -> Act[None]:
        if not self.is_silent:
            raise no_set_aside(self.player)
        self._aside.add(form.pair.pair_id)
        self.form = None
        yield from self._come_to_next()

    def take_up_aside(self) -> None:
        """Come back to the pairs that were set aside, now; the one at hand stays open."""
        self._take(self._take_up_aside())

    def _take_up_aside(self) -> Act[None]:
        if self._aside:
            yield from self.entry.settle()
            self._aside.clear()
            yield from self._come_to_next()

    def end_rest(self) -> None:
        """Come back from a break."""
        self._take(self._end_rest())

    def _end_rest(self) -> Act[None]:
        following = self._next_pair()
        if not self.is_resting or following is None:
            return
        try:
            yield lambda: self.desk.record_rested(following.pair_id)
        except RatingsError as problem:
            self.problem_raised.emit(problem)
        self.is_resting = False
        yield from self._come_back()

    def pass_full_dose(self) -> None:
        """Go on although a full day's dose is reached; asked once in each opening."""
        self._take(self._pass_full_dose())

    def _pass_full_dose(self) -> Act[None]:
        if self.is_asked_to_stop:
            self.is_asked_to_stop = False
            self._may_pass_full = True
            yield from self._come_back()

    def _come_back(self) -> Act[None]:
        """Go on after ears have rested, and headphones were off: the sound rises slowly."""
        self.player.rise_slowly()
        yield from self._come_to_next()

    def _next_pair(self) -> Pair | None:
        for pair in self.desk.pairs:
            if not self._answers[pair.pair_id].is_locked and pair.pair_id not in self._aside:
                return pair
        return None

    def _read_time_left(self) -> Act[None]:
        try:
            self.minutes_left = (yield self.desk.seconds_left) / 60
        except RatingsError:
            self.minutes_left = None

    def _come_to_next(self) -> Act[None]:
        yield from self._read_time_left()
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
        problem = yield from self._open(pair)
        if problem is not None:
            self.problem_raised.emit(problem)
        elif self.exposure.today.is_half and not self._is_half_told:
            self._is_half_told = True
            self.problem_raised.emit(half_notice())

    def _open(self, pair: Pair) -> Act[RatingsError | None]:
        """Bring a pair into sight and play it; return what is wrong with it, or to be known."""
        sound: PairSound | None = None
        problem: RatingsError | None = None
        try:
            sound = yield lambda: self._sound.read(pair)
        except RatingsError as refusal:
            problem = refusal
        level, answers = self._sound.level, self._answers[pair.pair_id]
        before = answers.level
        self.exposure.end()
        self.player.unload()
        self.form = PairForm(self.desk, pair, answers)
        self._being_marked.clear()
        if sound is not None:
            problem = self._load(pair, sound)
        if sound is not None and problem is None and answers.open_at(level) and before is not None:
            problem = hear_again(level.louder_db(before))
        # What is wrong with the pair is said once the pair is in sight.
        self.pair_changed.emit()
        if self.player.duration_s > 0:
            self.player.play()
            problem = problem or self.player.trouble
            try:
                # After the sound: a busy disk must not leave the pair silent.
                yield lambda: self.desk.record_opened(pair.pair_id, level)
            except RatingsError as refusal:
                problem = refusal
        return problem

    def _load(self, pair: Pair, sound: PairSound) -> RatingsError | None:
        try:
            self.player.load(sound.loaded)
        except RatingsError as refusal:
            return refusal
        self.exposure.begin(pair, sound.levels_db_a)
        self.player.switch_to("A")
        self._level_sentence = sound.level_sentence
        return None

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
