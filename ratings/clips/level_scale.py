"""One full scale for clips from recordings of different sensitivity, so that levels stay true."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ratings.acoustics.levels import REFERENCE_PRESSURE_PA
from ratings.errors import RecordingError

MOST_GAIN_DB = 120.0
LEAST_PA, MOST_PA = 1e-9, 1e6
"""Of a full scale; beyond these a number is a slip (own rule)."""


@dataclass(frozen=True, slots=True)
class LevelScale:
    """What the clips of a comparison share, and the gain of each that brings it there.

    Attributes
    ----------
    pa_per_full_scale
        Pascal at sample value 1.0 of every clip; None where the calibration is not known.
    gains_db
        Gain of each recording, in their order.
    """

    pa_per_full_scale: float | None
    gains_db: tuple[float, ...]

    @property
    def full_scale_db(self) -> float:
        """Sound pressure level of an rms of full scale; 0 where that is not known."""
        if self.pa_per_full_scale is None:
            return 0.0
        return 20 * math.log10(self.pa_per_full_scale / REFERENCE_PRESSURE_PA)


def level_scale(pa_per_full_scale: Sequence[float], gain_db: float, recordings: int) -> LevelScale:
    """Bring recordings to the largest of their full scales, and all of them up by one gain.

    Parameters
    ----------
    pa_per_full_scale
        Empty where not known, one for all recordings, or one for each.
    gain_db
        The same for all clips.
    recordings
        How many there are.

    Raises
    ------
    RecordingError
        When the gain or a calibration is beyond all reason, or they are not as many as said.
    """
    if not abs(gain_db) <= MOST_GAIN_DB:
        raise RecordingError(
            f"A gain of {gain_db:g} dB is not possible.",
            f"Choose -{MOST_GAIN_DB:g} to {MOST_GAIN_DB:g} dB; 0 dB leaves the level as it is.",
        )
    if not pa_per_full_scale:
        return LevelScale(None, (gain_db,) * recordings)
    if len(pa_per_full_scale) not in (1, recordings):
        raise RecordingError(
            f"There are {recordings} recordings and {len(pa_per_full_scale)} calibrations; "
            "give one for all, or one for each."
        )
    if not all(LEAST_PA <= scale <= MOST_PA for scale in pa_per_full_scale):
        raise RecordingError(
            f"A full scale in pascal must be a number from {LEAST_PA:g} to {MOST_PA:g}.",
            "Enter it again.",
        )
    largest = max(pa_per_full_scale)
    each = list(pa_per_full_scale) * (recordings // len(pa_per_full_scale))
    gains_db = tuple(
        gain_db + (0.0 if scale == largest else 20 * math.log10(scale / largest)) for scale in each
    )
    return LevelScale(largest / 10 ** (gain_db / 20), gains_db)
