"""What is said where evaluators do not differ from each other at all."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from ratings.findings.differences import differences
from ratings.findings.differences_words import headline
from ratings.study.attributes import Scale


def table(scores, pairs=False):
    """Long table from an array (evaluators, sets, conditions); in pairs with the first set."""
    scores = np.asarray(scores, dtype=float)
    rows = []
    for evaluator, set_, condition in np.ndindex(*scores.shape):
        sides = ((0, "A"), (set_, "B")) if pairs else ((set_, ""),)
        if pairs and set_ == 0:
            continue
        pair = set_ * scores.shape[2] + condition
        for heard, side in sides:
            score = scores[evaluator, heard, condition]
            rows.append((f"E{evaluator}", f"S{heard}", f"C{condition}", score, pair, side))
    columns = ["evaluator", "set", "condition", "score", "pair", "side"]
    frame = pd.DataFrame(rows, columns=columns).assign(attribute="boom")
    frame["repeat"] = frame.groupby(["evaluator", "set", "condition"]).cumcount() + 1
    return frame if pairs else frame.drop(columns=["pair", "side"])


def panel(steps, evaluators=6):
    """Every evaluator at his own level, each set by so much above the control."""
    return 4 + np.arange(evaluators)[:, None, None] / 2 + np.asarray(steps, float)[None]


@pytest.mark.parametrize("pairs", [False, True])
def test_that_six_alike_are_judged_by_the_steps_of_their_scores(pairs):
    scores = panel([[0], [1.0]])
    (block,) = differences(table(scores, pairs), "S0", Scale())
    (row,) = block.differences
    # Steps of half a point, evenly spread inside: a twelfth of their square for each score
    # (Sheppard's correction), and Student's t over six evaluators.
    se = math.sqrt(2 * 0.5**2 / 12 / 6)
    assert row.se == pytest.approx(se)
    assert row.p == pytest.approx(2 * stats.t.sf(1.0 / se, 5))
    # The test without any such belief stands beside it: 2 of the 64 ways to turn the signs.
    assert row.p_signed_rank_exact == row.p_sign_flip == pytest.approx(2 / 64)
    assert row.sentence == "better by 1.0 points (0.8 to 1.2), clear"
    assert headline((block,)) == "Against S0: S1 is better on boom."
    assert block.notes == (
        "No evaluator differs from another: what rounding to steps of 0.5 hides stands for their "
        "scatter.",
    )


def test_that_a_little_scatter_makes_no_leap_from_none():
    # One score one step off, against none: about as sure, and never the other way round.
    steps = np.array([[0], [1.0], [2.0]])
    none = differences(table(panel(steps)), "S0", Scale())[0].differences[0]
    little = panel(steps)
    little[0, 1] += 0.5
    some = differences(table(little), "S0", Scale())[0].differences[0]
    assert 1 < none.se / some.se < 3 or 1 / 3 < none.se / some.se <= 1
    assert none.verdict == some.verdict == "better"


def test_that_three_alike_one_step_apart_are_no_claim():
    # Three evaluators with even chances of a step up, a step down and none are alike by chance in
    # 2 of 27 panels.
    (block,) = differences(table(panel([[0], [0.5]], evaluators=3)), "S0", Scale())
    assert block.differences[0].verdict == "not certain"


@pytest.mark.parametrize("pairs", [False, True])
def test_that_equal_scores_are_nobody_hearing_a_difference(pairs):
    (block,) = differences(table(panel([[0], [0], [0]]), pairs), "S0", Scale())
    assert headline((block,)) == "Nobody heard a difference from S0."
    for row in block.differences:
        assert row.is_unheard
        assert row.verdict == "same"
        assert row.sentence.startswith("nobody heard a difference: within 0.5 points")


def test_that_a_set_heard_by_one_evaluator_is_not_unheard():
    scores = panel([[0], [0]])
    scores[2, 1] += 0.5
    (block,) = differences(table(scores), "S0", Scale())
    assert not block.differences[0].is_unheard
    assert "nobody" not in headline((block,)).lower()


def test_that_differences_which_cancel_over_the_conditions_are_heard():
    # Averaged, no set differs; in each condition everybody hears the same.
    steps = [[0, 0], [1, -1]]
    (block,) = differences(table(panel(steps)), "S0", Scale())
    (row,) = block.differences
    assert not row.is_unheard
    assert row.verdict == "by condition"
    assert headline((block,)) == "Against S0: S1 is better on boom (C0) and worse on boom (C1)."
    assert "on average no difference" in row.sentence


def test_that_a_copied_condition_is_no_lack_of_scatter():
    # Scores of the second condition repeat the first: evaluators differ, no cell is off.
    own = np.random.default_rng(1).choice([0.0, 0.5, 1.0], (6, 3, 1))
    once = panel([[0], [1], [0]]) + own
    twice = np.concatenate([once, once], axis=2)
    (row, _) = differences(table(twice), "S0", Scale())[0].differences
    (alone, _) = differences(table(once), "S0", Scale())[0].differences
    assert (row.difference, row.p) == pytest.approx((alone.difference, alone.p))
