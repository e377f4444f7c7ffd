"""The speed of the car over the time of a recording."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from ratings.errors import MeasurementError

_GRID_S = 0.1
_SMOOTHED_S = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class SpeedTrace:
    """Speed at instants that increase from one to the next.

    Attributes
    ----------
    times_s : (n,) float64
        Seconds from the start of the recording, strictly increasing.
    speed_km_h : (n,) float64
        Finite and never negative.

    Raises
    ------
    MeasurementError
        When the arrays differ in length, hold fewer than two points, or break the rules above.
    """

    times_s: NDArray[np.float64]
    speed_km_h: NDArray[np.float64]

    def __post_init__(self) -> None:
        if self.times_s.shape != self.speed_km_h.shape or self.times_s.ndim != 1:
            raise MeasurementError(
                "The speed trace has not as many speeds as times.", "Give one speed per time."
            )
        if self.times_s.size < 2:
            raise MeasurementError(
                "The speed trace has fewer than two points.", "Give a trace of the whole run."
            )
        if not (np.isfinite(self.times_s).all() and np.isfinite(self.speed_km_h).all()):
            raise MeasurementError(
                "The speed trace has gaps where no number stands.", "Take those rows out."
            )
        if (np.diff(self.times_s) <= 0.0).any():
            raise MeasurementError(
                "The times of the speed trace do not increase.", "Put its rows in order of time."
            )
        if (self.speed_km_h < 0.0).any():
            raise MeasurementError(
                "The speed trace has speeds below zero.", "Give speeds from 0 km/h upwards."
            )

    @classmethod
    def constant(cls, speed_km_h: float, duration_s: float) -> Self:
        """Trace of a steady run."""
        return cls(np.array([0.0, duration_s]), np.array([speed_km_h, speed_km_h], np.float64))

    def at(self, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Speed in km/h by linear interpolation; NaN before the first and after the last point."""
        return np.interp(times_s, self.times_s, self.speed_km_h, left=np.nan, right=np.nan)

    @property
    def is_falling(self) -> bool:
        """Whether the speed, averaged over 1 s, never rises by more than 1 km/h and ends lower."""
        speed_km_h = self._smoothed_km_h()
        rise = speed_km_h - np.minimum.accumulate(speed_km_h)
        return bool(rise.max() <= 1.0 and speed_km_h[-1] < speed_km_h[0] - 1.0)

    def _smoothed_km_h(self) -> NDArray[np.float64]:
        """Means over 1 s, every tenth of a second; the speeds themselves of a shorter trace."""
        times_s = np.arange(self.times_s[0], self.times_s[-1] + _GRID_S / 2, _GRID_S)
        speed_km_h = self.at(np.minimum(times_s, self.times_s[-1]))
        instants = round(_SMOOTHED_S / _GRID_S)
        if speed_km_h.size <= instants:
            return self.speed_km_h
        return np.convolve(speed_km_h, np.full(instants, 1.0 / instants), "valid")

    def mean_km_h(self, start_s: float, end_s: float) -> float:
        """Distance over time between two instants inside the trace, in km/h; else NaN."""
        times = self._window(start_s, end_s)
        if end_s <= start_s:
            return float(self.at(times)[0])
        return float(np.trapezoid(self.at(times), times) / (end_s - start_s))

    def _window(self, start_s: float, end_s: float) -> NDArray[np.float64]:
        inside = self.times_s[(self.times_s > start_s) & (self.times_s < end_s)]
        return np.concatenate([[start_s], inside, [end_s]])
