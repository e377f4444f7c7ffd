"""How much sound an ear took in: energy added up, equivalent level, dose against three rules."""

import math
from dataclasses import dataclass
from typing import Self

from ratings.errors import MeasurementError
from ratings.study.constants import REFERENCE_PRESSURE_PA

WORKING_DAY_S = 8 * 3600.0
WORKING_WEEK_S = 40 * 3600.0

NIOSH_LEVEL_DB_A = 85.0
"""For 8 h with 3 dB exchange: NIOSH publication 98-126 (1998), section 1.1."""
WEEKLY_LEVEL_DB_A = 80.0
"""For 40 h a week, adults: ITU-T H.870; written for personal players, so a guide only."""
LOWER_ACTION_DB_A = 80.0
UPPER_ACTION_DB_A = 85.0
LIMIT_DB_A = 87.0
"""Daily exposure over 8 h: directive 2003/10/EC, article 3. The limit counts hearing protectors."""

SITE_RULES_FIRST = "Site rules and local codes come first."


@dataclass(frozen=True, slots=True)
class Exposure:
    """A-weighted sound exposure at the ear; two of them add up.

    Attributes
    ----------
    energy_pa2_h
        Mean square pressure times hours, in Pa^2 h.
    duration_s
        Time listened, with silence between.

    References
    ----------
    Sound exposure: IEC 61252:2017, 3 (from memory).
    """

    energy_pa2_h: float = 0.0
    duration_s: float = 0.0

    @classmethod
    def of(cls, level_db_a: float, duration_s: float) -> Self:
        """Exposure to an equivalent level for a time; minus infinity is silence.

        Raises
        ------
        MeasurementError
            When the level is not a number, or the time is negative or not finite.
        """
        if math.isnan(level_db_a) or level_db_a == math.inf:
            raise MeasurementError(
                "The level of what was played is not known, so there is no exposure.",
                "Calibrate the playback, and listen again.",
            )
        if not 0.0 <= duration_s < math.inf:
            raise MeasurementError(
                f"{duration_s:g} s is not a listening time.", "Give 0 s or more."
            )
        return cls(_mean_square_pa2(level_db_a) * duration_s / 3600.0, duration_s)

    def __add__(self, other: "Exposure") -> "Exposure":
        return Exposure(self.energy_pa2_h + other.energy_pa2_h, self.duration_s + other.duration_s)

    @property
    def level_db_a(self) -> float:
        """Equivalent level over the time listened; minus infinity without any."""
        return self._level_over_db_a(self.duration_s)

    @property
    def daily_level_db_a(self) -> float:
        """Equivalent level as if it all had been spread over 8 h (ISO 1999:2013, L_EX,8h)."""
        return self._level_over_db_a(WORKING_DAY_S)

    @property
    def niosh_dose_percent(self) -> float:
        """Share of a day's dose: 100 for 85 dB(A) over 8 h, doubled by every 3.01 dB.

        Notes
        -----
        Equal energy, of which the rule's 3 dB is the rounded form: 88 dB(A) for 4 h is 99.8 %.
        """
        return self._dose_percent(NIOSH_LEVEL_DB_A, WORKING_DAY_S)

    @property
    def weekly_dose_percent(self) -> float:
        """Share of a week's dose: 100 for 80 dB(A) over 40 h, which is 1.6 Pa^2 h."""
        return self._dose_percent(WEEKLY_LEVEL_DB_A, WORKING_WEEK_S)

    def in_words(self) -> str:
        """Say what the ear took in, taken as one day, against each rule."""
        if self.energy_pa2_h == 0.0:
            return f"Nothing was heard. {SITE_RULES_FIRST}"
        return (
            f"{_time_in_words(self.duration_s)} at {self.level_db_a:.1f} dB(A): over a working day "
            f"of 8 h that is {self.daily_level_db_a:.1f} dB(A), "
            f"{_percent(self.niosh_dose_percent)} of the daily dose of NIOSH and "
            f"{_percent(self.weekly_dose_percent)} of the weekly dose of ITU-T H.870. "
            f"{self.action_in_words()} {SITE_RULES_FIRST}"
        )

    def action_in_words(self) -> str:
        """Say which value of directive 2003/10/EC the day reaches."""
        level_db_a = self.daily_level_db_a + 1e-9
        if level_db_a > LIMIT_DB_A + 1e-6:
            return "This is above the limit of 87 dB(A) of 2003/10/EC: stop listening for today."
        if level_db_a >= UPPER_ACTION_DB_A:
            return (
                "This reaches the upper action value of 85 dB(A) of 2003/10/EC: stop for today, "
                "or wear protection."
            )
        if level_db_a >= LOWER_ACTION_DB_A:
            return "This reaches the lower action value of 80 dB(A) of 2003/10/EC: play it softer."
        return "This stays below the action values of 2003/10/EC."

    def _level_over_db_a(self, time_s: float) -> float:
        if self.energy_pa2_h == 0.0 or time_s == 0.0:
            return -math.inf
        mean_square = self.energy_pa2_h * 3600.0 / time_s
        return 10 * math.log10(mean_square / REFERENCE_PRESSURE_PA**2)

    def _dose_percent(self, level_db_a: float, time_s: float) -> float:
        return 100.0 * self.energy_pa2_h / (_mean_square_pa2(level_db_a) * time_s / 3600.0)


def allowed_s(
    level_db_a: float,
    criterion_db_a: float = NIOSH_LEVEL_DB_A,
    criterion_s: float = WORKING_DAY_S,
    exchange_db: float = 3.0,
) -> float:
    """Return how long a level may be heard until the dose is full, in seconds.

    Parameters
    ----------
    level_db_a
        Minus infinity, silence, may be heard for ever.
    criterion_db_a, criterion_s
        Level and time that make the full dose; 80 dB(A) and 40 h for a week by ITU-T H.870.

    References
    ----------
    NIOSH publication 98-126 (1998), section 1.1.2: t = 480 / 2^((L - 85) / 3) min.
    """
    if level_db_a == -math.inf:
        return math.inf
    return criterion_s * math.pow(2.0, (criterion_db_a - level_db_a) / exchange_db)


def _mean_square_pa2(level_db_a: float) -> float:
    return float(REFERENCE_PRESSURE_PA**2 * 10.0 ** (level_db_a / 10.0))


def _percent(share: float) -> str:
    return "less than 1 %" if share < 1.0 else f"{share:.0f} %"


def _time_in_words(time_s: float) -> str:
    if time_s < 60.0:
        return f"{time_s:.0f} s"
    if time_s < 3600.0:
        return f"{time_s / 60.0:.0f} min"
    return f"{time_s / 3600.0:.1f} h"
