"""Keeps in the study what an evaluator is played, without holding the session up."""

from collections import deque
from collections.abc import Callable, Mapping
from typing import NamedTuple, Protocol

from PySide6.QtCore import QObject, QTimer, Signal, SignalInstance

from app.background import database
from app.playback.dose import Listened, machine_ledger
from app.playback.played import CountsPlaying, PlayedCount
from ratings.errors import RatingsError, StudyError
from ratings.storage.dose_ledger import DoseLedger
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.listening import Pair, Side

#: A killed program loses no more than this of the count.
KEEP_EVERY_MS = 10_000


class StatedPlayer(CountsPlaying, Protocol):
    """A player that counts, and says when it stops."""

    state_changed: SignalInstance

    @property
    def is_playing(self) -> bool: ...  # noqa: D102


class Stretch(NamedTuple):
    """What was played and is to be kept, at the mean level of the session.

    A side's own level would tell which clips are of one set to whoever looks into the file.
    """

    seconds: float
    level_db_a: float | None


class ExposureKeeper(QObject):
    """Counts while a pair is at hand, and writes every ten seconds and at every stop.

    Attributes
    ----------
    today
        What this study and, on this machine, all others had kept for this day when the session was
        opened, and all that was played since: a session that runs past midnight goes on counting.

    Signals
    -------
    changed
        More was played.
    problem_raised(RatingsError)
        Twice in a row the study could not be written; it is tried again.
    """

    changed = Signal()
    problem_raised = Signal(object)

    def __init__(
        self,
        desk: ListeningDesk,
        player: StatedPlayer,
        today: Listened,
        parent: QObject | None = None,
        session_level_db_a: Callable[[], float | None] = lambda: None,
        ledger: DoseLedger | None = None,
    ) -> None:
        super().__init__(parent)
        self._player = player
        self._count = PlayedCount(player)
        self._pair: Pair | None = None
        self._levels_db_a: Mapping[Side, float | None] = {}
        self._session_level_db_a = session_level_db_a
        self._log = _Log(desk, machine_ledger() if ledger is None else ledger)
        self._failures = 0
        self._is_writing = False
        self.today = today
        self._timer = QTimer(self, interval=KEEP_EVERY_MS)
        self._timer.timeout.connect(self.keep)
        player.state_changed.connect(self._on_state)

    def begin(self, pair: Pair, levels_db_a: Mapping[Side, float | None]) -> None:
        """Count for a pair that was just loaded.

        Parameters
        ----------
        levels_db_a
            A-weighted equivalent level at the ear of each side; None when it is not known.
        """
        self._pair, self._levels_db_a = pair, levels_db_a
        self._count.begin()

    def end(self) -> None:
        """Take the rest of a pair before it is unloaded."""
        self.keep()
        self._pair = None

    def keep(self) -> None:
        """Take what was played since the last time, and have it written."""
        if (self._take() or self._log.waits) and not self._is_writing:
            self._is_writing = True
            database.ask(self, self._log.write, self._on_written, self._on_refused, self._on_ended)

    def close(self) -> None:
        """Count no more; what is left is written by `write_rest`."""
        self._timer.stop()
        self._player.state_changed.disconnect(self._on_state)
        self._take()
        self._pair = None

    def write_rest(self) -> None:
        """Write what is left, here and now: work for the worker.

        Raises
        ------
        StudyError
            When it cannot be written.
        """
        self._log.write()

    def _take(self) -> bool:
        if self._pair is None:
            return False
        pieces = self._count.take()
        for side, seconds in pieces.items():
            level_db_a = self._levels_db_a[side]
            mean_db_a = None if level_db_a is None else self._session_level_db_a()
            self._log.add(Stretch(seconds, mean_db_a))
            self.today = self.today.plus(seconds, level_db_a)
        if pieces:
            self.changed.emit()
        return bool(pieces)

    def _on_state(self) -> None:
        if self._player.is_playing:
            if not self._timer.isActive():
                self._timer.start()
        elif self._timer.isActive():
            self._timer.stop()
            self.keep()

    def _on_written(self, _nothing: None) -> None:
        self._failures = 0

    def _on_ended(self) -> None:
        self._is_writing = False

    def _on_refused(self, reason: RatingsError) -> None:
        self._failures += 1
        # The next piece tries again; once may be another program's passing write.
        if self._failures == 2:
            self.problem_raised.emit(
                StudyError(
                    "How long you have listened could not be written down.",
                    f"It is tried again. {reason.what_to_do}",
                )
            )


class _Log:
    """What waits to be written; added to by the window, written by the worker."""

    def __init__(self, desk: ListeningDesk, ledger: DoseLedger) -> None:
        self._desk = desk
        self._ledger = ledger
        self._waiting: deque[Stretch] = deque()

    @property
    def waits(self) -> bool:
        """Whether something is not yet in the study."""
        return bool(self._waiting)

    def add(self, stretch: Stretch) -> None:
        self._waiting.append(stretch)

    def write(self) -> None:
        """Write what waits; each stretch leaves the queue once it is on the disk."""
        while self._waiting:
            stretch = self._waiting[0]
            self._desk.note_exposure(stretch.seconds, stretch.level_db_a)
            self._waiting.popleft()
            self._ledger.note(
                self._desk.evaluator,
                self._desk.study,
                stretch.seconds,
                stretch.level_db_a,
            )
