"""Who has a seat in the study, how far each has got, and who takes one; without a window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from app.background import database
from app.evaluator.open_twice import both_count, holder_words
from app.listening.exposure_words import seat_words
from app.playback.dose import Listened, played_elsewhere
from ratings.errors import RatingsError
from ratings.storage.blind_study import BlindStudy
from ratings.storage.listening_desk import SessionSeat, session_seats
from ratings.storage.seat_desk import SeatDesk
from ratings.storage.seat_leases import SeatHolder, seat_holder


@dataclass(frozen=True, slots=True)
class SeatRow:
    """One seat as it is listed.

    Attributes
    ----------
    today
        What was played today; empty when nothing was.
    state, look
        How far it has got, and how the words stand out.
    step
        What its button does; empty once the session is finished.
    can_remove
        Whether nobody has begun there.
    """

    session_id: int
    code: str
    name: str
    today: str
    state: str
    look: str
    step: str
    can_remove: bool

    @property
    def who(self) -> str:
        """Code and name, as far as there is one."""
        return f"{self.code} {self.name}".strip()


@dataclass(frozen=True, slots=True)
class Offer:
    """A message with a step that may be taken."""

    happened: str
    to_do: str
    words: str
    act: Callable[[], None]


class SeatsPresenter(QObject):
    """Lists the seats, and lets one be chosen, added or removed.

    Attributes
    ----------
    rows
        The seats as they were read last.
    newest
        Session of the seat that was added last, until the list is read again for another reason.

    Signals
    -------
    changed()
        The list.
    seat_chosen(int)
        Id of the session to take up.
    offered(Offer)
        A question; `take_offer` says yes.
    name_missing(RatingsError)
        Somebody without a name was to be added.
    problem_raised(RatingsError)
    unreadable(RatingsError)
        The seats could not be read.
    adding_changed()
        Whether a seat can be added now.
    added()
        Somebody has the seat that was asked for.
    settled()
        What was told holds no longer.
    """

    changed = Signal()
    seat_chosen = Signal(object)  # int, beyond the 32 bits of a C int
    offered = Signal(object)  # Offer
    name_missing = Signal(object)  # RatingsError
    problem_raised = Signal(object)  # RatingsError
    unreadable = Signal(object)  # RatingsError
    adding_changed = Signal()
    added = Signal()
    settled = Signal()

    def __init__(self, study: BlindStudy, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._offer: Offer | None = None
        self._pair_count = 0
        self.can_add = True
        self.rows: tuple[SeatRow, ...] = ()
        self.newest: int | None = None
        self.refresh()

    def refresh(self, newest: int | None = None) -> None:
        """Read the seats again; the session of the newest may be given."""
        database.ask(
            self,
            lambda: _read_lines(self._study),
            lambda lines: self._take(lines, newest),
            self.unreadable.emit,
        )

    def _take(self, lines: Sequence[_SeatLine], newest: int | None) -> None:
        self._pair_count = lines[0].seat.pair_count if lines else 0
        self.rows = tuple(map(_row, lines))
        self.newest = newest
        self.changed.emit()

    def line(self) -> str:
        """Say which study it is, and whose seat to take."""
        return (
            f"{self._study.facts.name}. Everybody hears the same {self._pair_count} pairs in an "
            "order of their own. Choose your own name only; a session that was left "
            "goes on where it stopped."
        )

    def choose(self, row: SeatRow) -> None:
        """Take a seat; one that is open elsewhere only after a question."""
        database.ask(
            self,
            lambda: seat_holder(self._study, row.session_id),
            lambda holder: self._take_choice(row, holder),
            self.problem_raised.emit,
        )

    def _take_choice(self, row: SeatRow, holder: SeatHolder | None) -> None:
        if holder is None:
            self.seat_chosen.emit(row.session_id)
            return
        self._ask(
            f"{row.name or row.code} is {holder_words(holder)}.",
            both_count(),
            "Open it here too",
            lambda: self.seat_chosen.emit(row.session_id),
        )

    def ask_removal(self, row: SeatRow) -> None:
        """Ask whether a seat is to be taken out of the list."""
        self._ask(
            f"Remove {row.who} from the list?",
            "Nobody has begun there; no score is lost.",
            f"Remove {row.code}",
            lambda: self._remove(row.session_id),
        )

    def take_offer(self) -> None:
        """Say yes to what was asked last."""
        if self._offer is not None:
            self._offer.act()

    def add(self, name: str) -> None:
        """Give somebody a seat; a second call meanwhile does nothing."""
        if not self.can_add:
            return
        if not name.strip():
            told = "A new seat needs a name or initials."
            to_do = "Write who will sit there; the lead sees it beside the code."
            self.name_missing.emit(RatingsError(told, to_do))
            return
        self._set_can_add(False)
        database.ask(
            self,
            lambda: SeatDesk(self._study).seat(name),
            self._take_added,
            self.problem_raised.emit,
            lambda: self._set_can_add(True),
        )

    def _take_added(self, session_id: int) -> None:
        self.added.emit()
        self.settled.emit()
        self.refresh(session_id)

    def _set_can_add(self, can_add: bool) -> None:
        self.can_add = can_add
        self.adding_changed.emit()

    def _remove(self, session_id: int) -> None:
        self.settled.emit()
        database.ask(
            self,
            lambda: SeatDesk(self._study).give_back(session_id),
            lambda _nothing: self.refresh(),
            self.problem_raised.emit,
        )

    def _ask(self, happened: str, to_do: str, words: str, act: Callable[[], None]) -> None:
        self._offer = Offer(happened, to_do, words, act)
        self.offered.emit(self._offer)


@dataclass(frozen=True, slots=True)
class _SeatLine:
    """A seat, who has it open now, and what its evaluator was played today."""

    seat: SessionSeat
    holder: SeatHolder | None
    today: Listened


def _read_lines(study: BlindStudy) -> list[_SeatLine]:
    here = SeatDesk(study).exposure_today()
    lines = []
    for seat in session_seats(study):
        elsewhere = played_elsewhere(seat.evaluator, study).stretches
        today = Listened.of([*here.get(seat.evaluator.code, ()), *elsewhere])
        lines.append(_SeatLine(seat, seat_holder(study, seat.session_id), today))
    return lines


def _row(line: _SeatLine) -> SeatRow:
    seat, holder = line.seat, line.holder
    return SeatRow(
        seat.session_id,
        seat.evaluator.code,
        seat.evaluator.name,
        seat_words(line.today),
        _state_words(seat) if holder is None else holder_words(holder),
        "attention" if holder is not None else "done" if seat.is_finished else "soft",
        "" if seat.is_finished else "Go on" if seat.is_begun else "Listen",
        not (seat.is_finished or seat.is_begun) and holder is None,
    )


def _state_words(seat: SessionSeat) -> str:
    if seat.is_finished:
        return f"finished, {seat.pair_count} pairs"
    if not seat.is_begun:
        return f"not begun, {seat.pair_count} pairs"
    return f"{seat.locked_count} of {seat.pair_count} pairs rated"
