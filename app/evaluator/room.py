"""The evaluator's room: the seats, the brief of one, its session, and back."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

from app.station import Room, Shell, State, Station

if TYPE_CHECKING:
    from pathlib import Path

    from app.evaluator.brief_presenter import BriefPresenter
    from app.listening.seat_state import SeatState
    from ratings.storage.blind_study import BlindStudy
    from ratings.storage.listening_desk import ListeningDesk


class EvaluatorRoom(Room):
    """Leads one evaluator from the seats to the pairs.

    Parameters
    ----------
    prepare_seats, mend_clip
        What takes the lead's file: to see to it that sessions lie ready, and to cut a clip of the
        study at a path again.
    """

    def __init__(
        self,
        shell: Shell,
        prepare_seats: Callable[[BlindStudy], None],
        mend_clip: Callable[[Path, str], None],
    ) -> None:
        super().__init__(shell)
        self._prepare_seats, self._mend_clip = prepare_seats, mend_clip
        self.brief: BriefPresenter | None = None
        self.station = Station(
            "Evaluate",
            self._state,
            self.show_seats,
            "Hear two tyre sets back to back, blind, and rate each of them.",
        )

    def show_seats(self) -> None:
        """Let an evaluator choose a seat, once sessions lie ready for whoever sits down."""
        study = self.shell.study
        if study is not None:
            self.shell.when_read(
                lambda: self._prepare_seats(study), lambda _nothing: self._open_seats(study)
            )

    def _open_seats(self, study: BlindStudy) -> None:
        from app.evaluator.seats_page import SeatsPage
        from app.evaluator.seats_presenter import SeatsPresenter

        presenter = SeatsPresenter(study)
        presenter.unreadable.connect(self.shell.tell_at_the_doors)
        presenter.seat_chosen.connect(self.show_brief)
        page = SeatsPage(presenter)
        presenter.setParent(page)
        page.left.connect(self.shell.show_doors)
        self.shell.show_screen(page)

    def show_brief(self, session_id: int, *, is_from_pair: bool = False) -> None:
        """Show what to read and set before a session, or in the middle of it."""
        study = self.shell.study
        if study is None:
            return
        from app.listening.seat_state import read_seat
        from ratings.storage.listening_desk import ListeningDesk

        mend = functools.partial(self._mend_clip, study.folder.path)

        def read() -> tuple[ListeningDesk, SeatState]:
            desk = ListeningDesk(study, session_id, mend=mend)
            return desk, read_seat(desk)

        self.shell.when_read(read, lambda seat: self._open_brief(*seat, is_from_pair=is_from_pair))

    def _open_brief(self, desk: ListeningDesk, seat: SeatState, *, is_from_pair: bool) -> None:
        from app.evaluator.brief_page import BriefPage

        page = BriefPage(self._brief_of(desk, seat), is_from_pair=is_from_pair)
        page.left.connect(self.show_seats)
        page.begun.connect(self.show_session)
        self.shell.show_screen(page)

    def show_session(self) -> None:
        """Take up the session that the brief is of."""
        from app.listening.seat_state import read_seat

        brief = self.brief
        if brief is not None:
            self.shell.when_read(
                lambda: read_seat(brief.desk), lambda seat: self._open_session(brief, seat)
            )

    def _open_session(self, brief: BriefPresenter, seat: SeatState) -> None:
        from app.evaluator.session_presenter import SessionPresenter
        from app.evaluator.session_screen import SessionScreen

        desk = brief.desk
        presenter = SessionPresenter(desk, self.shell.the_player(), brief.sound, seat)
        screen = SessionScreen(presenter)
        presenter.setParent(screen)
        screen.left.connect(self.shell.show_doors)
        screen.device_asked.connect(lambda: self.show_brief(desk.session_id, is_from_pair=True))
        # The player is in the middle of its report.
        brief.level_lost.connect(screen.ask_device, Qt.ConnectionType.QueuedConnection)
        self.shell.show_screen(screen)
        self.shell.has_rated = True
        screen.begin()

    def _state(self) -> State:
        if self.shell.study is None:
            return State()
        from ratings.storage.listening_desk import session_seats

        seats = session_seats(self.shell.study)
        finished = sum(seat.is_finished for seat in seats)
        if finished == len(seats):
            return State("Every seat has finished.", is_done=True)
        waiting = sum(not seat.is_begun for seat in seats)
        begun = len(seats) - finished - waiting
        return State(f"{waiting} not begun, {begun} under way; {seats[0].pair_count} pairs each.")

    def _brief_of(self, desk: ListeningDesk, seat: SeatState) -> BriefPresenter:
        """Give the seat's brief, with the level as it was confirmed before the session was left."""
        from app.evaluator.brief_presenter import BriefPresenter

        brief = self.brief
        if brief is not None:
            if brief.desk.study is desk.study and brief.desk.session_id == desk.session_id:
                brief.come_back(seat)
                return brief
            brief.deleteLater()
        shell = self.shell
        self.brief = BriefPresenter(
            desk, shell.the_player(), shell.settings, seat, parent=shell.window()
        )
        return self.brief
