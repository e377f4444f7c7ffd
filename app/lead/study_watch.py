"""Looks at the study now and then, and tells when scores or sessions have moved on."""

from PySide6.QtCore import QObject, QTimer, Signal

from ratings.errors import RatingsError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import SessionSeat, session_seats
from ratings.storage.study_folder import Study

POLL_MS = 2000


class StudyWatch(QObject):
    """Notices what other windows and other programs have added to the study.

    Signals
    -------
    scores_changed()
        There are scores that were not there at the last look, or a pair was locked with its notes.
    progress_changed()
        A session was opened, heard, locked or added.
    problem_raised(RatingsError)
        The study could not be read; told once until it can be read again.
    """

    scores_changed = Signal()
    progress_changed = Signal()
    problem_raised = Signal(object)  # RatingsError

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._desk = LeadDesk(study)
        self._scores: tuple[int, int] | None = None
        self.seats: tuple[SessionSeat, ...] = ()
        self._is_in_trouble = False
        self._timer = QTimer(self)
        self._timer.setInterval(POLL_MS)
        self._timer.timeout.connect(self.look)

    def start(self) -> None:
        """Look now and every two seconds from now on."""
        self.look()
        self._timer.start()

    def stop(self) -> None:
        """Look no more."""
        self._timer.stop()

    def look(self) -> None:
        """Look once."""
        try:
            scores, _, brought = self._desk.last_change()
            seats = session_seats(self._study)
        except RatingsError as problem:
            if not self._is_in_trouble:
                self._is_in_trouble = True
                self.problem_raised.emit(problem)
            return
        self._is_in_trouble = False
        has_moved, self.seats = seats != self.seats, seats
        is_new, self._scores = (scores, brought) != self._scores, (scores, brought)
        if has_moved:
            self.progress_changed.emit()
        if is_new or has_moved:
            self.scores_changed.emit()
