"""Ramps, and the crossfade that keeps the power of two correlated sounds."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FADE_S = 0.010
RISE_S = 3.0
RISE_FROM_DB = -40.0
"""A rise of 13 dB a second from barely audible: time to take the headphones off (our judgement)."""


def fade_frames(sample_rate_hz: int) -> int:
    """Frames in one 10 ms ramp at this rate."""
    return round(FADE_S * sample_rate_hz)


def start_ramp(frames: int) -> NDArray[np.float32]:
    """Weights of a sine squared from exactly 0 to exactly 1, shape (frames + 1, 1)."""
    angle = np.linspace(0.0, np.pi / 2, frames + 1)
    weights = np.sin(angle) ** 2
    weights[0], weights[-1] = 0.0, 1.0
    return weights.astype(np.float32)[:, np.newaxis]


def slow_rise(sample_rate_hz: int) -> NDArray[np.float32]:
    """Weights that rise evenly in decibels over `RISE_S` to exactly 1, shape (frames + 1, 1)."""
    steps = np.linspace(RISE_FROM_DB / 20.0, 0.0, round(RISE_S * sample_rate_hz) + 1)
    return (10.0**steps).astype(np.float32)[:, np.newaxis]


def straight_ramp(frames: int) -> NDArray[np.float32]:
    """Weights on a straight line from 0 to 1, shape (frames + 1, 1)."""
    return np.linspace(0.0, 1.0, frames + 1).astype(np.float32)[:, np.newaxis]


@dataclass(frozen=True, slots=True, eq=False)
class Crossfade:
    """Precomputed weights of a fade from a first to a second sound.

    The mix of step k is ``both[k] * second + first[k] * (first_sound - second_sound)``. Written so,
    two identical sounds pass bit for bit, because their difference is exactly zero.

    Attributes
    ----------
    both
        Sum of the two weights, shape (frames + 1, 1).
    first
        Weight of the first sound, from exactly 1 to exactly 0, shape (frames + 1, 1).
    """

    both: NDArray[np.float32]
    first: NDArray[np.float32]


def crossfade(frames: int, correlation: float) -> Crossfade:
    """Weights cos t and sin t, t from 0 to 90 degrees, over sqrt(1 + correlation * sin 2t).

    The power of ``g1 * x + g2 * y`` for equally strong x and y with zero-lag correlation r is
    ``g1**2 + g2**2 + 2 * r * g1 * g2``; the root makes it 1 at every step. r = 0 is the usual
    equal-power fade, r = 1 the equal-gain fade.

    Parameters
    ----------
    frames
        Steps of the fade.
    correlation
        Zero-lag correlation of the two sounds; values outside 0 to 1 are clipped to it.
    """
    held = min(max(correlation, 0.0), 1.0)
    angle = np.linspace(0.0, np.pi / 2, frames + 1)
    root = np.sqrt(1.0 + held * np.sin(2.0 * angle))
    first, second = np.cos(angle) / root, np.sin(angle) / root
    first[0], first[-1], second[0], second[-1] = 1.0, 0.0, 0.0, 1.0
    both = (first + second).astype(np.float32)[:, np.newaxis]
    return Crossfade(both, first.astype(np.float32)[:, np.newaxis])


def zero_lag_correlation(first: NDArray[np.float32], second: NDArray[np.float32]) -> float:
    """Sum of products over the root of the powers, both channels together; 0 when one is silent."""
    x, y = first.astype(np.float64).ravel(), second.astype(np.float64).ravel()
    power = math.sqrt(float(x @ x)) * math.sqrt(float(y @ y))
    return float(x @ y) / power if power > 0.0 else 0.0


def correlation_within_full_scale(correlation: float, peak: float) -> float:
    """Raise a correlation until a fade between sounds of this peak cannot exceed full scale.

    The weights add up to at most ``sqrt(2 / (1 + r))``, in the middle of the fade; so
    ``peak * sqrt(2 / (1 + r)) <= 1`` asks for ``r >= 2 * peak**2 - 1``.
    """
    return min(max(correlation, 2.0 * peak * peak - 1.0, 0.0), 1.0)
