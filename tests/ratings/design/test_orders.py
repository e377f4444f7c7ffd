from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ratings.design.orders import (
    REPEAT_DISTANCE,
    blind_codes,
    hiding_words,
    plan_session,
    williams_orders,
)
from ratings.design.streams import stream
from ratings.errors import DesignError

sizes = {"candidates": st.integers(1, 9), "conditions": st.integers(1, 5)}
any_seed = {"seed": st.integers(0, 2**32), "ordinal": st.integers(0, 30)}


def plan(candidates, conditions, seed, ordinal):
    return plan_session(
        0, list(range(1, candidates + 1)), list(range(10, 10 + conditions)), seed, ordinal
    )


@given(**sizes, **any_seed)
def test_that_every_candidate_meets_the_control_once_in_every_condition(
    candidates, conditions, seed, ordinal
):
    pairs = [p for p in plan(candidates, conditions, seed, ordinal) if p.role == "candidate"]
    met = sorted((p.condition_id, max(p.set_a, p.set_b)) for p in pairs)
    assert met == sorted(
        (condition, candidate)
        for condition in range(10, 10 + conditions)
        for candidate in range(1, candidates + 1)
    )
    assert all(0 in (p.set_a, p.set_b) for p in pairs)


@given(**sizes, **any_seed)
def test_that_the_control_is_on_side_a_in_half_of_the_pairs_in_all_and_in_every_row_and_column(
    candidates, conditions, seed, ordinal
):
    pairs = [p for p in plan(candidates, conditions, seed, ordinal) if p.role == "candidate"]
    ways = [pairs]
    ways += [[p for p in pairs if p.condition_id == c] for c in {p.condition_id for p in pairs}]
    ways += [[p for p in pairs if max(p.set_a, p.set_b) == c] for c in range(1, candidates + 1)]
    for chosen in ways:
        on_a = sum(p.set_a == 0 for p in chosen)
        assert abs(2 * on_a - len(chosen)) <= 1


@given(**sizes, **any_seed)
def test_that_one_null_pair_and_one_exchanged_repeat_are_hidden(
    candidates, conditions, seed, ordinal
):
    pairs = plan(candidates, conditions, seed, ordinal)
    roles = [p.role for p in pairs]
    assert roles.count("null") == 1
    assert roles.count("repeat") == 1
    assert roles[0] != "null"
    null = pairs[roles.index("null")]
    assert null.set_a == null.set_b == 0
    position = roles.index("repeat")
    repeat = pairs[position]
    original = next(
        index
        for index, p in enumerate(pairs)
        if p.role == "candidate"
        and (p.condition_id, p.set_a, p.set_b) == (repeat.condition_id, repeat.set_b, repeat.set_a)
    )
    distance = abs(position - original)
    assert distance >= min(4, len(pairs) // 2)


@given(**sizes, seed=st.integers(0, 2**32), couple=st.integers(0, 15))
def test_that_two_neighbouring_sessions_hear_the_comparisons_with_sides_exchanged(
    candidates, conditions, seed, couple
):
    def sides(ordinal):
        return {
            (p.condition_id, max(p.set_a, p.set_b)): p.set_a == 0
            for p in plan(candidates, conditions, seed, ordinal)
            if p.role == "candidate"
        }

    first, second = sides(2 * couple), sides(2 * couple + 1)
    assert all(first[key] != second[key] for key in first)


def test_that_the_seed_rebuilds_the_order_and_another_seed_gives_another():
    assert plan(5, 3, 7, 2) == plan(5, 3, 7, 2)
    assert plan(5, 3, 7, 2) != plan(5, 3, 8, 2)


def test_that_evaluators_hear_different_orders():
    orders = {plan(5, 3, 7, ordinal) for ordinal in range(8)}
    assert len(orders) == 8


def test_that_every_place_in_the_session_is_equally_likely_for_a_pair():
    # 1000 sessions, 4 candidates: where the first of them comes among the candidate pairs is
    # uniform. Chi-square with 3 degrees of freedom: 16.3 is exceeded once in a thousand.
    places = np.zeros(4)
    for seed in range(1000):
        candidates = [p for p in plan(4, 1, seed, 0) if p.role == "candidate"]
        places[next(i for i, p in enumerate(candidates) if 1 in (p.set_a, p.set_b))] += 1
    assert ((places - 250) ** 2 / 250).sum() < 16.3


def test_that_a_study_with_only_the_control_is_refused():
    with pytest.raises(DesignError, match="nothing to compare"):
        plan_session(0, [], [1], 1, 0)


def test_that_a_study_without_conditions_is_refused():
    with pytest.raises(DesignError, match="no condition"):
        plan_session(0, [1], [], 1, 0)


def test_that_blind_codes_are_different_and_have_the_digits_asked_for():
    codes = blind_codes(40, 3, np.random.default_rng(1))
    assert len(set(codes)) == 40
    assert all(len(code) == 3 and code[0] != "0" and code.isdigit() for code in codes)


def test_that_more_codes_than_can_be_told_apart_are_refused():
    with pytest.raises(DesignError, match="too many"):
        blind_codes(451, 3, np.random.default_rng(1))


def checks_of(pairs):
    """Places of the null pair, the repeat and its original; the comparison repeated."""
    roles = [p.role for p in pairs]
    repeat = roles.index("repeat")
    again = pairs[repeat]
    original = next(
        place
        for place, p in enumerate(pairs)
        if p.role == "candidate"
        and (p.condition_id, p.set_a, p.set_b) == (again.condition_id, again.set_b, again.set_a)
    )
    return roles.index("null"), repeat, original, (again.condition_id, again.set_a + again.set_b)


SIZES = [(1, 1), (2, 1), (4, 1), (3, 2), (6, 1), (5, 3), (11, 3)]
SECRET = 0xD1CE_0F_128_B175_5EED_0F_57_D1E5_A1


@pytest.mark.parametrize(("candidates", "conditions"), SIZES)
@pytest.mark.parametrize("seats", [2, 3, 6, 12, 17, 24])
def test_that_null_and_repeat_take_every_admissible_place_evenly(candidates, conditions, seats):
    sessions = [plan(candidates, conditions, SECRET, seat) for seat in range(seats)]
    length = len(sessions[0])
    apart = min(REPEAT_DISTANCE + 1, length // 2)
    nulls, repeats, originals, which = zip(*map(checks_of, sessions), strict=True)
    # In the middle of a short session few places are far enough from the original's.
    for places, admissible, most in ((nulls, range(1, length), 2), (repeats, range(length), 4)):
        times = [places.count(place) for place in admissible]
        assert sum(times) == seats
        assert max(times) - min(times) <= most
    assert all(abs(r - o) >= apart for r, o in zip(repeats, originals, strict=True))
    # One comparison for all, whose clips are played as often as those of any other.
    assert len(set(which)) == 1
    if seats >= 6:
        behind = sum(r > o for r, o in zip(repeats, originals, strict=True))
        assert 0 < behind < seats
    if length >= 6:
        assert max(originals.count(place) for place in originals) <= 0.6 * seats + 1


@pytest.mark.parametrize(("candidates", "conditions"), SIZES)
@pytest.mark.parametrize("seats", [2, 7, 12, 24])
def test_that_places_and_neighbours_of_the_comparisons_are_balanced(candidates, conditions, seats):
    number = candidates * conditions
    at, after = Counter(), Counter()
    for seat in range(seats):
        order = [
            (p.condition_id, p.set_a + p.set_b)
            for p in plan(candidates, conditions, SECRET, seat)
            if p.role == "candidate"
        ]
        at.update(enumerate(order))
        after.update(pairwise(order))
    # A Williams design of so many comparisons comes round after this many sessions.
    rounds = -(-seats // (number if number % 2 == 0 else 2 * number))
    times = 1 if number % 2 == 0 else 2
    assert max(at.values()) <= rounds * times
    assert max(after.values(), default=0) <= rounds * times


def test_that_null_and_repeat_are_of_the_same_in_all_sessions_and_of_anything_over_studies():
    for seed in range(40):
        sessions = [plan(3, 2, seed, seat) for seat in range(6)]
        assert len({next(p for p in s if p.role == "null") for s in sessions}) == 1
        assert len({checks_of(s)[3] for s in sessions}) == 1
    assert len({checks_of(plan(3, 2, seed, 0))[3] for seed in range(60)}) == 6


def test_that_seeds_of_128_bits_are_taken_whole():
    low, high = plan(5, 3, 7, 2), plan(5, 3, 7 + 2**127, 2)
    assert low != high


@pytest.mark.parametrize(("candidates", "conditions"), [(1, 1), (5, 1), (2, 2)])
def test_that_a_study_too_small_to_hide_its_checks_says_so(candidates, conditions):
    assert "6 or more hide them" in hiding_words(candidates, conditions)


@pytest.mark.parametrize(("candidates", "conditions"), [(6, 1), (3, 2), (11, 3)])
def test_that_a_study_that_hides_its_checks_keeps_the_distance_in_every_session(
    candidates, conditions
):
    assert hiding_words(candidates, conditions) == ""
    for seat in range(24):
        _, repeat, original, _ = checks_of(plan(candidates, conditions, SECRET, seat))
        assert abs(repeat - original) > REPEAT_DISTANCE


def test_that_streams_of_one_seed_do_not_share_their_numbers():
    ways = [("orders",), ("codes",), ("orders", 1), ("orders", 1, 0), ("orders", 10)]
    drawn = {int(stream(SECRET, *way).integers(2**62)) for way in ways}
    assert len(drawn) == len(ways)
    assert int(stream(SECRET, "codes").integers(2**62)) in drawn


#: Rows and how often each ordered pair of neighbours occurs: R 4.2.2 crossdes 1.1.2 williams(n).
ROWS = [(3, 6, 2), (4, 4, 1), (5, 10, 2), (6, 6, 1), (7, 14, 2),
        (8, 8, 1), (9, 18, 2), (10, 10, 1), (11, 22, 2), (12, 12, 1)]  # fmt: skip


@pytest.mark.parametrize(("sets", "rows", "times"), ROWS)
def test_that_every_set_follows_every_other_equally_often(sets, rows, times):
    orders = williams_orders(sets)
    assert len(orders) == rows
    assert all(sorted(order) == list(range(sets)) for order in orders)
    neighbours = Counter(pair for order in orders for pair in pairwise(order))
    assert len(neighbours) == sets * (sets - 1)
    assert set(neighbours.values()) == {times}
    places = Counter((place, one) for order in orders for place, one in enumerate(order))
    assert set(places.values()) == {rows // sets}


def test_that_two_sets_come_in_both_orders_and_one_alone():
    assert williams_orders(2) == ((0, 1), (1, 0))
    assert williams_orders(1) == ((0,),)
    assert williams_orders(0) == ()
