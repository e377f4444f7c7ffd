"""Looks at the study now and then, and tells when scores or sessions have moved on."""

from PySide6.QtCore import QObject, Signal

from app.background.database import Poll
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import SessionSeat, session_seats
from ratings.storage.study_folder import Study

POLL_MS = 2000

#: The numbers of the latest score and of the latest one brought in, and the seats.
_Read = tuple[tuple[int, int], tuple[SessionSeat, ...]]


class StudyWatch(Poll):
    """Notices what other windows and other programs have added to the study.

    Signals
    -------
    scores_changed()
        There are scores that were not there at the last look, or a pair was locked with its notes.
    progress_changed()
        A session was opened, heard, locked or added.
    """

    scores_changed = Signal()
    progress_changed = Signal()

    def __init__(self, study: Study, parent: QObject | None = None) -> None:
        super().__init__(self._read_moves, POLL_MS, parent)
        self._study = study
        self._desk = LeadDesk(study)
        self._scores: tuple[int, int] | None = None
        self.seats: tuple[SessionSeat, ...] = ()
        self.was_read.connect(self._tell_moves)

    def _read_moves(self) -> _Read:
        scores, _, brought = self._desk.last_change()
        return (scores, brought), session_seats(self._study)

    def _tell_moves(self, read: _Read) -> None:
        scores, seats = read
        has_moved, self.seats = seats != self.seats, seats
        is_new, self._scores = scores != self._scores, scores
        if has_moved:
            self.progress_changed.emit()
        if is_new or has_moved:
            self.scores_changed.emit()
