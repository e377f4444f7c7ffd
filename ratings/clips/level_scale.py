"""One full scale for clips from recordings of different sensitivity, so that levels stay true."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ratings.design.study_plan import calibration_shortcoming
from ratings.errors import RecordingError
from ratings.study.constants import REFERENCE_PRESSURE_PA

MOST_GAIN_DB = 120.0
LEAST_PA, MOST_PA = 1e-9, 1e6
"""Of a full scale; beyond these a number is a slip (own rule)."""

_ROOM_DB = 1.0
"""Kept above the highest sample, which a change of the sample rate may raise (own choice)."""


@dataclass(frozen=True, slots=True)
class LevelScale:
    """What the clips of a comparison share.

    Attributes
    ----------
    common_pa
        Pascal to which a sample of 1.0 of every recording is brought; None where the calibration
        is not known.
    gain_db
        By which all clips are made louder after that, so that their full scale means as much less.
    """

    common_pa: float | None
    gain_db: float = 0.0

    @property
    def pa_per_full_scale(self) -> float | None:
        """Pascal at sample value 1.0 of every clip; None where the calibration is not known."""
        return None if self.common_pa is None else self.common_pa * 10 ** (-self.gain_db / 20)

    @property
    def full_scale_db(self) -> float:
        """Sound pressure level of an rms of full scale; 0 where that is not known."""
        scale_pa = self.pa_per_full_scale
        return 0.0 if scale_pa is None else 20 * math.log10(scale_pa / REFERENCE_PRESSURE_PA)

    def gain_of(self, pa_per_full_scale: float | None) -> float:
        """Give the gain in dB that brings a recording to the full scale of the clips."""
        if self.common_pa is None or pa_per_full_scale in (None, self.common_pa):
            return self.gain_db
        return self.gain_db + 20 * math.log10(pa_per_full_scale / self.common_pa)


def level_scale(
    pa_per_full_scale: Sequence[float | None],
    peaks_full_scale: Sequence[float] = (),
    gain_db: float = 0.0,
) -> LevelScale:
    """Bring recordings to one full scale, and all of them up by one gain.

    That of the least sensitive recording, so that none is made louder by it; more where recordings
    hold samples above 1.0, as those in pascal do, in whole decibels.

    Parameters
    ----------
    pa_per_full_scale
        Of each recording; None for those that are not calibrated.
    peaks_full_scale
        Largest magnitude in each recording; empty where none exceeds 1.0.
    gain_db
        The same for all clips.

    Raises
    ------
    RecordingError
        When the gain or a calibration is beyond all reason.
    DesignError
        When only some recordings are calibrated.
    """
    if not abs(gain_db) <= MOST_GAIN_DB:
        raise RecordingError(
            f"A gain of {gain_db:g} dB is not possible.",
            f"Choose -{MOST_GAIN_DB:g} to {MOST_GAIN_DB:g} dB; 0 dB leaves the level as it is.",
        )
    known = [factor for factor in pa_per_full_scale if factor is not None]
    if not all(LEAST_PA <= factor <= MOST_PA for factor in known):
        raise RecordingError(
            f"A full scale in pascal must be a number from {LEAST_PA:g} to {MOST_PA:g}.",
            "Enter it again.",
        )
    problem = calibration_shortcoming(pa_per_full_scale)
    if problem is not None:
        raise problem
    if not known:
        return LevelScale(None, gain_db)
    peaks = peaks_full_scale or [1.0] * len(known)
    peak_pa = max(factor * peak for factor, peak in zip(known, peaks, strict=True))
    if peak_pa <= max(known):
        return LevelScale(max(known), gain_db)
    whole_db = math.ceil(20 * math.log10(peak_pa) + _ROOM_DB)
    return LevelScale(float(10 ** (whole_db / 20)), gain_db)
