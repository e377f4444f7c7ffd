"""Circular triads against the published evaluator, full enumeration and counting by hand."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ratings.statistics.preference.triads import (
    chance_of_so_few,
    circular_triad_counts,
    clearest_circle,
    consistency,
    most_circular_triads,
)


def test_that_the_published_choices_come_out_as_printed(reference):
    case = reference("circular_triads")
    found = consistency(np.array(case["chosen_over"], dtype=float))
    assert found.circular_triads == case["circular"]
    assert found.zeta == case["zeta"]
    assert found.p == pytest.approx(case["p"], abs=1e-12)
    assert (found.most, found.decided_triads, found.reason) == (8, 20, "")


def test_that_the_null_distribution_equals_full_enumeration(reference):
    for sets, circles, outcomes, chance in reference("circular_triads")["frequencies"]:
        assert circular_triad_counts(sets)[circles] == outcomes
        assert chance_of_so_few(circles, sets)[0] == pytest.approx(chance, abs=1e-12)


def test_that_every_outcome_is_counted_once_up_to_ten_sets():
    for sets in range(3, 11):
        counts = circular_triad_counts(sets)
        assert sum(counts) == 2 ** (sets * (sets - 1) // 2)
        assert counts[-1] > 0


@pytest.mark.slow
def test_that_the_approximation_takes_over_where_the_count_ends():
    # Mean number of circles of a guesser is n(n-1)(n-2)/24: half way down at the mean.
    chance, exact = chance_of_so_few(41, 11)
    assert not exact
    assert 0.4 < chance < 0.6
    counts = circular_triad_counts(11)
    assert chance == pytest.approx(sum(counts[:42]) / sum(counts), abs=0.05)


def test_that_the_most_circles_are_those_of_the_trade_table():
    assert [most_circular_triads(sets) for sets in range(3, 9)] == [1, 2, 5, 8, 14, 20]


@given(st.integers(3, 7), st.integers(0, 2**21 - 1))
@settings(max_examples=60, deadline=None)
def test_that_circles_equal_a_walk_over_all_triples(sets, bits):
    over = np.zeros((sets, sets))
    for place, (one, other) in enumerate(combinations(range(sets), 2)):
        winner, loser = (one, other) if bits >> place & 1 else (other, one)
        over[winner, loser] = 1
    by_hand = sum(
        sorted(over[np.ix_(triple, triple)].sum(axis=1)) == [1, 1, 1]
        for triple in combinations(range(sets), 3)
    )
    found = consistency(over)
    assert found.circular_triads == by_hand
    assert 0 <= found.zeta <= 1


def test_that_an_open_pair_leaves_zeta_undefined_and_the_circles_counted():
    over = np.array([[0, 1, 0, 1], [0, 0, 1, 1], [1, 0, 0, 0], [0, 0, 0, 0.0]])
    found = consistency(over)
    assert (found.circular_triads, found.decided_triads) == (1, 2)
    assert found.zeta is None
    assert found.reason == "Pairs without a decision: 1."


def test_that_a_pair_judged_twice_counts_for_the_majority():
    over = np.array([[0, 2, 1], [1, 0, 1], [0, 1, 0.0]])
    assert consistency(over).reason == "Pairs without a decision: 1."
    over[1, 2] = 2
    assert consistency(over).zeta == 1


def test_that_few_sets_are_told_to_mean_little_and_two_to_mean_nothing():
    perfect = np.triu(np.ones((4, 4)), 1)
    found = consistency(perfect)
    assert (found.zeta, found.p) == (1, 0.375)
    assert "under five" in found.reason
    assert consistency(perfect[:2, :2]).zeta is None


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
