"""Circles of majorities, each step beyond chance."""

import numpy as np
import pytest

from ratings.statistics.preference.circles import clearest_circle


def wins_of(*rows, evaluators=8, sets=3):
    """Rows of winner, loser and how many evaluators chose so; the rest chose otherwise."""
    wins = np.zeros((evaluators, sets, sets))
    for winner, loser, count in rows:
        wins[:count, winner, loser] = 1
        wins[count:, loser, winner] = 1
    return wins


def test_that_the_least_certain_step_is_the_p_of_a_circle():
    found = clearest_circle(wins_of((0, 2, 8), (2, 1, 8), (1, 0, 7)))
    assert found.sets == (0, 2, 1)
    # Seven of eight or more, either way: 18 of 256.
    assert found.p == pytest.approx(18 / 256)


def test_that_every_triple_that_could_circle_counts():
    rows = [(0, 1, 8), (1, 2, 8), (2, 0, 8), (0, 3, 8), (1, 3, 8), (2, 3, 8)]
    assert clearest_circle(wins_of(*rows, sets=4)).p == pytest.approx(4 * 2 / 256)


def test_that_an_order_and_an_open_pair_are_no_circle():
    assert clearest_circle(wins_of((0, 1, 8), (1, 2, 8), (0, 2, 8))) is None
    assert clearest_circle(wins_of((0, 1, 8), (1, 2, 8))) is None
