"""The lead's room: the desk of the open study, and the study that is being made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.background import database
from app.opening import studies_folder
from app.parts.asking import Question
from app.station import Room, Shell, State, Station

if TYPE_CHECKING:
    from app.lead.new_study.presenter import NewStudyPresenter
    from ratings.storage.study_folder import Study


class LeadRoom(Room):
    """Shows the lead's desk; once after somebody has rated here, asks who comes in."""

    def __init__(self, shell: Shell) -> None:
        super().__init__(shell)
        self.study: Study | None = None
        self.new_study: NewStudyPresenter | None = None
        self._may_lead = False
        self.station = Station(
            "Lead",
            self._state,
            self.show_desk,
            "Measure the runs, see whether the panel agrees, and hand the verdict over. "
            "Not for evaluators: what stands here can tell which set is which.",
        )

    def show_new_study(self) -> None:
        """Let the lead make a study."""
        from app.lead.new_study.draft_keeping import DraftKeeper, drafts_folder
        from app.lead.new_study.page import NewStudyPage
        from app.lead.new_study.presenter import NewStudyPresenter

        if self.new_study is None:
            # It keeps the draft while the lead is elsewhere.
            window = self.shell.window()
            keeper = DraftKeeper(drafts_folder(), window)
            self.new_study = NewStudyPresenter(studies_folder(), keeper=keeper, parent=window)
        page = NewStudyPage(self.new_study)
        page.left.connect(self.shell.show_doors)
        page.study_made.connect(self.shell.open)
        self.shell.show_screen(page)

    def at_stake(self) -> str:
        """Say what of a new study is not kept."""
        return "" if self.new_study is None else self.new_study.at_stake()

    def leave_study(self) -> None:
        """Close what was opened beside the seats' study."""
        if self.study is not None:
            # After all that was asked of it.
            shell = self.shell
            database.ask(
                shell.window(), self.study.close, lambda _nothing: None, shell.tell_at_the_doors
            )
        self.study = None

    def put_away(self) -> None:
        """Keep the draft of a new study."""
        if self.new_study is not None:
            self.new_study.put_away()

    def _state(self) -> State:
        if self.shell.study is None:
            return State()
        from ratings.storage.listening_desk import session_seats

        seats = session_seats(self.shell.study)
        finished = sum(seat.is_finished for seat in seats)
        words = f"{finished} of {len(seats)} evaluators have finished."
        return State(words, finished == len(seats))

    def show_desk(self) -> None:
        """Show the lead's desk, once it was read."""
        if self.shell.study is None:
            return
        if self.shell.has_rated and not self._may_lead:
            self._ask_who_leads()
            return
        from app.lead.lead_screen import LeadScreen
        from app.lead.reading import LeadReading, read_lead
        from ratings.storage.study_folder import open_study

        path, opened = self.shell.study.folder.path, self.study

        def read() -> tuple[Study, LeadReading]:
            study = open_study(path) if opened is None else opened
            return study, read_lead(study)

        def show(found: tuple[Study, LeadReading]) -> None:
            # Measuring goes on behind the door, so it stays open with the window.
            self.study, reading = found
            screen = LeadScreen(self.study, reading)
            screen.left.connect(self.shell.show_doors)
            self.shell.show_screen(screen)

        self.shell.when_read(read, show)

    def _ask_who_leads(self) -> None:
        question = Question(
            self.shell.window(),
            "Are you the lead?",
            (
                "Somebody has rated here since the program was started. What stands behind this "
                "door can tell which set is which; whoever has seen it cannot rate blind."
            ),
            "I am the lead",
            "Stay out",
        )
        question.accepted.connect(self._let_lead_in)
        question.open()

    def _let_lead_in(self) -> None:
        self._may_lead = True
        self.show_desk()
