"""Speed traces: steady driving, coast-down, and the distance they cover."""

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ratings.study.constants import KM_H_PER_M_S
from ratings.synthesis.sketch import SketchError

Series: TypeAlias = npt.NDArray[np.float64]

#: Interval of a speed trace as a recorder writes it.
TRACE_INTERVAL_S = 0.01
_DRAG_EQUALS_ROLLING_KM_H = 90.0


def steady_speed_km_h(speed_km_h: float, duration_s: float, rng: np.random.Generator) -> Series:
    """Return a held speed, one value every 10 ms, in km/h.

    Notes
    -----
    Cruise control wanders by 0.15 km/h (standard deviation) over some seconds; common practice
    asks for +/- 1 km/h, no source.
    """
    time_s = _trace_times_s(duration_s)
    wander = np.zeros_like(time_s)
    for period_s in (3.1, 4.7, 7.9):
        wander += np.sin(2.0 * np.pi * (time_s / period_s + rng.random()))
    return np.asarray(speed_km_h + 0.15 * wander / np.sqrt(1.5))


def coast_down_speed_km_h(start_km_h: float, end_km_h: float, duration_s: float) -> Series:
    """Return a speed that falls from start to end, one value every 10 ms, in km/h.

    Notes
    -----
    Deceleration proportional to 1 + (v/90 km/h)^2: rolling resistance and a climb that do not
    depend on speed, and air drag that grows with its square. The equality at 90 km/h is from
    memory of road-load figures. On the level a car coasts longer than a clip lasts; the climb makes
    up for it.
    """
    time_s = _trace_times_s(duration_s)
    first = np.arctan(start_km_h / _DRAG_EQUALS_ROLLING_KM_H)
    last = np.arctan(end_km_h / _DRAG_EQUALS_ROLLING_KM_H)
    falling = np.tan(first + (last - first) * time_s / time_s[-1])
    return np.asarray(_DRAG_EQUALS_ROLLING_KM_H * falling)


def per_sample(trace_km_h: Series, sample_rate_hz: int) -> Series:
    """Spread a trace of one value every 10 ms over the samples of a recording, shape (frames,)."""
    frames = round((trace_km_h.size - 1) * TRACE_INTERVAL_S * sample_rate_hz)
    time_s = np.arange(frames) / sample_rate_hz
    return np.interp(time_s, np.arange(trace_km_h.size) * TRACE_INTERVAL_S, trace_km_h)


def distance_m(speed_km_h: Series, sample_rate_hz: int) -> Series:
    """Return the distance covered before each sample, in metres, shape (frames,)."""
    step_m = speed_km_h / KM_H_PER_M_S / sample_rate_hz
    return np.asarray(np.cumsum(step_m) - step_m)


def _trace_times_s(duration_s: float) -> Series:
    if not duration_s > TRACE_INTERVAL_S:
        raise SketchError(
            f"A speed trace of {duration_s:g} s is too short.", "Ask for at least a second."
        )
    return np.arange(round(duration_s / TRACE_INTERVAL_S) + 1, dtype=np.float64) * TRACE_INTERVAL_S
