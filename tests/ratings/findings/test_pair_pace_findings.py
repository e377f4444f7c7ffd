"""Who is much faster than the panel, and where that is told."""

import pandas as pd
import pytest

from ratings.findings.agreement import agreement
from ratings.findings.pair_pace import PaceFinding, PaceLimits, pace_findings
from ratings.study.attributes import Scale


def times(seconds_by_evaluator, pairs=6, both_sides_s=16.0):
    rows = [
        (evaluator, pair + 1, "candidate", seconds, both_sides_s)
        for evaluator, seconds in seconds_by_evaluator.items()
        for pair in range(pairs)
    ]
    return pd.DataFrame(rows, columns=["evaluator", "pair", "role", "seconds", "both_sides_s"])


def fast(table, **limits):
    return [
        name for name, each in pace_findings(table, PaceLimits(**limits)).items() if each.reason
    ]


def test_that_who_is_much_faster_than_the_panel_is_told_with_both_times():
    found = pace_findings(times({"E1": 57.0, "E2": 12.0, "E3": 58.0, "E4": 61.0, "E5": 70.0}))
    assert found["E2"] == PaceFinding(12.0, 6, "takes 12 s a pair, the panel 58 s")
    assert found["E1"] == PaceFinding(57.0, 6)


@pytest.mark.parametrize(("seconds", "flagged"), [(28.9, ["E1"]), (29.0, [])])
def test_that_half_of_the_panels_time_is_enough(seconds, flagged):
    assert fast(times({"E1": seconds, "E2": 58.0, "E3": 58.0})) == flagged


@pytest.mark.parametrize(("seconds", "flagged"), [(31.9, ["E1"]), (32.0, [])])
def test_that_time_to_hear_each_side_twice_is_enough_among_slow_people(seconds, flagged):
    # Two clips of 8 s: two hearings of both take 32 s.
    assert fast(times({"E1": seconds, "E2": 200.0, "E3": 200.0})) == flagged


def test_that_nobody_stands_out_of_two_or_by_a_few_pairs():
    assert fast(times({"E1": 10.0, "E2": 60.0})) == []
    assert fast(times({"E1": 10.0, "E2": 60.0}), fewest_evaluators=2) == ["E1"]
    panel = times({"E2": 60.0, "E3": 60.0, "E4": 60.0})
    assert fast(pd.concat([times({"E1": 10.0}, pairs=4), panel])) == []
    assert fast(pd.concat([times({"E1": 10.0}, pairs=5), panel])) == ["E1"]


def test_that_no_times_are_no_findings():
    assert pace_findings(times({})) == {}


def scores(evaluators):
    rows = [
        (evaluator, code, attribute, score)
        for evaluator in evaluators
        for attribute in ("boom", "hiss")
        for code, score in (("205", 5.0), ("417", 6.0), ("731", 7.0))
    ]
    return pd.DataFrame(rows, columns=["evaluator", "set", "attribute", "score"])


def test_that_the_reason_stands_at_every_attribute_and_nobody_is_dropped():
    table = scores(("E1", "E2", "E3", "P1"))
    seconds = {"E1": 12.0, "E2": 55.0, "E3": 60.0}
    blocks = agreement(table, Scale(), pair_times=times(seconds))
    assert [block.attribute for block in blocks] == ["boom", "hiss"]
    for block in blocks:
        first, second, _, brought = block.evaluators_detail
        assert first.reasons == ("takes 12 s a pair, the panel 55 s",)
        assert (second.pace, second.reasons) == (PaceFinding(55.0, 6), ())
        assert (brought.pace, brought.reasons) == (None, ())
        assert block.kendall.evaluators == 4
        assert block.without_flagged.evaluators == 3


def test_that_limits_of_the_pace_are_those_of_the_panels_fitness():
    from ratings.findings.evaluator_reasons import FitnessLimits

    limits = FitnessLimits(pace=PaceLimits(share_of_panel=0.1))
    given = times({"E1": 12.0, "E2": 55.0, "E3": 60.0})
    block, _ = agreement(scores(("E1", "E2", "E3")), Scale(), limits, given)
    assert all(not finding.reasons for finding in block.evaluators_detail)


def test_that_without_times_no_evaluator_has_a_pace():
    for block in agreement(scores(("E1", "E2")), Scale()):
        assert all(finding.pace is None for finding in block.evaluators_detail)
