"""The one window: it joins the doors, the rooms behind them and the study that is open."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QMainWindow,
    QStackedWidget,
    QWidget,
)

from app.background import database
from app.background.jobs import Job, Step
from app.doors_page import DoorsPage
from app.evaluator.room import EvaluatorRoom
from app.lead.room import LeadRoom
from app.opening import (
    Opened,
    Opening,
    mend_clip,
    missing_of,
    prepare_seats,
    studies_folder,
)
from app.parts.asking import HoldsWork, SavesEntries, leave_or_ask
from app.parts.file_asking import ask_folder
from app.parts.message_bar import MessageBar
from app.parts.theme import apply_theme
from app.settings import Settings
from app.station import PutsAway, Room, Station
from ratings.errors import RatingsError

if TYPE_CHECKING:
    from app.playback.player import Player
    from ratings.storage.blind_study import BlindStudy


Result = TypeVar("Result")


class MainWindow(QMainWindow):
    """Holds the open study, the player and the screen in use; the shell of the rooms."""

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self.settings = settings
        self.study: BlindStudy | None = None
        self.has_rated = False
        self.screen_in_use: QWidget | None = None
        self._player: Player | None = None
        self._looking: Job[tuple[Path, ...]] | None = None
        self._may_close = False
        #: Stands for what was asked for last and is being read.
        self._wish: object = None
        self.setWindowTitle("Twinset")
        self.setMinimumSize(960, 540)
        self.resize(1280, 720)
        self._stack = QStackedWidget()
        self.setCentralWidget(self._stack)
        # A room for each who comes in, in the order of their doors.
        self.evaluator = EvaluatorRoom(self, prepare_seats, mend_clip)
        self.lead = LeadRoom(self)
        self.rooms: tuple[Room, ...] = (self.evaluator, self.lead)
        self.doors = DoorsPage(settings, [room.station for room in self.rooms])
        self._stack.addWidget(self.doors)
        self.opening = Opening(self)
        self._connect()

    def _connect(self) -> None:
        doors, opening = self.doors, self.opening
        doors.station_asked.connect(self._enter)
        doors.open_asked.connect(self._ask_study)
        doors.make_asked.connect(self.lead.show_new_study)
        doors.sample_asked.connect(lambda: self.open(None))
        doors.recent_asked.connect(self.open)
        doors.recent_removed.connect(self._forget)
        doors.messages.action_asked.connect(self._stop_waiting)
        doors.theme_chosen.connect(self._choose_theme)
        opening.stepped.connect(doors.show_progress)
        opening.late.connect(lambda: doors.tell_waiting(opening.name))
        opening.opened.connect(self._take)
        opening.refused.connect(self._refuse)
        opening.ended.connect(self._end_opening)

    def open(self, path: Path | None) -> None:
        """Open a study in the background; None for the sample study."""
        self.opening.begin(path)
        self.show_doors()
        self.doors.show_progress(Step(0.0, f"Opening {self.opening.name}"))

    def show_doors(self) -> None:
        """Go back to the doors."""
        self.show_screen(None)
        self._show_recent()
        if self.study is not None and not self.opening.is_busy:
            study = self.study
            self.when_read(
                lambda: [room.station.state() for room in self.rooms],
                lambda states: self.doors.show_study(study, states),
                self.doors.tell,
            )

    def tell_at_the_doors(self, problem: RatingsError) -> None:
        """Go back to the doors, and say there what went wrong."""
        self.show_doors()
        self.doors.tell(problem)

    def when_read(
        self,
        read: Callable[[], Result],
        show: Callable[[Result], None],
        refused: Callable[[RatingsError], None] | None = None,
    ) -> None:
        """Show something once what it shows was read, unless another is wanted meanwhile."""
        self._wish = wish = object()

        def if_wanted(act: Callable[[Any], None], outcome: object) -> None:
            if self._wish is wish:
                act(outcome)

        database.ask(
            self,
            read,
            lambda result: if_wanted(show, result),
            lambda problem: if_wanted(refused or self.tell_at_the_doors, problem),
        )

    def show_screen(self, screen: QWidget | None) -> None:
        """Show a screen in place of the one before; None for the doors."""
        self._wish = None
        old, self.screen_in_use = self.screen_in_use, screen
        if screen is None:
            self._stack.setCurrentWidget(self.doors)
        else:
            self._stack.addWidget(screen)
            self._stack.setCurrentWidget(screen)
            if screen.focusWidget() is None:
                # A screen that has chosen where its keys begin keeps them.
                screen.setFocus(Qt.FocusReason.OtherFocusReason)
        if old is not None:
            if isinstance(old, PutsAway):
                old.put_away()
            self._stack.removeWidget(old)
            old.deleteLater()

    def the_player(self) -> Player:
        """Return the one player, made when it is first needed."""
        from app.playback.player import Player

        if self._player is None:
            self._player = Player(self)
        return self._player

    def tell_defect(self, words: str) -> None:
        """Say on the screen in use that the program itself has failed somewhere."""
        place = self.doors if self.screen_in_use is None else self.screen_in_use
        bar = place.findChild(MessageBar)
        if bar is None:
            return
        happened = "Something in the program went wrong; scores given so far are kept."
        to_do = f"You can go on. Details for its makers are in {words}."
        if bar.isVisible() and bar.accessibleName() == f"{happened} {to_do}":
            # A fault in drawing would otherwise be told, drawn and told again without end.
            return
        bar.tell(happened, to_do, "attention")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter press the button that has the keys, as Space does."""
        focused = self.focusWidget()
        is_enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if is_enter and isinstance(focused, QAbstractButton) and not event.isAutoRepeat():
            focused.click()
        else:
            super().keyPressEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Put everything away; what is not kept is asked about first."""
        at_stake = "" if self._may_close else self._at_stake()
        if at_stake:
            event.ignore()
            leave_or_ask(self, at_stake, self._close_at_once, "Close all the same")
            return
        screen = self.screen_in_use
        if isinstance(screen, SavesEntries) and not screen.is_put_away:
            screen.put_away(self._close_later)
            if not screen.is_put_away:
                # What was given is being saved; a refusal is told there and keeps it open.
                event.ignore()
                return
        self.show_screen(None)
        for room in self.rooms:
            room.put_away()
        self.opening.abandon()
        if self._player is not None:
            self._player.close()
        self._close_study()
        super().closeEvent(event)

    def _at_stake(self) -> str:
        holders = (self.screen_in_use, *self.rooms)
        told = [each.at_stake() for each in holders if isinstance(each, HoldsWork)]
        return " ".join(filter(None, told))

    def _close_later(self) -> None:
        # It may be in the middle of its closing already.
        QTimer.singleShot(0, self, lambda: self.close() if self.isVisible() else None)

    def _close_at_once(self) -> None:
        self._may_close = True
        self.close()

    def _enter(self, station: Station) -> None:
        page = station.page()
        if page is not None:
            self.show_screen(page)

    def _take(self, result: Opened) -> None:
        self._close_study()
        self.study = study = result.study
        self.settings.last_study = str(study.folder.path)
        self.settings.remember_study(str(study.folder.path))
        self.setWindowTitle(f"{study.facts.name} - Twinset")
        if result.notice is not None:
            self.doors.tell(result.notice)

    def _close_study(self) -> None:
        for room in self.rooms:
            room.leave_study()
        if self.study is not None:
            # After all that was asked of it.
            database.ask(self, self.study.close, lambda _nothing: None, self.doors.tell)
        self.study = None

    def _refuse(self, problem: RatingsError) -> None:
        if self.study is None:
            self.doors.show_no_study()
        self.doors.tell(problem)

    def _end_opening(self) -> None:
        # Whoever has gone on to make a study meanwhile is not called back.
        if self.study is not None and self.screen_in_use is None:
            self.show_doors()

    def _stop_waiting(self) -> None:
        self.opening.abandon()
        self.doors.messages.clear()
        if self.study is None:
            self.doors.show_no_study()
        self.show_doors()

    def _show_recent(self) -> None:
        """List the studies opened lately; whether they are there is found out on another thread."""
        open_now = None if self.study is None else self.study.folder.path
        paths = [Path(path) for path in self.settings.recent_studies]
        paths = [path for path in paths if path != open_now]
        self.doors.recent.show_studies(paths)
        if paths and self._looking is None:
            # One on a network place that is away may take minutes to say so.
            self._looking = job = Job(lambda _progress: missing_of(paths), self)
            job.succeeded.connect(self.doors.recent.show_missing)
            job.ended.connect(self._end_looking)
            job.start()

    def _end_looking(self) -> None:
        self._looking = None

    def _forget(self, path: Path) -> None:
        self.settings.forget_study(str(path))
        if self.settings.last_study == str(path):
            self.settings.last_study = ""
        self._show_recent()

    def _ask_study(self) -> None:
        last = self.settings.last_study
        start = Path(last).parent if last else studies_folder()
        chosen = ask_folder(self, "Choose the folder of a study", start)
        if chosen is not None:
            self.open(chosen)

    def _choose_theme(self, mode: str) -> None:
        match mode:
            case "light" | "dark" | "system":
                self.settings.theme_mode = mode
                application = QApplication.instance()
                if isinstance(application, QApplication):
                    apply_theme(application, mode)
