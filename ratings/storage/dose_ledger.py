"""What people were played on this machine, over all studies: files that are only added to.

A line holds the mean level of a whole session, so that nobody can read from it which clip is loud.
"""

import errno
import json
import math
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from ratings.errors import StudyError, reason_of
from ratings.storage.blind_study import BlindStudy, utc_now
from ratings.storage.exposure_rows import Played
from ratings.storage.held_files import HeldFile, hold
from ratings.study.listening import Evaluator, name_key

_SILENCE_DB_A = -100.0
_LOUDEST_DB_A = 200.0
_DAY_S = 86_400.0
_WAIT_S = 2.0
_STEP_S = 0.02


class DayPlayed(NamedTuple):
    """What one person was played today from other studies.

    Attributes
    ----------
    stretches
        One for each line.
    damaged
        Lines of the day that cannot be read, of whomever they are.
    """

    stretches: list[Played]
    damaged: int


class DoseLedger:
    """One file for each day of this machine's place, a line for each stretch.

    A person is known by the name on the seat. Whoever has a code only is known in one study only.
    """

    def __init__(self, folder: Path, clock: Callable[[], datetime] = utc_now) -> None:
        self._folder = folder
        self._clock = clock

    def note(
        self, person: Evaluator, study: BlindStudy, seconds: float, level_db_a: float | None
    ) -> None:
        """Add what somebody was just played; waits for another program for 2 s at most.

        Parameters
        ----------
        level_db_a
            Mean level of the session at the ear; None when it is not known.

        Raises
        ------
        StudyError
            When it cannot be written.
        """
        name = name_key(person.name)
        if not name:
            return
        told = {
            "person": name,
            "study": _study_key(study),
            "ended_at": self._clock().isoformat(),
            "seconds": seconds,
            "level_db_a": None if level_db_a is None else max(level_db_a, _SILENCE_DB_A),
        }
        line = json.dumps(told, ensure_ascii=False) + "\n"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            held = self._held()
            try:
                _append(self._file(), line.encode())
            finally:
                held.release()
        except OSError as error:
            raise StudyError(
                f"What was played could not be added to this machine's count: {reason_of(error)}.",
                "It is in the study all the same. Look after the disk of this machine.",
            ) from error

    def today(self, person: Evaluator, study: BlindStudy) -> DayPlayed:
        """Return what a person was played today on this machine from other studies than this.

        Raises
        ------
        StudyError
            When the file of the day cannot be read.
        """
        try:
            lines = self._file().read_bytes().splitlines()
        except FileNotFoundError:
            return DayPlayed([], 0)
        except OSError as error:
            raise StudyError(
                f"This machine's count of what was played cannot be read: {reason_of(error)}.",
                "What was played from this study is counted.",
            ) from error
        name, own, stretches, damaged = name_key(person.name), _study_key(study), [], 0
        for line in filter(None, lines):
            try:
                who, which, played = _read(line)
            except (ValueError, KeyError, TypeError):
                damaged += 1
                continue
            if name and who == name and which != own:
                stretches.append(played)
        return DayPlayed(stretches, damaged)

    def _file(self) -> Path:
        # The day of the place where this machine stands, as for the study's own rows.
        return self._folder / f"{self._clock().astimezone().date().isoformat()}.jsonl"

    def _held(self) -> HeldFile:
        latest_s = time.monotonic() + _WAIT_S
        while (held := hold(self._folder / "writing.lock")) is None:
            if time.monotonic() > latest_s:
                raise TimeoutError(errno.ETIMEDOUT, "another program is writing to it")
            time.sleep(_STEP_S)
        return held


def _append(path: Path, line: bytes) -> None:
    with path.open("a+b") as stream:
        # A program that was killed in the middle of a line must not spoil this one.
        if stream.seek(0, 2) > 0:
            stream.seek(-1, 2)
            if stream.read(1) != b"\n":
                line = b"\n" + line
        stream.write(line)


def _read(line: bytes) -> tuple[str, str, Played]:
    told = json.loads(line)
    seconds, level_db_a = told["seconds"], told["level_db_a"]
    if not 0.0 <= float(seconds) <= _DAY_S:
        raise ValueError("no stretch of a day")
    if level_db_a is not None:
        level_db_a = float(level_db_a)
        if not _SILENCE_DB_A <= level_db_a <= _LOUDEST_DB_A:
            raise ValueError("no level")
        if level_db_a == _SILENCE_DB_A:
            level_db_a = -math.inf
    return str(told["person"]), str(told["study"]), Played(float(seconds), level_db_a)


def _study_key(study: BlindStudy) -> str:
    return f"{study.facts.created_at.isoformat()} {study.facts.name}"
