"""Every finding about every small table: a figure, or why there is none; never a traceback."""

import warnings

import pandas as pd
import pytest
import small_tables
from small_tables import SCALE, check_agreement, check_differences, failures

from ratings.findings.agreement import agreement
from ratings.findings.differences import differences


def _table(*rows: tuple[float, ...]) -> pd.DataFrame:
    return pd.DataFrame(
        [
            (f"E{evaluator + 1}", f"S{set_ + 1}", "rumble", score)
            for evaluator, row in enumerate(rows)
            for set_, score in enumerate(row)
        ],
        columns=["evaluator", "set", "attribute", "score"],
    )


@pytest.mark.parametrize("part", range(3))
def test_that_no_small_table_breaks_a_finding(part):
    assert failures(20, 30 * part, 30 * (part + 1)) == {}


@pytest.mark.slow
@pytest.mark.parametrize("part", range(2))
def test_that_more_of_them_break_no_finding_either(part):
    # By the ten thousand: tests/benchmarks/fuzz_small_tables.py.
    assert failures(21, 100 * part, 100 * (part + 1)) == {}


def test_that_evaluators_who_contradict_each_other_get_an_icc_without_an_interval():
    # Counting k twice, as irr does, divides by zero here.
    table = _table((7, 6, 7, 7), (6, 7, 7, 7))
    check_agreement(table)
    check_differences(table)
    form = agreement(table, SCALE)[0].icc.form("ICC(A,k)")
    assert form.value == pytest.approx(-2)
    assert (form.f, form.df2) == pytest.approx((0.5, 3.0))
    assert (form.lower, form.upper) == (None, None)
    assert form.reason == "The scores are too scattered for an interval."


def test_that_a_variance_that_came_to_zero_by_counting_twice_is_judged():
    table = _table((5.5, 4, 4, 4), (5.5, 5.5, 5.5, 7))
    check_agreement(table)
    form = agreement(table, SCALE)[0].icc.form("ICC(A,k)")
    assert form.value == pytest.approx(-2 / 7)
    assert form.lower < form.value < form.upper
    assert not form.reason


@pytest.mark.parametrize("place", range(6))
def test_that_one_deviating_score_of_two_evaluators_and_three_sets_is_compared(place):
    scores = [10.0] * 6
    scores[place] = 1.5
    table = _table(tuple(scores[:3]), tuple(scores[3:]))
    check_differences(table)
    found = differences(table, "S1", SCALE)[0]
    for each in found.differences:
        assert each.verdict not in ("better", "worse")
        assert each.difference is not None or each.reason in each.sentence.capitalize()


def test_that_a_component_whose_effect_is_rounding_is_left_out():
    rows = [
        ("E1", "101", "smooth", 1.0),
        ("E1", "202", "smooth", 9.0),
        ("E1", "101", "smooth", 2.25),
        ("E2", "202", "coarse", 1.25),
        ("E2", "101", "coarse", 3.25),
        ("E2", "101", "coarse", 3.25),
        ("E2", "303", "coarse", 3.25),
    ]
    table = pd.DataFrame(rows, columns=["evaluator", "set", "condition", "score"])
    check_differences(table.assign(attribute="rumble"))


def test_that_a_component_without_any_effect_is_no_division_by_zero():
    rows = [
        ("E1", "202", "rough", 2, 1.0),
        ("E1", "303", "rough", 2, 7.0),
        ("E1", "303", "smooth", 1, 7.0),
        ("E1", "303", "coarse", 1, 1.0),
        ("E2", "202", "smooth", 2, 1.0),
        ("E1", "202", "rough", 1, 1.0),
        ("E1", "202", "coarse", 1, 7.0),
        ("E1", "303", "smooth", 2, 1.0),
        ("E1", "101", "rough", 1, 7.0),
    ]
    table = pd.DataFrame(rows, columns=["evaluator", "set", "condition", "repeat", "score"])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = differences(table.assign(attribute="rumble"), "202", SCALE)[0]
    assert all(each.verdict not in ("better", "worse") for each in found.differences)


def test_that_a_failure_of_any_finding_is_counted_with_its_place(monkeypatch):
    def broken(_: pd.DataFrame) -> None:
        raise ZeroDivisionError("by design")

    monkeypatch.setattr(small_tables, "CHECKS", ((small_tables.score_table, broken, 1),))
    ((where, times),) = failures(1, 0, 3).items()
    assert times == 3
    assert "ZeroDivisionError: by design" in where
