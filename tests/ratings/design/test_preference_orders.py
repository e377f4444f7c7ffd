"""Pairs of every set with every other, in both orders over the panel."""

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ratings.design.preference_orders import preference_session
from ratings.errors import DesignError


@given(st.integers(2, 9), st.integers(0, 10_000), st.integers(0, 40))
@settings(max_examples=60, deadline=None)
def test_that_every_pair_comes_once_with_places_balanced(sets, seed, ordinal):
    ids = [10 * number for number in range(sets)]
    session = preference_session(ids, seed, ordinal)
    assert len({frozenset((pair.first, pair.second)) for pair in session}) == len(session)
    assert len(session) == sets * (sets - 1) // 2
    first = Counter(pair.first for pair in session)
    second = Counter(pair.second for pair in session)
    assert all(abs(first[one] - second[one]) <= 1 for one in ids)


@given(st.integers(2, 9), st.integers(0, 10_000), st.integers(0, 20))
@settings(max_examples=40, deadline=None)
def test_that_two_sessions_in_a_row_hear_both_orders(sets, seed, half):
    one, other = (preference_session(list(range(sets)), seed, 2 * half + i) for i in (0, 1))
    assert {(p.first, p.second) for p in one} == {(p.second, p.first) for p in other}


@pytest.mark.parametrize("sets", range(5, 10))
def test_that_no_set_comes_twice_in_a_row_from_five_sets_on(sets):
    for seed in range(20):
        session = preference_session(list(range(sets)), seed, seed)
        for one, following in pairwise(session):
            assert not {one.first, one.second} & {following.first, following.second}


def test_that_the_same_seed_gives_the_same_session_and_another_another():
    ids = [1, 2, 3, 4, 5]
    assert preference_session(ids, 7, 3) == preference_session(ids, 7, 3)
    assert preference_session(ids, 7, 3) != preference_session(ids, 8, 3)


@pytest.mark.parametrize("sets", [[], [1], [1, 1]])
def test_that_sets_that_cannot_be_compared_are_refused(sets):
    with pytest.raises(DesignError, match="two sets or more"):
        preference_session(sets, 1, 0)
