"""What each of the panel was played, today and in the last seven days, in figures and in words."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.playback.dose import (
    FULL_PERCENT,
    HALF_PERCENT,
    Listened,
    minutes_in_words,
    played_elsewhere,
)
from ratings.acoustics.exposure import SITE_RULES_FIRST
from ratings.design.orders import hiding_words
from ratings.errors import RatingsError
from ratings.storage.exposure_rows import Played
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import Study
from ratings.study.listening import Evaluator

DAYS_OF_WEEK = 7
NOTHING = "-"
NOT_KNOWN = "not known"

HEADINGS = ("played", "level", "day's dose", "played", "level", "week's dose")

RULES = (
    "A day's dose is 85 dB(A) for 8 h, allowed time halves per 3 dB (NIOSH 98-126). A week's dose "
    "is 80 dB(A) for 40 h (ITU-T H.870, which is made for personal players: a guide here). The "
    "last 7 days end with today. The day counts all studies on this machine for whoever has the "
    "same name, the week this study only; a sound whose level is not known is in no dose. "
    f"{SITE_RULES_FIRST}"
)


@dataclass(frozen=True, slots=True)
class ExposureRow:
    """One evaluator's line: the code and a cell for each of `HEADINGS`."""

    evaluator: str
    cells: tuple[str, ...]
    is_over: bool


@dataclass(frozen=True, slots=True)
class PanelExposure:
    """The finding in a sentence, and the lines of those who were played something."""

    finding: str
    rows: tuple[ExposureRow, ...]


@dataclass(frozen=True, slots=True)
class PanelReading:
    """What the page shows beside the seats.

    Attributes
    ----------
    hiding
        How well the null pair and the repeat are hidden, in words; may be empty.
    problems
        Why what was played elsewhere on this machine is not counted.
    """

    exposure: PanelExposure
    hiding: str
    problems: tuple[RatingsError, ...]


def read_panel(study: Study, people: Sequence[Evaluator]) -> PanelReading:
    """Read what everybody was played, today on this machine from all studies."""
    desk = LeadDesk(study)
    today, week = desk.exposure_today(), desk.exposure_of_days(DAYS_OF_WEEK)
    hiding = hiding_words(len(desk.codes()) - 1, len(desk.conditions()))
    problems = []
    for person in people:
        elsewhere = played_elsewhere(person, study)
        today.setdefault(person.code, []).extend(elsewhere.stretches)
        if elsewhere.problem is not None:
            problems.append(elsewhere.problem)
    return PanelReading(panel_exposure(today, week), hiding, tuple(problems))


def panel_exposure(
    today: Mapping[str, Sequence[Played]], week: Mapping[str, Sequence[Played]]
) -> PanelExposure:
    """Judge what was played.

    Parameters
    ----------
    today, week
        What everybody was played today and in the last seven days, by evaluator code.
    """
    people = {
        code: (Listened.of(today.get(code, ())), Listened.of(played))
        for code, played in week.items()
        if played or today.get(code)
    }
    rows = tuple(_row(code, *sums) for code, sums in people.items())
    return PanelExposure(_finding(people), rows)


def _row(code: str, today: Listened, week: Listened) -> ExposureRow:
    week_percent = week.known.weekly_dose_percent
    cells = (
        *_cells(today, today.known.niosh_dose_percent),
        *_cells(week, week_percent),
    )
    return ExposureRow(code, cells, today.is_full or round(week_percent) >= FULL_PERCENT)


def _cells(listened: Listened, dose_percent: float) -> tuple[str, str, str]:
    if listened.played_s <= 0:
        return NOTHING, NOTHING, NOTHING
    minutes = minutes_in_words(listened.played_s)
    if listened.known.duration_s <= 0:
        return minutes, NOT_KNOWN, NOT_KNOWN
    level_db_a = listened.known.level_db_a
    level = "silence" if level_db_a == -math.inf else f"{level_db_a:.0f} dB(A)"
    if listened.unknown_s >= 30:
        level += f"\nin {minutes_in_words(listened.known.duration_s)}"
    dose = "under 1 %" if dose_percent < 1 else f"{dose_percent:.0f} %"
    return minutes, level, dose


def _finding(people: Mapping[str, tuple[Listened, Listened]]) -> str:
    if not people:
        return "Nobody has listened in the last 7 days."
    full = [code for code, (today, _) in people.items() if today.is_full]
    if full:
        return f"{_have(full)} reached a full day's dose today: let them rest until tomorrow."
    weary = [code for code, (_, week) in people.items() if _week_percent(week) >= FULL_PERCENT]
    if weary:
        return f"{_have(weary)} reached a week's dose in the last 7 days: let them rest."
    half = [code for code, (today, _) in people.items() if today.is_half]
    if half:
        return f"{_have(half)} reached half of a day's dose today."
    half = [code for code, (_, week) in people.items() if _week_percent(week) >= HALF_PERCENT]
    if half:
        return f"{_have(half)} reached half of a week's dose in the last 7 days."
    weeks = [week for _, week in people.values()]
    if all(week.known.duration_s <= 0 for week in weeks):
        return "No level is known, so no dose: recordings and output must both be calibrated."
    if any(week.unknown_s > 0 for week in weeks):
        return "Nobody has reached half of a dose, as far as the levels are known."
    return "Nobody has reached half of a dose, neither of a day's nor of a week's."


def _week_percent(week: Listened) -> int:
    return round(week.known.weekly_dose_percent)


def _have(codes: Sequence[str]) -> str:
    if len(codes) == 1:
        return f"{codes[0]} has"
    return f"{', '.join(codes[:-1])} and {codes[-1]} have"
