"""How far the wheel has turned at each moment of a recording, and when it has turned so far."""

import numpy as np
from numpy.typing import NDArray

from ratings.errors import MeasurementError
from ratings.study.constants import KM_H_PER_M_S
from ratings.study.speed_trace import SpeedTrace


class WheelTurns:
    """Turns of the wheel over time, for the longest stretch of a trace that is fast enough.

    Parameters
    ----------
    trace
        Speed over time; linear between its points.
    circumference_m
        Distance rolled in one turn.
    slowest_km_h
        Below this the stretch ends.

    Attributes
    ----------
    slowest_per_s, fastest_per_s
        Turns per second in the stretch.
    total
        Turns in it.

    Raises
    ------
    MeasurementError
        When the car never rolls that fast.
    """

    def __init__(self, trace: SpeedTrace, circumference_m: float, slowest_km_h: float) -> None:
        first, last = _longest_run(trace, slowest_km_h)
        self._times_s = trace.times_s[first : last + 1]
        self._per_s = trace.speed_km_h[first : last + 1] / KM_H_PER_M_S / circumference_m
        steps_s = np.diff(self._times_s)
        gone = steps_s * (self._per_s[1:] + self._per_s[:-1]) / 2.0
        self._turns = np.concatenate([[0.0], np.cumsum(gone)])
        self.slowest_per_s = float(self._per_s.min())
        self.fastest_per_s = float(self._per_s.max())
        self.total = float(self._turns[-1])

    def at(self, turns: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the times in seconds at which so many turns are done, from 0 to `total`."""
        step = np.searchsorted(self._turns, turns, side="right") - 1
        step = np.clip(step, 0, self._turns.size - 2)
        speed = self._per_s[step]
        length_s = self._times_s[step + 1] - self._times_s[step]
        rise = (self._per_s[step + 1] - speed) / length_s
        gone = turns - self._turns[step]
        # Root of speed t + rise t^2 / 2 = gone, in the form that holds for no rise too.
        root = np.sqrt(np.maximum(speed**2 + 2.0 * rise * gone, 0.0))
        return np.asarray(self._times_s[step] + 2.0 * gone / (speed + root))


def _longest_run(trace: SpeedTrace, slowest_km_h: float) -> tuple[int, int]:
    fast = np.concatenate([[False], trace.speed_km_h >= slowest_km_h, [False]])
    starts = np.flatnonzero(fast[1:] & ~fast[:-1])
    ends = np.flatnonzero(fast[:-1] & ~fast[1:]) - 1
    if starts.size == 0 or (ends - starts).max() < 1:
        raise MeasurementError(
            f"The speed never stays at {slowest_km_h:g} km/h or above in this trace.",
            "Check the unit of the speed trace: it must be km/h.",
        )
    longest = int(np.argmax(trace.times_s[ends] - trace.times_s[starts]))
    return int(starts[longest]), int(ends[longest])
