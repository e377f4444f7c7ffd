"""Slopes in closed form against a walk along the table in small steps."""

import numpy as np
import pytest

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.slopes import POINTS_BARK, specific_loudness, total_loudness


def walked(core, step_bark: float = 0.001):
    """Follow the specific loudness upwards, falling by the table where the core is lower."""
    limits = np.array(tables.SLOPE_LIMITS)
    edges = (0.0, *tables.UPPER_EDGES_BARK)
    heights = np.zeros(round(24 / step_bark))
    running = 0.0
    for index in range(len(heights)):
        bark = (index + 0.5) * step_bark
        band = int(np.searchsorted(edges, bark)) - 1
        here = core[band] if band < 20 else 0.0
        if running > here:
            level_range = int(np.argmax(running > limits))
            running -= tables.SLOPE_STEEPNESS[level_range][min(band - 1, 7)] * step_bark
        running = max(running, here)
        heights[index] = running
    return heights


CORES = {
    "one band": [0.0] * 8 + [2.5] + [0.0] * 11,
    "loud low band": [25.0, 30.0] + [0.0] * 18,
    "staircase down": list(np.linspace(5, 0.01, 20)),
    "staircase up": list(np.linspace(0.01, 5, 20)),
    "noise": list(np.random.default_rng(2).gamma(0.7, 1.0, 20)),
    "highest band": [0.0] * 19 + [1.0],
    "silence": [0.0] * 20,
}


@pytest.mark.slow
@pytest.mark.parametrize("name", CORES)
def test_that_total_and_pattern_are_those_of_a_walk_in_small_steps(name: str) -> None:
    core = np.array(CORES[name])
    heights = walked(core)
    total = total_loudness(core[:, None])
    assert total == pytest.approx([heights.sum() * 0.001], rel=0.002, abs=1e-6)
    pattern = specific_loudness(core[:, None])[:, 0]
    ends = np.round(POINTS_BARK * 1000).astype(int) - 1
    assert pattern == pytest.approx(heights[ends], rel=0.002, abs=0.02)
    assert pattern.sum() * 0.1 == pytest.approx(total[0], rel=0.06, abs=1e-9)


def test_that_many_times_at_once_give_what_each_gives_alone() -> None:
    cores = np.random.default_rng(6).gamma(0.5, 2.0, (20, 9000))
    together = total_loudness(cores)
    for time in (0, 4095, 8191, 8192, 8999):
        assert together[time] == pytest.approx(total_loudness(cores[:, [time]])[0], rel=1e-12)
