"""The lead's screen: a rail of stations on the left, the page of one of them beside it."""

from PySide6.QtCore import QMargins, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from app.lead.agreement.page import AgreementPage
from app.lead.agreement.presenter import AgreementPresenter
from app.lead.agreement.transfers import Transfers
from app.lead.panel.page import PanelPage
from app.lead.recordings.bringing.page import AskFiles
from app.lead.recordings.station import RecordingsStation
from app.lead.stations import Station, StationRail, StationState
from app.lead.study.page import StudyPage
from app.lead.study_watch import StudyWatch
from app.parts.asking import leave_or_ask
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath, ask_path, ask_recordings
from app.parts.fonts import font
from app.parts.headings import SoftLine
from app.parts.keys_card import KeysCard
from app.parts.message_bar import MessageBar
from ratings.errors import RatingsError
from ratings.storage.study_folder import Study
from ratings.storage.study_overview import study_overview

RAIL_WIDTH = 212


class LeadScreen(QWidget):
    """Joins rail, pages and what keeps them up to date.

    Signals
    -------
    left()
        The lead goes back to the doors.
    """

    left = Signal()

    def __init__(
        self,
        study: Study,
        parent: QWidget | None = None,
        ask_path: AskPath = ask_path,
        ask_files: AskFiles = ask_recordings,
    ) -> None:
        super().__init__(parent)
        self._study = study
        self.watch = StudyWatch(study, self)
        self.presenter = AgreementPresenter(study, self.watch, self)
        self.transfers = Transfers(study, self)
        self.messages = MessageBar()
        self.rail = StationRail()
        self.study_page = StudyPage(study, study_overview(study))
        self.recordings = RecordingsStation(study, ask_path, ask_files, self)
        self.panel_page = PanelPage(study)
        self.agreement_page = AgreementPage(self.presenter, self.transfers, ask_path)
        self._pages = {
            "study": self.study_page,
            "recordings": self.recordings.page,
            "panel": self.panel_page,
            "agreement": self.agreement_page,
        }
        self._build()
        self._connect()
        self.watch.start()
        self.recordings.presenter.start()
        self._show_stations()
        self.rail.choose("agreement")

    def show_station(self, key: str) -> None:
        """Show the page of a station."""
        self.messages.clear()
        self._stack.setCurrentWidget(self._pages[key])

    def showEvent(self, event: QShowEvent) -> None:
        """Let the keys work on the first plot at once."""
        super().showEvent(event)
        self.agreement_page.take_focus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc closes a message or what is open, else goes back; ``?`` shows the keys."""
        if event.key() == Qt.Key.Key_Escape and self.messages.isVisible():
            self.messages.clear()
        elif event.key() == Qt.Key.Key_Escape:
            is_at_runs = self._stack.currentWidget() is self.recordings.page
            if not (is_at_runs and self.recordings.page.close_open()):
                self.go_back()
        elif event.text() == "?":
            self.keys_card.open()
        else:
            super().keyPressEvent(event)

    def at_stake(self) -> str:
        """Say what would be lost if the desk were left now; empty when nothing."""
        holders = (self.recordings.page, self.panel_page)
        return " ".join(words for each in holders if (words := each.at_stake()))

    def go_back(self) -> None:
        """Go back to the doors; what is not kept is asked about."""
        leave_or_ask(self, self.at_stake(), self.left.emit, "Leave")

    def _build(self) -> None:
        self.keys_card = KeysCard(self)
        self._stack = QStackedWidget()
        for page in self._pages.values():
            self._stack.addWidget(page)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._build_rail())
        row.addWidget(self._stack, 1)
        self.messages.hang_in(self._stack, QMargins(28, 12, 20, 0))
        self.keys_card.set_keys(
            [
                (f"Ctrl+{place}", title)
                for place, title in enumerate(
                    (
                        "study",
                        "recordings",
                        "panel",
                        "agreement",
                    ),
                    start=1,
                )
            ]
            + [
                ("Up, Down", "another attribute, in the first plot"),
                ("Tab", "on to the next plot, table or button"),
                ("Ctrl+C", "copy the table that has the keys"),
                ("Left, Right", "read levels, in a plot; with Shift further"),
                ("Home", "show a plot from end to end again"),
                ("Esc", "close a message or what is open, then back to start"),
                ("?", "these keys"),
            ]
        )

    def _build_rail(self) -> QWidget:
        title = QLabel("Lead")
        title.setFont(font("heading"))
        name = SoftLine(self._study.facts.name)
        name.setFont(font("small"))
        keys = QuietButton("Keys")
        keys.clicked.connect(self.keys_card.open)
        back = QuietButton("Back to start")
        back.clicked.connect(self.go_back)
        head = QVBoxLayout()
        head.setContentsMargins(24, 20, 16, 12)
        head.setSpacing(4)
        head.addWidget(title)
        head.addWidget(name)
        foot = QVBoxLayout()
        foot.setContentsMargins(24, 0, 16, 16)
        foot.setSpacing(0)
        foot.addWidget(keys, 0, Qt.AlignmentFlag.AlignLeft)
        foot.addWidget(back, 0, Qt.AlignmentFlag.AlignLeft)
        side = QFrame()
        side.setObjectName("rail")
        side.setAutoFillBackground(True)
        side.setBackgroundRole(side.palette().ColorRole.Base)
        side.setFixedWidth(RAIL_WIDTH)
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self.rail)
        column.addStretch(1)
        column.addLayout(foot)
        return side

    def _connect(self) -> None:
        self.rail.station_chosen.connect(self.show_station)
        for place, key in enumerate(self._pages, start=1):
            shortcut = QShortcut(QKeySequence(f"Ctrl+{place}"), self)
            shortcut.activated.connect(lambda key=key: self.rail.choose(key))
        self.watch.progress_changed.connect(self._show_seats)
        for source in (
            self.watch,
            self.presenter,
            self.transfers,
            self.panel_page,
            self.recordings,
        ):
            source.problem_raised.connect(self._tell_problem)
        self.recordings.told.connect(self.messages.tell)
        self.recordings.page.form_left.connect(self.messages.clear)
        self.recordings.presenter.changed.connect(self._show_stations)
        self.presenter.changed.connect(self._show_seats)
        self.transfers.told.connect(self.messages.tell)
        self.transfers.offered.connect(self._offer)
        self.messages.action_asked.connect(self._add_offered)
        self.transfers.scores_brought.connect(self.watch.look)
        self.panel_page.seat_added.connect(self.watch.look)
        self.agreement_page.panel_asked.connect(lambda: self.rail.choose("panel"))

    def _offer(self, question: str) -> None:
        self.messages.tell(
            question,
            "Closing this message leaves the study as it is.",
            action="Add",
        )

    def _add_offered(self) -> None:
        self.messages.clear()
        self.transfers.add_offered()

    def _show_seats(self) -> None:
        self.panel_page.show_seats(self.watch.seats, self.presenter.brought_evaluators())
        self._show_stations()

    def _show_stations(self) -> None:
        seats = self.watch.seats
        are_in = bool(seats) and all(seat.locked_count == seat.pair_count for seat in seats)
        state: StationState = "done" if are_in else "open"
        panel_line = self.panel_page.station_line(seats)
        agreement_line = self.presenter.station_line()
        self.rail.show_stations(
            (
                Station("study", "Study", self.study_page.station_line(), "done"),
                self.recordings.station(),
                Station("panel", "Panel", panel_line, state),
                Station("agreement", "Agreement", agreement_line, state),
            )
        )

    def _tell_problem(self, problem: RatingsError) -> None:
        self.messages.tell(problem.what_happened, problem.what_to_do, "attention")

    def put_away(self) -> None:
        """Look no more, and stop what is under way."""
        self.watch.stop()
        self.recordings.presenter.stop()
        self.recordings.bringing.work.cancel()
