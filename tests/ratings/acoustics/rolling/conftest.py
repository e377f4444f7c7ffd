"""Coast-downs with known content."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest

from ratings.study.speed_trace import SpeedTrace

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Recipe:
    """Noise whose power follows v^3, and tones in it that follow the same law."""

    duration_s: float = 20.0
    fixed_hz: float = 0.0
    order: float = 0.0
    below_60_hz: float = 0.0
    jump_hz: float = 0.0
    tone_db: float = 25.0
    whine_peak_db: float = 0.0
    seed: int = 1

    rate_hz: int = 12_000
    circumference_m: float = 1.927
    turns_hz: float = 0.0

    @property
    def trace(self) -> SpeedTrace:
        return SpeedTrace(np.array([0.0, self.duration_s]), np.array([100.0, 30.0]))


def coast(recipe: Recipe) -> Array:
    """Sound of shape (frames, 1), 74 dB at 80 km/h; a tone lies so far over a line of 4 Hz."""
    rng = np.random.default_rng(recipe.seed)
    time_s = np.arange(round(recipe.duration_s * recipe.rate_hz)) / recipe.rate_hz
    speed = recipe.trace.at(time_s)
    turns = np.cumsum(speed) / 3.6 / recipe.circumference_m / recipe.rate_hz
    in_line = np.sqrt(4.0 * 1.5 / (recipe.rate_hz / 2)) * 10 ** (recipe.tone_db / 20)
    tone = np.sqrt(2) * in_line
    sound = rng.standard_normal(time_s.size)
    if recipe.whine_peak_db:
        over_db = recipe.whine_peak_db * np.exp(-0.5 * ((speed - 62.0) / 2.0) ** 2)
        sound *= 10 ** (over_db / 20)
    if recipe.fixed_hz:
        phase = recipe.fixed_hz * time_s + recipe.turns_hz * turns
        sound += tone * np.sin(2 * np.pi * phase)
    if recipe.order:
        sound += tone * np.sin(2 * np.pi * recipe.order * turns)
    if recipe.below_60_hz:
        sound += tone * (speed < 60) * np.sin(2 * np.pi * recipe.below_60_hz * time_s)
    if recipe.jump_hz:
        size = np.where(speed < 70, 4.0, 1.0)
        sound += tone * size * np.sin(2 * np.pi * recipe.jump_hz * time_s)
    return (0.1 * (speed / 80) ** 1.5 * sound)[:, np.newaxis]


@pytest.fixture
def recipe() -> type[Recipe]:
    return Recipe


@pytest.fixture
def coasting() -> Callable[[Recipe], Array]:
    return coast
