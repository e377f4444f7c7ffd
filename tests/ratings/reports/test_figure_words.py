import dataclasses
import math
from itertools import permutations

import numpy as np
import pandas as pd
import pytest

from ratings.findings.agreement import agreement
from ratings.findings.pair_pace import PaceFinding
from ratings.reports.figure_words import (
    FITNESS_HEADINGS,
    FITNESS_MEANINGS,
    figure,
    fitness_cells,
    flagged_evaluators,
    icc_sentence,
    interval,
    separation_figures,
    signed,
    threshold_words,
    without_flagged_words,
)
from ratings.statistics.agreement.icc import intraclass_correlations
from ratings.study.attributes import DEFAULT_SCALE, Scale

# Shrout PE, Fleiss JL (1979) Psychological Bulletin 86:420-428, table 2: 6 targets, 4 judges.
SHROUT_FLEISS = np.array(
    [[9, 6, 8, 7, 10, 6], [2, 1, 4, 1, 5, 2], [5, 3, 6, 2, 6, 4], [8, 2, 8, 6, 9, 7]], dtype=float
)


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.5, "+0.5"), (-0.5, "−0.5"), (0.04, "0.0"), (-0.04, "0.0"), (None, "–"), (math.nan, "–")],
)
def test_that_a_deviation_carries_a_true_sign(value, words):
    assert signed(value) == words


def test_that_what_is_undefined_is_a_dash_and_never_a_number():
    assert figure(None) == "–"
    assert interval(None, 0.5) == ""
    assert interval(-0.123, 0.456) == "−0.12 to 0.46"


def test_that_the_words_for_icc_follow_the_published_value():
    # Shrout and Fleiss print ICC(2,1) = .29 and ICC(2,k) = .62 for this table.
    icc = intraclass_correlations(SHROUT_FLEISS)
    assert figure(icc.form("ICC(A,1)").value) == "0.29"
    assert figure(icc.form("ICC(A,k)").value) == "0.62"
    assert icc_sentence(icc) == (
        "Agreement in numbers is poor (interval: poor to good) for one evaluator alone, and "
        "moderate (interval: poor to excellent) for the mean of all 4."
    )


def test_that_an_undefined_icc_gives_its_reason():
    icc = intraclass_correlations(np.full((3, 4), 6.0))
    assert icc_sentence(icc) == icc.form("ICC(A,1)").reason != ""


def blocks_of(*panels):
    """Blocks of an attribute each; evaluators x sets at random, or as they are given."""
    rng = np.random.default_rng(1)
    tables = [
        pd.DataFrame(scores).melt(ignore_index=False, var_name="set", value_name="score")
        for scores in (
            rng.permuted(np.tile(np.arange(4.0), (size, 1)), axis=1)
            if isinstance(size, int)
            else size
            for size in panels
        )
    ]
    table = pd.concat(tables, keys=[f"a{place}" for place in range(len(tables))])
    table = table.reset_index(names=["attribute", "evaluator"])
    table = table.astype({"evaluator": str, "set": str})
    return agreement(table, Scale(0, 10))


def test_that_one_threshold_is_told_with_its_panel_size():
    # Four evaluators and four sets need 0.65: 12 S / (k^2 (n^3 - n)) for S = 52, the smallest S
    # of Kendall's exact table (Kendall and Gibbons 1990, from memory) with p at most 0.05.
    words = threshold_words(blocks_of(4))
    assert words == ("Shaded: chance alone explains W below 0.65 for 4 × 4 (evaluators × sets).")
    assert "0." not in threshold_words(blocks_of(4, 8))
    words = "Shaded: chance alone explains any W of 2 × 2 (evaluators × sets)."
    assert threshold_words(blocks_of(np.array([[1.0, 2.0], [1.0, 2.0]]))) == words


def test_that_the_threshold_rises_with_the_attributes_that_are_looked_at():
    # In the exact distribution of 24^3 equally likely rank tables, S of 64 is the smallest with a
    # p of at most 0.05 / 2, counted here one by one.
    ranks = np.array(list(permutations(range(4))), dtype=float)
    sums = (ranks[:, None, None] + ranks[None, :, None] + ranks[None, None, :]).reshape(-1, 4)
    s = np.square(sums + np.arange(4.0) - 6).sum(axis=1)
    least = min(value for value in np.unique(s) if (s >= value - 1e-9).mean() <= 0.025)
    words = threshold_words(blocks_of(4, 4))
    assert f"W below {12 * least / (16 * 60):.2f} for" in words
    assert words.endswith("among 2 attributes.")


def panel_block(side_of_last=0.0):
    rows = []
    for who in range(5):
        for place, code in enumerate(("101", "202", "303", "404")):
            for repeat in (1, 2):
                score = 5 + place + 0.25 * (repeat - 1)
                if who == 4:
                    score = 8 - place + side_of_last * repeat
                rows.append((f"E{who + 1}", code, "boom", repeat, score))
    table = pd.DataFrame(rows, columns=["evaluator", "set", "attribute", "repeat", "score"])
    return agreement(table, DEFAULT_SCALE)[0]


def test_that_w_is_told_with_and_without_those_who_stand_out():
    block = panel_block()
    assert flagged_evaluators(block) == ("E5",)
    # Four agree and one ranks the other way round: rank sums 8, 11, 14, 17 about 12.5 give
    # S = 45 and W = 12 * 45 / (25 * 60) = 0.36; without that one W is 1.
    assert without_flagged_words(block) == ("All 5 counted: W 0.36; without E5: W 1.00.")


def test_that_the_row_of_an_evaluator_ends_in_the_reasons():
    block = panel_block()
    cells = fitness_cells(block.evaluators_detail[4])
    assert cells[0] == "E5"
    assert cells[1:4] == ("–", "–", "–")
    (reason,) = block.evaluators_detail[4].reasons
    # With a true minus sign, which a file for other programs has not.
    assert reason.endswith("correlation with the others -1.00")
    assert cells[-1] == reason.replace("-1.00", "−1.00")


def test_that_the_time_per_pair_is_told_in_whole_seconds_and_as_a_dash_without_one():
    at = FITNESS_HEADINGS.index("time per pair")
    finding = panel_block().evaluators_detail[0]
    assert len(fitness_cells(finding)) == len(FITNESS_HEADINGS) == len(FITNESS_MEANINGS)
    assert fitness_cells(finding)[at] == "–"
    timed = dataclasses.replace(finding, pace=PaceFinding(median_s=57.6, pairs=9))
    assert fitness_cells(timed)[at] == "58 s"


def test_that_separating_the_sets_is_an_answer_with_its_test_beside_it():
    finding = panel_block().evaluators_detail[0]
    clear = dataclasses.replace(finding, discrimination_f=12.3, discrimination_p=0.0004)
    unclear = dataclasses.replace(finding, discrimination_f=3.1, discrimination_p=0.074)
    at = FITNESS_HEADINGS.index("separates sets")
    assert (fitness_cells(clear)[at], separation_figures(clear)) == ("yes", "F 12.3, p < 0.001")
    assert fitness_cells(unclear)[at] == "not clearly"
    assert separation_figures(unclear) == "F 3.1, p 0.074"
