from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from ratings.acoustics.rolling.coast_down import CoastDownMap, coast_down_map
from ratings.acoustics.rolling.ridges import best_stretches, chance_limit, find_ridges
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size
from ratings.synthesis.alder_wagon import ALDER_WAGON, SMOOTH_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.sketch import TyreSketch
from ratings.synthesis.speed import coast_down_speed_km_h, per_sample

Coasting = Callable[[Any], np.ndarray]


def map_of(run: Any, coasting: Coasting) -> CoastDownMap:
    return coast_down_map(coasting(run), run.rate_hz, run.trace)


def test_that_an_order_and_a_frequency_are_told_apart(recipe: Any, coasting: Coasting) -> None:
    run = recipe(fixed_hz=210.0, order=64.0)
    found = find_ridges(map_of(run, coasting), run.circumference_m)
    assert sorted(ridge.kind for ridge in found) == ["frequency", "order"]
    by_kind = {ridge.kind: ridge for ridge in found}
    assert by_kind["frequency"].frequency_hz == pytest.approx(210.0, abs=1.0)
    assert by_kind["frequency"].order is None
    assert by_kind["frequency"].turns == 0
    assert by_kind["order"].order == pytest.approx(64.0, abs=0.1)
    assert by_kind["order"].at_hz(80.0, run.circumference_m) == pytest.approx(738.0, abs=3.0)
    for ridge in found:
        assert ridge.low_km_h <= 32.0
        assert ridge.high_km_h >= 98.0
    # 25 dB over a line of noise, less the scallop of up to 1.4 dB; the sweep loses more.
    assert by_kind["frequency"].prominence_db == pytest.approx(25.0, abs=2.0)
    assert 20.0 < by_kind["order"].prominence_db < 27.0


@pytest.mark.parametrize("turns", [-1, 1])
def test_that_a_cavity_line_is_told_by_how_it_moves_with_the_turns(
    turns: int, recipe: Any, coasting: Coasting
) -> None:
    run = recipe(fixed_hz=210.0, turns_hz=float(turns))
    (ridge,) = find_ridges(map_of(run, coasting), run.circumference_m)
    assert (ridge.kind, ridge.turns) == ("frequency", turns)
    assert ridge.frequency_hz == pytest.approx(210.0, abs=1.5)
    turns_per_s = 80 / 3.6 / run.circumference_m
    assert ridge.at_hz(80.0, run.circumference_m) == pytest.approx(
        210.0 + turns * turns_per_s, abs=1.5
    )


def test_that_faint_lines_are_found_8_db_over_a_line_of_noise(
    recipe: Any, coasting: Coasting
) -> None:
    for seed in range(3):
        run = recipe(fixed_hz=210.0, order=64.0, tone_db=8.0, seed=seed)
        found = find_ridges(map_of(run, coasting), run.circumference_m)
        assert sorted(ridge.kind for ridge in found) == ["frequency", "order"]


@pytest.mark.slow
def test_that_noise_has_a_ridge_in_hardly_any_coast_down(recipe: Any, coasting: Coasting) -> None:
    alarms = 0
    for seed in range(60):
        run = recipe(duration_s=(12.0, 20.0)[seed % 2], seed=100 + seed)
        alarms += bool(find_ridges(map_of(run, coasting), run.circumference_m))
    assert alarms <= 1


@pytest.mark.slow
def test_that_invented_road_noise_shows_its_whine_and_both_cavity_lines() -> None:
    rate_hz = 12_000
    speeds = coast_down_speed_km_h(90, 30, 30.0)
    tyre = TyreSketch("plain", pitch_randomness=0.0, pattern_db=12.0)
    sound = cabin_pressure_pa(
        ALDER_WAGON,
        tyre,
        SMOOTH_ASPHALT,
        per_sample(speeds, rate_hz),
        rate_hz,
        np.random.default_rng(1),
    )
    trace = SpeedTrace(np.arange(speeds.size) * 0.01, speeds)
    path_m = tyre_size(tyre.size).rolling_circumference_m
    found = find_ridges(coast_down_map(sound, rate_hz, trace), path_m)
    assert any(ridge.order == pytest.approx(64.0, abs=0.2) for ridge in found)
    cavity = {ridge.turns: ridge.frequency_hz for ridge in found if ridge.turns}
    # 210.4 Hz at 20 C, parted by 4 Hz of load: see ratings/synthesis/cavity.py.
    assert cavity[-1] == pytest.approx(208.4, abs=1.5)
    assert cavity[1] == pytest.approx(212.4, abs=1.5)


def test_that_silence_has_no_ridge(recipe: Any) -> None:
    run = recipe()
    silent = coast_down_map(np.zeros((20 * run.rate_hz, 1)), run.rate_hz, run.trace)
    assert find_ridges(silent, run.circumference_m) == ()


def test_that_the_best_stretch_is_the_one_that_trying_all_gives() -> None:
    rng = np.random.default_rng(3)
    gain = rng.normal(-0.3, 1.0, (40, 25))
    score, first, last = best_stretches(gain)
    for row in range(40):
        sums = {
            (start, stop): gain[row, start : stop + 1].sum()
            for start in range(25)
            for stop in range(start, 25)
        }
        assert score[row] == pytest.approx(max(*sums.values(), 0.0))
        assert sums[first[row], last[row]] == pytest.approx(score[row])


def test_that_scatter_passes_the_limit_no_more_often_than_allowed() -> None:
    rng = np.random.default_rng(4)
    limit = chance_limit(1.0, 2.0, 20 * 50, 0.2)
    rounds = 400
    passed = sum(
        best_stretches(rng.normal(-1.0, 2.0, (20, 50)))[0].max() > limit for _ in range(rounds)
    )
    assert 0 < passed / rounds < 0.2
