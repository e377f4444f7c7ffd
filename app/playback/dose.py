"""What somebody was played, added up: minutes, level and dose, in figures and in words."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Self

from PySide6.QtCore import QStandardPaths

from ratings.acoustics.exposure import Exposure
from ratings.errors import RatingsError, StudyError
from ratings.storage.blind_study import BlindStudy
from ratings.storage.dose_ledger import DoseLedger
from ratings.storage.exposure_rows import Played
from ratings.study.listening import Evaluator

HALF_PERCENT = 50
FULL_PERCENT = 100


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What somebody was played today on this machine from other studies.

    Attributes
    ----------
    problem
        Why it may be more than that; None when everything could be read.
    """

    stretches: tuple[Played, ...] = ()
    problem: RatingsError | None = None


def machine_ledger() -> DoseLedger:
    """Return this machine's count of what everybody was played, over all studies."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    return DoseLedger(Path(QStandardPaths.writableLocation(place)) / "dose")


def played_elsewhere(
    person: Evaluator, study: BlindStudy, ledger: DoseLedger | None = None
) -> Elsewhere:
    """Read what a person was played today from other studies; never refuses."""
    try:
        found = (machine_ledger() if ledger is None else ledger).today(person, study)
    except StudyError as problem:
        return Elsewhere(problem=problem)
    if not found.damaged:
        return Elsewhere(tuple(found.stretches))
    return Elsewhere(
        tuple(found.stretches),
        StudyError(
            "This machine's count of what was played today is damaged.",
            "The day's dose may be higher than is shown. Take more breaks than usual.",
        ),
    )


@dataclass(frozen=True, slots=True)
class Listened:
    """All that somebody was played in some time.

    Attributes
    ----------
    known
        Exposure to what was played at a known level.
    unknown_s
        Time played at a level that is not known; it is in no dose.
    """

    known: Exposure = field(default_factory=Exposure)
    unknown_s: float = 0.0

    @classmethod
    def of(cls, stretches: Iterable[Played]) -> Self:
        """Add up what the study has kept."""
        known, unknown_s = Exposure(), 0.0
        for seconds, level_db_a in stretches:
            if level_db_a is None:
                unknown_s += seconds
            else:
                known += Exposure.of(level_db_a, seconds)
        return cls(known, unknown_s)

    def plus(self, seconds: float, level_db_a: float | None) -> "Listened":
        """Add one more stretch."""
        more = Listened.of([Played(seconds, level_db_a)])
        return Listened(self.known + more.known, self.unknown_s + more.unknown_s)

    @property
    def played_s(self) -> float:
        """All time played, in s."""
        return self.known.duration_s + self.unknown_s

    @property
    def day_percent(self) -> int:
        """Whole percent of a day's dose by NIOSH."""
        return round(self.known.niosh_dose_percent)

    @property
    def is_half(self) -> bool:
        """Whether half of a day's dose is reached."""
        return self.day_percent >= HALF_PERCENT

    @property
    def is_full(self) -> bool:
        """Whether a whole day's dose is reached."""
        return self.day_percent >= FULL_PERCENT


def minutes_in_words(seconds: float) -> str:
    """Say a time in whole minutes, such as ``34 min`` and ``2 h 10 min``."""
    minutes = round(seconds / 60)
    if minutes < 1:
        return "less than 1 min"
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def percent_in_words(percent: float) -> str:
    """Say a share of a dose, such as ``4 %``; a little is less than 1 %, never none."""
    return "less than 1 %" if 0 <= percent < 1 else f"{percent:.0f} %"


def level_in_words(level_db_a: float) -> str:
    """Say a mean level in whole decibels."""
    if level_db_a == -math.inf:
        return "silence"
    return f"{level_db_a:.0f} dB(A) on average"
