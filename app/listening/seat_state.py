"""Where a seat stands when its evaluator comes in: answers, time left, and the sound of the day."""

from dataclasses import dataclass
from datetime import UTC, datetime

from app.playback.dose import Elsewhere, Listened, played_elsewhere
from ratings.storage.dose_ledger import DoseLedger
from ratings.storage.listening_desk import ListeningDesk
from ratings.storage.listening_rows import PairAnswers


@dataclass(frozen=True, slots=True)
class SeatState:
    """What brief and session begin with.

    Attributes
    ----------
    answers
        By pair id, see `ListeningDesk.answers`.
    seconds_left
        Estimate of the time that the rest of the session takes.
    is_break_due
        Whether the session stands in a proposed break that nobody has ended.
    today
        All that was played today, on this machine from all studies.
    elsewhere
        What of it was played from other studies, and why it may be more.
    had_known, had_unknown
        Whether anything of this study was ever played at a known, or at an unknown level.
    """

    answers: dict[int, PairAnswers]
    seconds_left: float
    is_break_due: bool
    today: Listened
    elsewhere: Elsewhere
    had_known: bool
    had_unknown: bool


def read_seat(desk: ListeningDesk, ledger: DoseLedger | None = None) -> SeatState:
    """Read where a seat stands.

    Parameters
    ----------
    ledger
        The count of what everybody was played, over all studies; None for this machine's.
    """
    answers = desk.answers()
    elsewhere = played_elsewhere(desk.evaluator, desk.study, ledger)
    before = desk.exposure_since(datetime.min.replace(tzinfo=UTC))
    return SeatState(
        answers=answers,
        seconds_left=desk.seconds_left(),
        is_break_due=desk.break_is_due(answers),
        today=Listened.of([*desk.exposure_today(), *elsewhere.stretches]),
        elsewhere=elsewhere,
        had_known=any(played.level_db_a is not None for played in before),
        had_unknown=any(played.level_db_a is None for played in before),
    )
