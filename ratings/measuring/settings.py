"""What has to be known beside the sound to measure a recording."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ratings.acoustics.loudness.core_loudness import Field
from ratings.acoustics.rolling.cavity_prediction import refuse_implausible_air
from ratings.recordings.speed.record import within_recording
from ratings.study.bands import DEFAULT_BANDS, BandTable
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import TyreSize, refuse_implausible_pitches

STEADY_RANGE_KM_H = 5.0
"""A speed that moves over more is not measured as one speed (own rule): the cavity line of a
205/55R16 tyre would smear by 0.7 Hz."""

LEAST_COAST_DOWN_KM_H = 12.0
"""A speed that falls by less is no coast-down (own rule): the map wants 10 km/h between
the middles of its first and last spectrum."""


@dataclass(frozen=True, slots=True)
class MeasuringSettings:
    """How to measure, the same for every channel.

    Attributes
    ----------
    field
        Sound field of the loudness: ``diffuse`` inside a vehicle, ``free`` for sound from the
        front.
    bands
        Named bands to give levels of.
    tyre, air_c
        Size of the tyres and temperature of the air in them, for the cavity line and the orders
        of the wheel; without a size no lines are predicted.
    pitches
        Tread pitches around the tyre, for the orders of the pattern.
    speed
        Speed over the recording; None when it is not known.
    speed_km_h
        The speed that was to be driven, in km/h; None for a coast-down or when it is not known.
    """

    field: Field = "diffuse"
    bands: BandTable = DEFAULT_BANDS
    tyre: TyreSize | None = None
    air_c: float = 20.0
    pitches: int | None = None
    speed: SpeedTrace | None = None
    speed_km_h: float | None = None

    def __post_init__(self) -> None:
        if self.pitches is not None:
            refuse_implausible_pitches(self.pitches)
        refuse_implausible_air(self.air_c)

    def during(self, recording: Path, duration_s: float) -> "MeasuringSettings":
        """Return the settings with the speed while a recording runs, and not before or after.

        Raises
        ------
        RecordingError
            When there is a speed, but none while the recording runs.
        """
        if self.speed is None:
            return self
        return replace(self, speed=within_recording(self.speed, recording, duration_s))

    @property
    def is_coast_down(self) -> bool:
        """Whether the speed falls over the recording, far enough for levels over speed."""
        if self.speed is None or not self.speed.is_falling:
            return False
        return self.speed_range_km_h >= LEAST_COAST_DOWN_KM_H

    @property
    def steady_speed_km_h(self) -> float | None:
        """The speed of a steady run, in km/h: as driven, or as it was to be; else None."""
        if self.speed is None:
            return self.speed_km_h
        if self.is_coast_down or self.speed_range_km_h > STEADY_RANGE_KM_H:
            return None
        return self.speed.mean_km_h(float(self.speed.times_s[0]), float(self.speed.times_s[-1]))

    @property
    def speed_range_km_h(self) -> float:
        """How far the speed moves over the recording; 0 when it is not known."""
        return 0.0 if self.speed is None else float(np.ptp(self.speed.speed_km_h))
