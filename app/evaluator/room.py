"""The evaluator's room: the seats, the brief of one, its session, and back."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

from app.station import Room, Shell, State, Station, told_at_the_doors

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.evaluator.brief_presenter import BriefPresenter
    from ratings.storage.blind_study import BlindStudy


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
            self._seats_page,
            "Hear two tyre sets back to back, blind, and rate each of them.",
        )

    @told_at_the_doors
    def show_seats(self) -> None:
        """Let an evaluator choose a seat."""
        page = self._seats_page()
        if page is not None:
            self.shell.show_screen(page)

    @told_at_the_doors
    def show_brief(self, session_id: int, *, is_from_pair: bool = False) -> None:
        """Show what to read and set before a session, or in the middle of it."""
        if self.shell.study is None:
            return
        from app.evaluator.brief_page import BriefPage

        page = BriefPage(self._brief_of(self.shell.study, session_id), is_from_pair=is_from_pair)
        page.left.connect(self.show_seats)
        page.begun.connect(self.show_session)
        self.shell.show_screen(page)

    @told_at_the_doors
    def show_session(self) -> None:
        """Take up the session that the brief is of."""
        brief = self.brief
        if brief is None:
            return
        from app.evaluator.session_presenter import SessionPresenter
        from app.evaluator.session_screen import SessionScreen

        desk = brief.desk
        presenter = SessionPresenter(desk, self.shell.the_player(), brief.sound)
        screen = SessionScreen(presenter)
        presenter.setParent(screen)
        screen.left.connect(self.shell.show_doors)
        screen.device_asked.connect(lambda: self.show_brief(desk.session_id, is_from_pair=True))
        # The player is in the middle of its report.
        brief.level_lost.connect(screen.device_asked, Qt.ConnectionType.QueuedConnection)
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

    def _seats_page(self) -> QWidget | None:
        if self.shell.study is None:
            return None
        from app.evaluator.seats_page import SeatsPage

        self._prepare_seats(self.shell.study)
        page = SeatsPage(self.shell.study)
        page.left.connect(self.shell.show_doors)
        page.seat_chosen.connect(self.show_brief)
        return page

    def _brief_of(self, study: BlindStudy, session_id: int) -> BriefPresenter:
        """Give the seat's brief, with the level as it was confirmed before the session was left."""
        from app.evaluator.brief_presenter import BriefPresenter
        from ratings.storage.listening_desk import ListeningDesk

        brief = self.brief
        if brief is not None:
            if brief.desk.study is study and brief.desk.session_id == session_id:
                brief.come_back()
                return brief
            brief.deleteLater()
        mend = functools.partial(self._mend_clip, study.folder.path)
        desk = ListeningDesk(study, session_id, mend=mend)
        player, settings = self.shell.the_player(), self.shell.settings
        self.brief = BriefPresenter(desk, player, settings, self.shell.window())
        return self.brief
