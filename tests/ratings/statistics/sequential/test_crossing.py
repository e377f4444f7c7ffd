"""The chance of a false claim at any look, beside studies drawn at random."""

import math

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.sequential.crossing import crossing_chance, look_bound
from ratings.statistics.sequential.mixture import log_evidence, t_to_reach

STUDIES = 40_000


def t_at_every_look(evaluators, effect=0.0, studies=STUDIES, seed=1):
    """|t| after each evaluator from the second on, shape (studies, evaluators - 1)."""
    values = np.random.default_rng(seed).normal(effect, 1, (studies, evaluators))
    n = np.arange(1, evaluators + 1)
    mean = values.cumsum(axis=1) / n
    squares = np.square(values).cumsum(axis=1) - n * mean**2
    return np.abs(mean[:, 1:]) / np.sqrt(squares[:, 1:] / (n - 1)[1:] / n[1:])


def constant(bound, first, last):
    return {n: t_to_reach(math.log(bound), n) for n in range(first, last + 1)}


@pytest.mark.parametrize("n", [2, 5, 30])
def test_that_one_look_is_students_t(n):
    assert crossing_chance({n: 2.5}) == pytest.approx(2 * stats.t.sf(2.5, n - 1), rel=1e-3)


def test_that_nothing_is_crossed_where_nothing_is_asked():
    assert crossing_chance({}) == 0
    assert crossing_chance({3: math.inf, 4: math.inf}) == 0


def test_that_two_looks_are_the_two_dimensional_integral():
    # By hand for looks at 2 and 3: the direction is uniform on the sphere.
    middles = (np.arange(1500) + 0.5) / 1500
    height, turn = np.meshgrid(2 * middles - 1, 2 * np.pi * middles)
    wide = np.sqrt(1 - height**2)
    x = np.stack([wide * np.cos(turn), wide * np.sin(turn), height])
    t2 = np.abs(x[:2].mean(axis=0)) / (x[:2].std(axis=0, ddof=1) / math.sqrt(2) + 1e-300)
    t3 = np.abs(x.mean(axis=0)) / (x.std(axis=0, ddof=1) / math.sqrt(3) + 1e-300)
    expected = ((t2 >= 8.0) | (t3 >= 3.0)).mean()
    assert crossing_chance({2: 8.0, 3: 3.0}) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize("bounds", [constant(3, 3, 6), constant(7.8, 2, 16), {4: 4.0, 7: 3.0}])
def test_that_luck_crosses_as_often_as_studies_drawn_at_random(bounds):
    t = t_at_every_look(max(bounds))
    crossed = np.any([t[:, n - 2] >= bound for n, bound in bounds.items()], axis=0).mean()
    error = math.sqrt(crossed * (1 - crossed) / STUDIES)
    assert crossing_chance(bounds) == pytest.approx(crossed, abs=4 * error)


def test_that_the_bound_is_crossed_with_the_chance_that_it_was_asked_for():
    for first, last, level in ((3, 7, 0.01), (3, 5, 0.001), (2, 16, 0.05)):
        log_bound = look_bound(first, last, level)
        bounds = {n: t_to_reach(log_bound, n) for n in range(first, last + 1)}
        assert crossing_chance(bounds) == pytest.approx(level, rel=0.01)


def test_that_no_look_settles_nothing_and_long_panels_take_the_bound_for_ever():
    assert look_bound(3, 2, 0.05) == math.inf
    assert look_bound(3, 1000, 0.05) == pytest.approx(math.log(20))


# Printed in the project's notes on statistics: own simulation, 40,000 studies, a look after every
# evaluator from the second to the 16th, spread 1. Drawn anew here with another seed.
def test_that_the_printed_levels_are_found():
    assert math.exp(look_bound(2, 16, 0.05)) == pytest.approx(7.8, abs=0.15)
    assert crossing_chance(constant(20, 2, 16)) == pytest.approx(0.016, abs=0.001)
    assert crossing_chance(constant(7.8, 2, 16)) == pytest.approx(0.05, abs=0.0025)


@pytest.mark.parametrize(
    ("effect", "bound", "power", "stops"),
    [(1.0, 20.0, 0.74, 11.9), (1.0, 7.8, 0.87, 9.8), (1.5, 7.8, 0.998, 6.7)],
)
def test_that_the_printed_powers_and_stops_are_found(effect, bound, power, stops):
    n = np.arange(2, 17)
    evidence = np.exp(log_evidence(t_at_every_look(16, effect), n))
    reached = evidence >= bound
    first = np.where(reached.any(axis=1), n[reached.argmax(axis=1)], 16)
    assert reached.any(axis=1).mean() == pytest.approx(power, abs=0.012)
    assert first.mean() == pytest.approx(stops, abs=0.12)


def test_that_the_printed_power_of_the_fixed_test_is_found():
    t = t_at_every_look(16, 1.0)[:, -1]
    assert (t >= stats.t.isf(0.025, 15)).mean() == pytest.approx(0.96, abs=0.006)


def test_that_naive_looks_claim_what_the_notes_say():
    # "A t test peeked at after each evaluator from the third to the 16th": 20 % of studies.
    naive = {n: stats.t.isf(0.025, n - 1) for n in range(3, 17)}
    assert crossing_chance(naive) == pytest.approx(0.20, abs=0.012)
