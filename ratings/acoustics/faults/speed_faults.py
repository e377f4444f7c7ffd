"""Whether the car was driven as the plan says: speed held, or falling all the way."""

from dataclasses import dataclass

import numpy as np

from ratings.errors import MeasurementError
from ratings.study.sets import Manoeuvre
from ratings.study.speed_trace import SpeedTrace

SPEED_TOLERANCE_KM_H = 1.0
"""Common practice, no source; at 35 lg v, 1 km/h at 80 km/h is 0.19 dB."""


@dataclass(frozen=True, slots=True)
class SpeedFaults:
    """How a run's speed differs from the wanted one; everything in km/h.

    Attributes
    ----------
    mean_off_km_h
        Mean over time less the wanted speed; in a coast-down, first speed less the wanted one.
    lowest_km_h, highest_km_h
        Over the whole trace.
    outside_s
        Time spent further from the wanted speed than the tolerance; 0 in a coast-down.
    first_outside_s
        When that was first, or when a coast-down first gained more than the tolerance; None when
        it never was.
    """

    manoeuvre: Manoeuvre
    wanted_km_h: float
    tolerance_km_h: float
    mean_off_km_h: float
    lowest_km_h: float
    highest_km_h: float
    outside_s: float
    first_outside_s: float | None

    @property
    def is_off(self) -> bool:
        """Whether anything lies outside the tolerance."""
        # A coast-down may begin faster than planned: it passes the wanted speed on its way.
        return self.first_outside_s is not None or self.mean_off_km_h < -self.tolerance_km_h


def speed_faults(
    trace: SpeedTrace,
    wanted_km_h: float,
    manoeuvre: Manoeuvre = "steady",
    tolerance_km_h: float = SPEED_TOLERANCE_KM_H,
) -> SpeedFaults:
    """Compare a trace with the speed of the plan.

    Parameters
    ----------
    wanted_km_h
        Speed to hold, or the speed at which a coast-down should begin.

    Raises
    ------
    MeasurementError
        When the wanted speed is not above zero.
    """
    if not wanted_km_h > 0.0:
        raise MeasurementError(
            f"A planned speed of {wanted_km_h:g} km/h is not valid.",
            "Give the condition's speed in km/h.",
        )
    times_s, speed_km_h = trace.times_s, trace.speed_km_h
    if manoeuvre == "steady":
        mean_off = trace.mean_km_h(float(times_s[0]), float(times_s[-1])) - wanted_km_h
        is_outside = np.abs(speed_km_h - wanted_km_h) > tolerance_km_h + 1e-9
        # Half of the interval on either side of each point, which adds up to the whole time.
        halves = np.diff(times_s) / 2.0
        shares = np.append(halves, 0.0) + np.append(0.0, halves)
        outside_s = float(shares[is_outside].sum())
    else:
        mean_off = float(speed_km_h[0]) - wanted_km_h
        is_outside = speed_km_h - np.minimum.accumulate(speed_km_h) > tolerance_km_h + 1e-9
        outside_s = 0.0
    first = float(times_s[np.argmax(is_outside)]) if is_outside.any() else None
    return SpeedFaults(
        manoeuvre=manoeuvre,
        wanted_km_h=wanted_km_h,
        tolerance_km_h=tolerance_km_h,
        mean_off_km_h=mean_off,
        lowest_km_h=float(speed_km_h.min()),
        highest_km_h=float(speed_km_h.max()),
        outside_s=outside_s,
        first_outside_s=first,
    )
