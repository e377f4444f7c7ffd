"""The lead's screen: a rail of stations on the left, the page of one of them beside it."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from PySide6.QtCore import QMargins, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QFrame, QLabel, QStackedWidget, QWidget

from app.lead.agreement.presenter import AgreementPresenter
from app.lead.agreement.transfers import Transfers
from app.lead.panel.presenter import PanelPresenter
from app.lead.rail import StationRail
from app.lead.reading import LeadReading, read_lead
from app.lead.recordings.station import RecordingsStation
from app.lead.report.presenter import ReportPresenter
from app.lead.study.presenter import StudyPresenter
from app.lead.study_watch import StudyWatch
from app.lead.verdict.station import VerdictStation
from app.lead.verdict_reading import VerdictReading
from app.parts.asking import leave_or_ask
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath, ask_folder, ask_path, ask_recordings
from app.parts.fonts import font
from app.parts.headings import SoftLine
from app.parts.keys_card import KeysCard
from app.parts.layouts import Air, Aligned, Stretched, in_column, in_row
from app.parts.message_bar import MessageBar
from app.station import Station
from ratings.errors import RatingsError
from ratings.storage.study_folder import Study

if TYPE_CHECKING:
    from app.lead.agreement.page import AgreementPage
    from app.lead.panel.page import PanelPage
    from app.lead.recordings.bringing.page import AskFiles
    from app.lead.report.page import AskFolder, ReportPage
    from app.lead.study.page import StudyPage

RAIL_WIDTH = 212


@runtime_checkable
class ClosesOpen(Protocol):
    """A page on which something may be open."""

    def close_open(self) -> bool:
        """Close it; tell whether there was anything."""


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
        reading: LeadReading | None = None,
        parent: QWidget | None = None,
        ask_path: AskPath = ask_path,
        ask_files: AskFiles = ask_recordings,
        ask_folder: AskFolder = ask_folder,
    ) -> None:
        super().__init__(parent)
        self._study = study
        reading = read_lead(study) if reading is None else reading
        self.watch = StudyWatch(study, self)
        self.presenter = AgreementPresenter(study, self.watch, reading.overview.conditions, self)
        self.transfers = Transfers(study, self)
        self.messages = MessageBar()
        self.study_presenter = StudyPresenter(study, reading, self)
        self.recordings = RecordingsStation(study, reading, ask_path, ask_files, self)
        self.panel = PanelPresenter(study, self)
        self.judging = VerdictReading(study, self)
        self.verdict = VerdictStation(study, self.judging, ask_path, self)
        self.report = ReportPresenter(study, self.judging, self)
        self._ask_path, self._ask_folder = ask_path, ask_folder
        #: In the order of the job; one line for each.
        self.stations = (
            Station("Study", self.study_presenter.state, lambda: self.study_page),
            Station("Recordings", self.recordings.state, lambda: self.recordings.page),
            Station("Panel", self.panel.state, lambda: self.panel_page),
            Station("Agreement", self.presenter.state, lambda: self.agreement_page),
            Station("Verdict", self.verdict.state, lambda: self.verdict.page),
            Station("Report", self.report.state, lambda: self.report_page),
        )
        self.rail = StationRail(self.stations)
        self._build()
        self._connect()
        self.watch.start()
        self.recordings.presenter.start()
        self.judging.look()
        self.rail.refresh()
        self.rail.choose("agreement")

    @functools.cached_property
    def study_page(self) -> StudyPage:
        """The page of the study."""
        from app.lead.study.page import StudyPage

        return StudyPage(self.study_presenter)

    @functools.cached_property
    def panel_page(self) -> PanelPage:
        """The page of the panel."""
        from app.lead.panel.page import PanelPage

        return PanelPage(self.panel)

    @functools.cached_property
    def agreement_page(self) -> AgreementPage:
        """The page of the agreement."""
        from app.lead.agreement.page import AgreementPage

        page = AgreementPage(self.presenter, self.transfers, self._ask_path)
        page.panel_asked.connect(lambda: self.rail.choose("panel"))
        return page

    @functools.cached_property
    def report_page(self) -> ReportPage:
        """The page of the report."""
        from app.lead.report.page import ReportPage

        return ReportPage(self.report, self._ask_folder)

    def show_station(self, station: Station) -> None:
        """Show the page of a station."""
        self.messages.clear()
        page = station.page()
        if page is not None:
            self._stack.addWidget(page)
            self._stack.setCurrentWidget(page)

    def showEvent(self, event: QShowEvent) -> None:
        """Let the keys work on the first plot at once."""
        super().showEvent(event)
        self.agreement_page.take_focus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc closes a message or what is open, else goes back; ``?`` shows the keys."""
        if event.key() == Qt.Key.Key_Escape and self.messages.isVisible():
            self.messages.clear()
        elif event.key() == Qt.Key.Key_Escape:
            page = self._stack.currentWidget()
            if not (isinstance(page, ClosesOpen) and page.close_open()):
                self.go_back()
        elif event.text() == "?":
            self.keys_card.open()
        else:
            super().keyPressEvent(event)

    def at_stake(self) -> str:
        """Say what would be lost if the desk were left now; empty when nothing."""
        told = [each.at_stake() for each in (self.recordings, self.panel)]
        return " ".join(filter(None, told))

    def go_back(self) -> None:
        """Go back to the doors; what is not kept is asked about."""
        leave_or_ask(self, self.at_stake(), self.left.emit, "Leave")

    def _build(self) -> None:
        self.keys_card = KeysCard(self)
        self._stack = QStackedWidget()
        in_row(self._build_rail(), Stretched(self._stack), of=self, gap_px=0)
        self.messages.hang_in(self._stack, QMargins(28, 12, 20, 0))
        self.keys_card.set_keys(
            [(f"Ctrl+{place}", each.key) for place, each in enumerate(self.stations, start=1)]
            + [
                ("Up, Down", "another row, in the first plot or table"),
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
        left = Qt.AlignmentFlag.AlignLeft
        side = QFrame()
        side.setObjectName("rail")
        side.setAutoFillBackground(True)
        side.setBackgroundRole(side.palette().ColorRole.Base)
        side.setFixedWidth(RAIL_WIDTH)
        in_column(
            in_column(title, name, gap_px=4, margins_px=(24, 20, 16, 12)),
            self.rail,
            Air(share=1),
            in_column(
                Aligned(keys, left), Aligned(back, left), gap_px=0, margins_px=(24, 0, 16, 16)
            ),
            of=side,
            gap_px=0,
        )
        return side

    def _connect(self) -> None:
        self.rail.station_chosen.connect(self.show_station)
        for place, station in enumerate(self.stations, start=1):
            shortcut = QShortcut(QKeySequence(f"Ctrl+{place}"), self)
            shortcut.activated.connect(lambda key=station.key: self.rail.choose(key))
        self.watch.progress_changed.connect(self._show_seats)
        for source in (
            self.watch,
            self.presenter,
            self.transfers,
            self.panel,
            self.recordings,
            self.judging,
            self.verdict,
            self.report,
        ):
            source.problem_raised.connect(self._tell_problem)
        self.recordings.told.connect(self.messages.tell)
        self.recordings.form_left.connect(self.messages.clear)
        self.recordings.presenter.changed.connect(self.rail.refresh)
        self.presenter.changed.connect(self._show_seats)
        self.transfers.told.connect(self.messages.tell)
        self.transfers.offered.connect(self._offer)
        self.judging.changed.connect(self.rail.refresh)
        self.verdict.told.connect(self.messages.tell)
        self.report.told.connect(self.messages.tell)
        self.report.changed.connect(self.rail.refresh)
        self.verdict.panel_asked.connect(lambda: self.rail.choose("panel"))
        self.messages.action_asked.connect(self._add_offered)
        self.transfers.scores_brought.connect(self.watch.look)
        self.panel.seat_added.connect(self.watch.look)

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
        self.panel.take_seats(self.watch.seats, self.presenter.brought_evaluators())
        self.rail.refresh()

    def _tell_problem(self, problem: RatingsError) -> None:
        self.messages.tell(problem.what_happened, problem.what_to_do, "attention")

    def put_away(self) -> None:
        """Look no more, and stop what is under way."""
        self.watch.stop()
        self.report.put_away()
        self.judging.stop()
        self.recordings.presenter.stop()
        self.recordings.bringing.work.cancel()
