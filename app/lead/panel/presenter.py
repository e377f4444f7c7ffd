"""Who takes part, how far each has got, and a seat for one more; without a window."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from app.background import database
from app.background.database import Poll
from app.lead.panel.exposure import PanelExposure, PanelReading, read_panel
from app.station import State
from ratings.errors import DesignError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import SessionSeat
from ratings.storage.study_folder import Study
from ratings.study.wording import counted

#: How often the figures of what was played are read anew, while they are in sight.
EXPOSURE_MS = 10_000
_BLIND = "Each seat hears the same pairs in an order of its own, blind."


@dataclass(frozen=True, slots=True)
class PanelRow:
    """One of the panel: code, name, words on how far; pairs rated of all, None without a seat."""

    code: str
    name: str
    words: str
    is_in: bool = False
    pairs: tuple[int, int] | None = None


class PanelPresenter(QObject):
    """Keeps the panel's seats and what each was played, and adds a seat.

    Attributes
    ----------
    poll
        Reads what was played; to be run while it is in sight.
    written
        The name that is written for a new seat.

    Signals
    -------
    seats_changed(), exposure_changed()
    adding_changed()
        Whether a seat can be added.
    seat_added()
    problem_raised(RatingsError)
        The seat could not be added, or what was played could not be read.
    """

    seats_changed = Signal()
    exposure_changed = Signal()
    adding_changed = Signal()
    seat_added = Signal()
    problem_raised = Signal(object)  # RatingsError

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._seats: tuple[SessionSeat, ...] = ()
        self._brought: tuple[str, ...] = ()
        self._reading: PanelReading | None = None
        self._is_adding = False
        self.written = ""
        self.poll = Poll(self._read, EXPOSURE_MS, self)
        self.poll.was_read.connect(self._take)
        self.poll.problem_raised.connect(self.problem_raised)

    def take_seats(self, seats: Sequence[SessionSeat], brought: Sequence[str] = ()) -> None:
        """Take these seats, and the evaluators whose scores were only brought in."""
        if (tuple(seats), tuple(brought)) != (self._seats, self._brought):
            self._seats, self._brought = tuple(seats), tuple(brought)
            self.seats_changed.emit()

    def rows(self) -> list[PanelRow]:
        """Return those with a seat, then those whose scores were brought in."""
        seated = [
            PanelRow(
                seat.evaluator.code,
                seat.evaluator.name,
                _seat_words(seat),
                _is_in(seat),
                (seat.locked_count, seat.pair_count),
            )
            for seat in self._seats
        ]
        return seated + [PanelRow(code, "", "scores imported") for code in self._brought]

    def heading(self) -> str:
        """Say how far the panel has got."""
        count = len(self._seats)
        if not count:
            return "Nobody has a seat yet."
        in_count, waiting = self._counts()
        if in_count == count:
            if count == 1:
                return "The one evaluator has finished."
            return f"All {count} evaluators have finished."
        has = "has" if in_count == 1 or count == 1 else "have"
        parts = [f"{in_count} of {counted(count, 'evaluator')} {has} finished"]
        under_way = count - in_count - waiting
        if under_way:
            parts.append(f"{under_way} {'is' if under_way == 1 else 'are'} under way")
        if waiting:
            parts.append(f"{waiting} {'has' if waiting == 1 else 'have'} not begun")
        return ", ".join(parts) + "."

    def line(self) -> str:
        """Say how the seats are blind; first what ears that have had too much need."""
        if self._reading is None:
            return _BLIND
        exposure = self._reading.exposure
        if any(row.is_over for row in exposure.rows):
            # Not left to the end of the page.
            return exposure.finding
        return f"{_BLIND} {self._reading.hiding}".rstrip()

    def state(self) -> State:
        """Say what is missing, in a few words."""
        count = len(self._seats)
        in_count, waiting = self._counts()
        if not count:
            return State("no seat yet")
        if waiting:
            return State(f"{waiting} {'have' if waiting > 1 else 'has'} not begun")
        if in_count < count:
            return State(f"{count - in_count} under way")
        return State(f"all {count} have finished", is_done=True)

    @property
    def exposure(self) -> PanelExposure | None:
        """What each was played; None until it was read."""
        return None if self._reading is None else self._reading.exposure

    @property
    def can_add(self) -> bool:
        """Whether a seat can be added now."""
        return not (self._study.is_read_only or self._is_adding)

    def add(self) -> None:
        """Give whoever is written a seat."""
        name = self.written.strip()
        if not self.can_add:
            return
        if not name:
            problem = DesignError("Write a name or initials first.", "No seat was added.")
            self.problem_raised.emit(problem)
            return
        self._set_adding(True)
        database.ask(
            self,
            lambda: LeadDesk(self._study).seat(name),
            lambda _session_id: self._tell_added(name),
            self.problem_raised.emit,
            lambda: self._set_adding(False),
        )

    def at_stake(self) -> str:
        """Say which name is written and has no seat; empty when there is none."""
        name = self.written.strip()
        return f"{name} is written and has no seat yet." if name else ""

    def _tell_added(self, name: str) -> None:
        if self.written.strip() == name:
            self.written = ""
        self.seat_added.emit()

    def _set_adding(self, is_adding: bool) -> None:
        self._is_adding = is_adding
        self.adding_changed.emit()

    def _read(self) -> PanelReading:
        return read_panel(self._study, [seat.evaluator for seat in self._seats])

    def _take(self, reading: PanelReading) -> None:
        self._reading = reading
        for problem in reading.problems:
            self.problem_raised.emit(problem)
        self.exposure_changed.emit()

    def _counts(self) -> tuple[int, int]:
        """Count those who are through and those who have not begun."""
        return sum(map(_is_in, self._seats)), sum(not seat.is_begun for seat in self._seats)


def _is_in(seat: SessionSeat) -> bool:
    return seat.locked_count == seat.pair_count


def _seat_words(seat: SessionSeat) -> str:
    if _is_in(seat):
        return f"finished, all {seat.pair_count} pairs rated"
    if not seat.is_begun:
        return f"not begun, {seat.pair_count} pairs"
    return f"under way, {seat.locked_count} of {seat.pair_count} pairs rated"
