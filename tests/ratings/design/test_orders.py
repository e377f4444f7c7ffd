import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ratings.design.orders import blind_codes, plan_session
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
    assert roles[0] == "candidate"
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
    distance = position - original
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
