"""The one window: which screen is shown, and what passes between them.

Screens are imported when they are first shown, so that the first paint waits for none of them.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Concatenate, ParamSpec

from PySide6.QtCore import Qt, QThreadPool, QTimer
from PySide6.QtGui import QCloseEvent, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QMainWindow,
    QStackedWidget,
    QWidget,
)

from app.background.jobs import Job, Step
from app.doors_page import DoorsPage
from app.opening import Opened, mend_clip, missing_of, opened, prepare_seats, studies_folder
from app.parts.asking import HoldsWork, Question, leave_or_ask
from app.parts.file_asking import ask_folder
from app.parts.message_bar import MessageBar
from app.parts.theme import apply_theme
from app.settings import Settings
from ratings.errors import RatingsError

if TYPE_CHECKING:
    from app.evaluator.brief_presenter import BriefPresenter
    from app.lead.new_study.presenter import NewStudyPresenter
    from app.listening.pair_sound import SessionSound
    from app.playback.player import Player
    from ratings.storage.blind_study import BlindStudy
    from ratings.storage.listening_desk import ListeningDesk
    from ratings.storage.study_folder import Study


#: After this time without a step, whoever waits for a study is told that it does not answer.
PATIENCE_MS = 5000

Act = ParamSpec("Act")


def _told_at_the_doors(
    show: Callable[Concatenate[MainWindow, Act], None],
) -> Callable[Concatenate[MainWindow, Act], None]:
    """Let a screen that cannot be built, because the study is gone, lead back to the doors."""

    @functools.wraps(show)
    def guarded(window: MainWindow, /, *args: Act.args, **kwargs: Act.kwargs) -> None:
        try:
            show(window, *args, **kwargs)
        except RatingsError as problem:
            window.show_doors()
            window.doors.tell(problem)

    return guarded


class MainWindow(QMainWindow):
    """Holds the open study, the player and the screen in use."""

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self._settings = settings
        self._study: BlindStudy | None = None
        self._lead_study: Study | None = None
        self._player: Player | None = None
        self._brief: BriefPresenter | None = None
        self._job: Job[Opened] | None = None
        self._screen: QWidget | None = None
        self._put_away: Callable[[], None] | None = None
        self._new_study: NewStudyPresenter | None = None
        self._may_close = False
        self.setWindowTitle("Twinset")
        self.setMinimumSize(960, 540)
        self.resize(1280, 720)
        self._stack = QStackedWidget()
        self.setCentralWidget(self._stack)
        self.doors = DoorsPage(settings)
        self._stack.addWidget(self.doors)
        self.doors.evaluate_asked.connect(self.show_seats)
        self.doors.lead_asked.connect(self.show_lead)
        self.doors.open_asked.connect(self._ask_study)
        self.doors.make_asked.connect(self.show_new_study)
        self.doors.sample_asked.connect(lambda: self.open(None))
        self.doors.recent_asked.connect(self.open)
        self.doors.recent_removed.connect(self._forget)
        self.doors.messages.action_asked.connect(self._stop_waiting)
        self._waited_for = ""
        self._waiting = QTimer(self, interval=PATIENCE_MS, singleShot=True)
        self._waiting.timeout.connect(lambda: self.doors.tell_waiting(self._waited_for))
        self._looking: Job[tuple[Path, ...]] | None = None
        self._has_rated = self._may_lead = False
        self.doors.theme_chosen.connect(self._choose_theme)

    def open(self, path: Path | None) -> None:
        """Open a study in the background; None for the sample study.

        One that is being opened is waited for no longer.
        """
        self._abandon()
        self._job = job = Job(lambda progress: opened(path, progress), self)
        job.stepped.connect(self._follow)
        job.succeeded.connect(lambda result: self._take(job, result))
        job.refused.connect(lambda problem: self._refuse(job, problem))
        job.ended.connect(lambda: self._end_job(job))
        self._waited_for = "The sample" if path is None else path.name
        self.show_doors()
        self.doors.show_progress(Step(0.0, f"Opening {self._waited_for}"))
        self._waiting.start()
        job.start()

    def show_doors(self) -> None:
        """Go back to the doors."""
        self._show(None)
        self._show_recent()
        if self._study is not None and self._job is None:
            try:
                self.doors.show_study(self._study, self._state_words(self._study))
            except RatingsError as problem:
                self.doors.tell(problem)

    @_told_at_the_doors
    def show_seats(self) -> None:
        """Let an evaluator choose a seat."""
        if self._study is None:
            return
        from app.evaluator.seats_page import SeatsPage

        prepare_seats(self._study)
        page = SeatsPage(self._study)
        page.left.connect(self.show_doors)
        page.seat_chosen.connect(self.show_brief)
        self._show(page)

    @_told_at_the_doors
    def show_brief(self, session_id: int, *, is_from_pair: bool = False) -> None:
        """Show what to read and set before a session, or in the middle of it."""
        if self._study is None:
            return
        from app.evaluator.brief_page import BriefPage

        brief = self._brief_of(self._study, session_id)
        page = BriefPage(brief, is_from_pair=is_from_pair)
        page.left.connect(self.show_seats)
        page.begun.connect(lambda: self._show_session(brief.desk, brief.sound))
        self._show(page)
        self._put_away = page.put_away

    @_told_at_the_doors
    def show_lead(self) -> None:
        """Show the lead's desk; once after somebody has rated here, ask who comes in."""
        if self._study is None:
            return
        if self._has_rated and not self._may_lead:
            self._ask_who_leads()
            return
        from app.lead.lead_screen import LeadScreen
        from ratings.storage.study_folder import open_study

        if self._lead_study is None:
            # Measuring goes on behind the door, so it stays open with the window.
            self._lead_study = open_study(self._study.folder.path)
        screen = LeadScreen(self._lead_study)
        screen.left.connect(self.show_doors)
        self._show(screen)
        self._put_away = screen.put_away

    def _ask_who_leads(self) -> None:
        question = Question(
            self,
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
        self.show_lead()

    def show_new_study(self) -> None:
        """Let the lead make a study."""
        from app.lead.new_study.draft_keeping import DraftKeeper, drafts_folder
        from app.lead.new_study.page import NewStudyPage
        from app.lead.new_study.presenter import NewStudyPresenter

        if self._new_study is None:
            # It keeps the draft while the lead is elsewhere.
            keeper = DraftKeeper(drafts_folder(), self)
            self._new_study = NewStudyPresenter(studies_folder(), keeper=keeper, parent=self)
        page = NewStudyPage(self._new_study)
        page.left.connect(self.show_doors)
        page.study_made.connect(self.open)
        self._show(page)

    def tell_defect(self, words: str) -> None:
        """Say on the screen in use that the program itself has failed somewhere."""
        place = self.doors if self._screen is None else self._screen
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
        self._show(None)
        if self._new_study is not None:
            self._new_study.put_away()
        self._abandon()
        if self._player is not None:
            self._player.close()
        self._close_study()
        super().closeEvent(event)

    def _at_stake(self) -> str:
        holders = (self._screen, self._new_study)
        told = [each.at_stake() for each in holders if isinstance(each, HoldsWork)]
        return " ".join(filter(None, told))

    def _close_at_once(self) -> None:
        self._may_close = True
        self.close()

    @_told_at_the_doors
    def _show_session(self, desk: ListeningDesk, sound: SessionSound) -> None:
        from app.evaluator.session_presenter import SessionPresenter
        from app.evaluator.session_screen import SessionScreen

        presenter = SessionPresenter(desk, self._the_player(), sound)
        screen = SessionScreen(presenter)
        presenter.setParent(screen)
        screen.left.connect(self.show_doors)
        screen.device_asked.connect(lambda: self.show_brief(desk.session_id, is_from_pair=True))
        if self._brief is not None:
            # The player is in the middle of its report.
            queued = Qt.ConnectionType.QueuedConnection
            self._brief.level_lost.connect(screen.device_asked, queued)
        self._show(screen)
        self._put_away = screen.put_away
        self._has_rated = True
        screen.begin()

    def _brief_of(self, study: BlindStudy, session_id: int) -> BriefPresenter:
        """Give the seat's brief, with the level as it was confirmed before the session was left."""
        from app.evaluator.brief_presenter import BriefPresenter
        from ratings.storage.listening_desk import ListeningDesk

        brief = self._brief
        if brief is not None:
            if brief.desk.study is study and brief.desk.session_id == session_id:
                brief.come_back()
                return brief
            brief.deleteLater()
        mend = functools.partial(mend_clip, study.folder.path)
        desk = ListeningDesk(study, session_id, mend=mend)
        self._brief = BriefPresenter(desk, self._the_player(), self._settings, self)
        return self._brief

    def _show(self, screen: QWidget | None) -> None:
        old, self._screen = self._screen, screen
        if screen is None:
            self._stack.setCurrentWidget(self.doors)
        else:
            self._stack.addWidget(screen)
            self._stack.setCurrentWidget(screen)
            if screen.focusWidget() is None:
                # A screen that has chosen where its keys begin keeps them.
                screen.setFocus(Qt.FocusReason.OtherFocusReason)
        if self._put_away is not None:
            self._put_away()
            self._put_away = None
        if old is not None:
            self._stack.removeWidget(old)
            old.deleteLater()

    def _the_player(self) -> Player:
        from app.playback.player import Player

        if self._player is None:
            self._player = Player(self)
        return self._player

    def _take(self, job: Job[Opened], result: Opened) -> None:
        if job is not self._job:
            # It came when nobody waited for it any more.
            result.study.close()
            return
        self._close_study()
        self._study = study = result.study
        self._settings.last_study = str(study.folder.path)
        self._settings.remember_study(str(study.folder.path))
        self.setWindowTitle(f"{study.facts.name} - Twinset")
        if result.notice is not None:
            self.doors.tell(result.notice)

    def _close_study(self) -> None:
        for study in (self._study, self._lead_study):
            if study is not None:
                study.close()
        self._study = self._lead_study = None

    def _refuse(self, job: Job[Opened], problem: RatingsError) -> None:
        if job is not self._job:
            return
        if self._study is None:
            self.doors.show_no_study()
        self.doors.tell(problem)

    def _end_job(self, job: Job[Opened]) -> None:
        if job is not self._job:
            QThreadPool.globalInstance().reserveThread()
            return
        self._job = None
        self._waiting.stop()
        # Whoever has gone on to make a study meanwhile is not called back.
        if self._study is not None and self._screen is None:
            self.show_doors()

    def _state_words(self, study: BlindStudy) -> tuple[str, str]:
        from ratings.storage.listening_desk import session_seats

        seats = session_seats(study)
        finished = sum(seat.is_finished for seat in seats)
        waiting = sum(not seat.is_begun for seat in seats)
        begun = len(seats) - finished - waiting
        if finished == len(seats):
            evaluate = "Every seat has finished."
        else:
            evaluate = f"{waiting} not begun, {begun} under way; {seats[0].pair_count} pairs each."
        lead = f"{finished} of {len(seats)} evaluators have finished."
        return evaluate, lead

    def _show_recent(self) -> None:
        """List the studies opened lately; whether they are there is found out on another thread."""
        open_now = None if self._study is None else self._study.folder.path
        paths = [Path(path) for path in self._settings.recent_studies]
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
        self._settings.forget_study(str(path))
        if self._settings.last_study == str(path):
            self._settings.last_study = ""
        self._show_recent()

    def _follow(self, step: Step) -> None:
        self._waiting.start()
        self.doors.show_progress(step)

    def _stop_waiting(self) -> None:
        self._abandon()
        self.doors.messages.clear()
        if self._study is None:
            self.doors.show_no_study()
        self.show_doors()

    def _abandon(self) -> None:
        """Wait no longer for the study that is being opened."""
        self._waiting.stop()
        if self._job is not None:
            self._job.cancel()
            self._job = None
            # Its thread may hang for good; the work to come gets another one.
            QThreadPool.globalInstance().releaseThread()

    def _ask_study(self) -> None:
        last = self._settings.last_study
        start = Path(last).parent if last else studies_folder()
        chosen = ask_folder(self, "Choose the folder of a study", start)
        if chosen is not None:
            self.open(chosen)

    def _choose_theme(self, mode: str) -> None:
        match mode:
            case "light" | "dark" | "system":
                self._settings.theme_mode = mode
                application = QApplication.instance()
                if isinstance(application, QApplication):
                    apply_theme(application, mode)
