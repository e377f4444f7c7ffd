"""The null distribution of W against complete enumeration in R and printed tables."""

import pytest

from ratings.statistics.agreement.rank_sums import null_distribution


def upper_tail(sets: int, evaluators: int, s: float) -> float:
    untied = tuple(range(2, 2 * sets + 2, 2))
    square_sum = round(4 * s + (evaluators * sets * (sets + 1)) ** 2 / sets)
    return null_distribution((untied,) * evaluators).p_value(square_sum)


def test_that_the_tail_equals_enumeration(reference):
    rows = reference("kendall_exact")["rows"]
    assert len(rows) > 200
    for sets, evaluators, s, p in rows:
        assert upper_tail(sets, evaluators, s) == pytest.approx(p, abs=1e-12)


def test_that_the_tail_rounds_to_the_printed_tables(reference):
    for sets, evaluators, s, p, decimals in reference("kendall_exact")["printed"]:
        assert round(upper_tail(sets, evaluators, s), decimals) == p


def test_that_probabilities_start_at_one_and_fall():
    tail = null_distribution(((2, 5, 5, 8), (2, 4, 6, 8), (3, 3, 7, 7))).upper_tail
    assert tail[0] == pytest.approx(1.0)
    assert (tail[1:] < tail[:-1]).all()


def test_that_beyond_the_largest_sum_nothing_is_left():
    assert null_distribution(((2, 4), (2, 4))).p_value(10_000) == 0


def test_that_a_panel_too_large_to_enumerate_gives_none():
    assert null_distribution((tuple(range(2, 20, 2)),) * 3) is None
    assert null_distribution((tuple(range(2, 14, 2)),) * 12) is None
