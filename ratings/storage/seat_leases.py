"""Who has a seat open now: told to whoever opens it a second time."""

import contextlib
import json
import platform
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from ratings.storage.blind_study import BlindStudy, utc_now
from ratings.storage.held_files import HeldFile, hold, is_held


@dataclass(frozen=True, slots=True)
class SeatHolder:
    """The program that has a seat open.

    Attributes
    ----------
    machine
        Name of the computer; empty when it is not known.
    is_this_machine
        Whether it is the computer on which this is asked.
    since
        In UTC; None when it is not known.
    """

    machine: str
    is_this_machine: bool
    since: datetime | None


class SeatLease:
    """A seat that is open here.

    Attributes
    ----------
    other
        Who had it open already when it was taken; None when nobody had.
    """

    def __init__(self, held: HeldFile | None, other: SeatHolder | None) -> None:
        self._held = held
        self.other = other

    def release(self) -> None:
        """Leave the seat; a second time does nothing."""
        if self._held is not None:
            self._held.release()


def take_seat(study: BlindStudy, session_id: int) -> SeatLease:
    """Tell others that a seat is open here, until it is released or this program ends.

    Nobody is kept away: a seat that is open twice is a thing to be told, and its scores are safe.
    """
    path = _lease_file(study, session_id)
    try:
        held = None if study.is_read_only else hold(path)
        if held is not None:
            about = {"machine": platform.node(), "since": utc_now().isoformat()}
            held.write(json.dumps(about).encode())
            return SeatLease(held, None)
    except OSError:
        # A disk without locks can tell nobody; that is no reason to keep somebody from listening.
        return SeatLease(None, None)
    return SeatLease(None, seat_holder(study, session_id))


def seat_holder(study: BlindStudy, session_id: int) -> SeatHolder | None:
    """Return who has a seat open now; None when nobody has, or it was left by a killed program."""
    path = _lease_file(study, session_id)
    if not is_held(path):
        return None
    machine, since = "", None
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
        about = json.loads(path.read_bytes())
        machine = str(about["machine"])
        since = datetime.fromisoformat(about["since"])
    return SeatHolder(machine, machine == platform.node(), since)


def _lease_file(study: BlindStudy, session_id: int) -> Path:
    return study.folder.path / f".seat-{session_id}.open"
