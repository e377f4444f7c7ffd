"""Claims that were found to be wrong on tables of others' making, each with what it says now."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from generated_studies import ATTRIBUTES, CONDITIONS, CONTROL, question

from ratings.findings.differences import differences
from ratings.findings.verdict.cautions import Seat
from ratings.findings.verdict.front import recommendation, summary
from ratings.findings.verdict.judging import judge
from ratings.study.attributes import Scale


def asked(score, people=6, sets=1, attributes=1, conditions=2, **changes):
    """Make a study of what `score(person, set, attribute, condition)` says; set 0 the control."""
    codes = (CONTROL, *(str(201 + n) for n in range(sets)))
    rows = [
        {
            "evaluator": f"E{person + 1}",
            "set": codes[place],
            "condition": CONDITIONS[where].title,
            "attribute": ATTRIBUTES[number].key,
            "repeat": 1,
            "score": float(score(person, place, number, where)),
            "origin": "listened",
        }
        for person in range(people)
        for place in range(sets + 1)
        for number in range(attributes)
        for where in range(conditions)
    ]
    base = question("nothing measured", 1)
    return replace(
        base,
        scores=pd.DataFrame(rows),
        codes=codes,
        attributes=ATTRIBUTES[:attributes],
        conditions=tuple(each.title for each in CONDITIONS[:conditions]),
        seats=tuple(Seat(f"E{n + 1}", 10, 10) for n in range(people)),
        **changes,
    )


@pytest.fixture
def noise():
    rng = np.random.default_rng(3)
    return lambda sd: rng.normal(0, sd)


def planned(study, number):
    return replace(study, settings=replace(study.settings, planned_evaluators=number))


def test_that_a_look_settles_nothing_where_conditions_point_opposite_ways(noise):
    study = asked(lambda p, s, a, w: 6 + noise(0.1) + s * (1.2 if w else -1.2))
    look = judge(planned(study, 10))
    assert look.sets[0].rows[0].overall.word == "not certain"
    assert "within" not in look.headline
    assert "enough" not in recommendation(look)
    assert judge(planned(study, 6)).sets[0].rows[0].overall.word == "by condition"


@pytest.mark.slow
def test_that_a_control_that_scatters_more_does_not_raise_the_level():
    rng = np.random.default_rng(11)
    wrong, studies = 0, 60
    for _ in range(studies):
        rows = [
            (f"E{p}", code, f"A{a}", 6 + rng.normal(0, 1.2 if code == CONTROL else 0.3))
            for p in range(8)
            for code in (CONTROL, "1", "2", "3", "4")
            for a in range(4)
        ]
        table = pd.DataFrame(rows, columns=["evaluator", "set", "attribute", "score"])
        table["score"] = (4 * table["score"]).round() / 4
        found = differences(table, CONTROL, Scale())
        wrong += any(d.verdict in ("better", "worse") for b in found for d in b.differences)
    # 23 % of studies before; at 5 % no more than 9 of 60 in a thousand tries.
    assert wrong <= 8


def test_that_a_set_that_is_both_is_no_set_without_claims(noise):
    study = asked(lambda p, s, a, w: 6 + noise(0.1) + s * (1.2 if a else -1.2), attributes=2)
    verdict = judge(study)
    assert "better on cavity ring, but worse on boom" in verdict.headline
    assert recommendation(verdict).startswith("Better in some and worse in other respects")


def test_that_the_summary_begins_with_what_was_found(noise):
    study = asked(lambda p, s, a, w: 6 + noise(0.2) - 2 * (s == 4), sets=4, attributes=2)
    assert summary(judge(study)).startswith("Set 204 is worse than the control")


def test_that_conditions_that_are_all_small_are_not_told_as_none(noise):
    study = asked(lambda p, s, a, w: 6 + s * (0.3 if w else -0.3) + noise(0.03), people=8)
    verdict = judge(study)
    told = [row.sentence for row in verdict.sets[0].rows]
    assert not any("None" in each or "none" in each for each in told)
    assert verdict.sets[0].rows[0].overall.word == "too small to matter"


def test_that_one_evaluator_leaves_nothing_to_recommend():
    verdict = judge(asked(lambda p, s, a, w: 6 + s, people=1))
    assert recommendation(verdict) == "Nothing can be recommended yet: no set could be judged."


def test_that_who_has_begun_without_a_score_is_not_taken_off_those_who_finished(noise):
    study = asked(lambda p, s, a, w: 6 + noise(0.2), people=5)
    study = replace(study, seats=(*study.seats, Seat("E6", 0, 10)))
    sentences = [each.sentence for each in judge(study).cautions]
    assert "E6 (0 of 10 pairs) has not finished and is not counted yet." in sentences
    assert not any("only" in each for each in sentences)


def test_that_scores_that_were_not_blind_are_told_first(noise):
    study = asked(lambda p, s, a, w: 6 + noise(0.2) + noise(2) * (p < 2), people=4, attributes=2)
    study = replace(study, scores=study.scores.assign(after_opening=True))
    assert judge(study).cautions[0].subject == "after the opening"


def test_that_equal_sets_are_not_said_to_be_disagreed_on(noise):
    verdict = judge(asked(lambda p, s, a, w: 6 + noise(0.1), people=10, sets=3, attributes=2))
    for each in verdict.sets:
        for row in each.rows:
            assert row.overall.word == "too small to matter"
            assert not row.mark
    assert "disagreement" not in {each.subject for each in verdict.cautions}


def test_that_an_average_over_conditions_says_where_it_is_clear_by_itself(noise):
    told = 0
    for _ in range(12):
        study = asked(lambda p, s, a, w: 6 + noise(0.5) - s * (1.5 if w else 0.4), people=5)
        row = judge(study).sets[0].rows[0]
        if row.overall.word == "clear" and len(row.cells.clear_in) == 1:
            told += 1
            assert f"by itself clear only on {row.cells.clear_in[0].condition}" in row.sentence
    assert told
