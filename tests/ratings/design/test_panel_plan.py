"""What a plan says of sessions that are known, and what it refuses."""

from dataclasses import replace

import pytest
from statsmodels.stats.power import TTestPower

from ratings.design.orders import plan_session
from ratings.design.panel_plan import PlannedStudy, plan_panel
from ratings.errors import DesignError
from ratings.statistics.agreement.kendall import smallest_significant_w

USUAL = PlannedStudy(sets=6, evaluators=8)


def test_that_the_pairs_are_those_of_the_session_that_is_planned():
    for sets in (2, 4, 6):
        for conditions in (1, 3):
            planned = plan_panel(PlannedStudy(sets, 4, conditions))
            session = plan_session(0, list(range(1, sets)), list(range(conditions)), 1, 0)
            assert planned.pairs_per_session == len(session)


def test_that_six_sets_and_eight_evaluators_come_out_as_known():
    # Seven trials for six sets, fifteen pairs of all, twenty evaluators for half a point at 0.75.
    plan = plan_panel(USUAL)
    assert (plan.pairs_per_session, plan.all_pairs, plan.alone.evaluators_needed) == (7, 15, 20)
    assert plan.smallest_w == smallest_significant_w(8, 6)
    assert plan.alone.power == pytest.approx(TTestPower().power(0.5 / 0.75, 8, 0.05), abs=1e-8)
    assert plan.fewest_for_exact_test == 6
    assert plan.icc.lower < 0.75 < plan.icc.upper


def test_that_power_reaches_eighty_percent_where_it_says():
    for found, needed in (("alone", 20), ("claim", 39)):
        enough = getattr(plan_panel(replace(USUAL, evaluators=needed)), found)
        fewer = getattr(plan_panel(replace(USUAL, evaluators=needed - 1)), found)
        assert enough.power >= 0.8 > fewer.power
        assert enough.detectable_difference <= 0.5
        assert enough.evaluators_needed == needed


def test_that_the_claim_allows_for_all_candidates_and_attributes():
    plan = plan_panel(USUAL)
    assert plan.claim.power < plan.alone.power
    assert plan.claim.evaluators_needed > plan.alone.evaluators_needed
    one = plan_panel(replace(USUAL, sets=2, attributes=1))
    assert one.claim.power == pytest.approx(one.alone.power, abs=1e-9)
    assert one.claim.evaluators_needed == one.alone.evaluators_needed == 20


def test_that_two_evaluators_have_no_chance_of_a_claim():
    plan = plan_panel(replace(USUAL, evaluators=2, difference=50.0))
    assert plan.claim.power == 0
    assert plan.claim.detectable_difference is None
    assert plan.alone.power > 0.9


def test_that_breaks_lengthen_the_session():
    plan = plan_panel(replace(USUAL, conditions=3))
    assert plan.breaks_after_pairs == (8,)
    assert plan.minutes == plan.minutes_listening + 5


def test_that_one_evaluator_has_no_power():
    plan = plan_panel(replace(USUAL, evaluators=1))
    for found in (plan.claim, plan.alone):
        assert (found.power, found.detectable_difference) == (None, None)
    assert (plan.smallest_w, plan.icc) == (None, None)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"sets": 1}, "two sets or more"),
        ({"sets": 5000}, "More than 1000 sets"),
        ({"evaluators": 0}, "at least one evaluator"),
        ({"evaluators": 5000}, "More than 1000 evaluators"),
        ({"conditions": 0}, "at least one condition"),
        ({"attributes": 0}, "at least one attribute"),
        ({"attributes": 5000}, "More than 1000 attributes"),
        ({"clip_s": 0.0}, "clip lasts"),
        ({"difference": float("nan")}, "difference must be"),
        ({"sd": float("inf")}, "standard deviation must be"),
    ],
)
def test_that_nonsense_is_refused_in_words(change, sentence):
    with pytest.raises(DesignError, match=sentence):
        plan_panel(replace(USUAL, **change))
