"""The agreement page's figures and flags, from whole score tables."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from ratings.design.orders import plan_session
from ratings.findings.agreement import agreement
from ratings.findings.agreement_words import headline
from ratings.study.attributes import Scale

SETS = ("205", "417", "731", "862")


def panel(scores, attribute="boom", **more):
    """Long table from an array (evaluators, sets)."""
    evaluator, set_ = np.indices(np.shape(scores)).reshape(2, -1)
    return pd.DataFrame(
        {
            "evaluator": [f"E{row + 1}" for row in evaluator],
            "set": [SETS[column] for column in set_],
            "attribute": attribute,
            "score": np.asarray(scores, dtype=float).ravel(),
            **more,
        }
    )


AGREED = [[5, 6, 7, 8], [4, 6, 7, 9], [5, 6.5, 7, 8], [6, 7, 7.5, 9]]
GUESSED = [[5, 8, 6, 7], [8, 5, 7, 6], [6, 7, 8, 5], [7, 6, 5, 8]]
#: W is 0.59 with p 0.007, and the interval begins at 0.18: more than chance, and below 0.7.
LOOSE = [[5, 6, 7, 8], [5, 8, 6, 7], [6, 5, 7, 8], [5, 7, 6, 8], [6, 5, 8, 7], [5, 6, 7, 8]]
#: W is 0.675 with p 0.033, and the interval begins at 0.13, where chance gives 0.25.
DOUBTFUL = [[5, 7, 8, 6], [6, 5, 7, 8], [6, 5, 8, 7], [5, 6, 8, 7]]


def pairs(rows, role_column=True):
    """Score table from (evaluator, pair, role, set on A, set on B, score A, score B)."""
    long, heard = [], {}
    for evaluator, pair, role, set_a, set_b, score_a, score_b in rows:
        for side, set_, score in (("A", set_a, score_a), ("B", set_b, score_b)):
            heard[evaluator, set_] = heard.get((evaluator, set_), 0) + 1
            long.append(
                {
                    "evaluator": evaluator,
                    "set": set_,
                    "attribute": "hiss",
                    "repeat": heard[evaluator, set_],
                    "score": score,
                    "pair": pair,
                    "side": side,
                    "role": role,
                }
            )
    table = pd.DataFrame(long)
    return table if role_column else table.drop(columns="role")


def test_that_a_block_holds_the_figures_and_the_sentence():
    (block,) = agreement(panel(AGREED), Scale())
    assert (block.attribute, block.condition, block.missing) == ("boom", None, 0)
    assert block.sets == SETS
    chi_square, _ = stats.friedmanchisquare(*np.array(AGREED).T)
    assert block.kendall.w == pytest.approx(chi_square / 12)
    assert block.agrees is True
    assert block.degree == "well"
    assert block.sentence == (
        "Agrees: W 1.00; chance alone explains values below 0.65. 4 evaluators, 4 sets."
    )
    assert block.without_flagged is None


def test_that_deviations_come_with_and_without_the_own_level():
    scores = np.array([[5, 6, 7, 8], [7, 8, 9, 10], [5, 7, 6, 8.0]])
    (block,) = agreement(panel(scores), Scale())
    raw = scores - scores.mean(axis=0)
    np.testing.assert_allclose(block.deviations, raw, atol=1e-9)
    np.testing.assert_allclose(
        block.level_free_deviations, raw - raw.mean(axis=1, keepdims=True), atol=1e-9
    )
    assert block.evaluators_detail[1].bias == pytest.approx(raw[1].mean())


def test_that_repeats_are_averaged_and_conditions_get_their_own_blocks():
    smooth, coarse = np.array(AGREED), np.array(GUESSED)
    table = pd.concat(
        [
            panel(smooth, condition="smooth", repeat=1),
            panel(smooth, condition="smooth", repeat=2),
            panel(coarse, condition="coarse", repeat=1),
            panel(coarse, condition="coarse", repeat=2),
        ]
    )
    whole, on_smooth, on_coarse = agreement(table, Scale())
    assert [block.condition for block in (whole, on_smooth, on_coarse)] == [
        None,
        "smooth",
        "coarse",
    ]
    np.testing.assert_allclose(whole.scores, (smooth + coarse) / 2)
    np.testing.assert_allclose(on_smooth.scores, smooth)
    assert on_smooth.agrees
    assert not on_coarse.agrees
    assert whole.evaluators_detail[0].repeat_sd == 0


def test_that_evaluators_are_sorted_by_number_and_the_unheard_are_no_rows():
    table = panel(AGREED * 3).query("evaluator != 'E2'")
    table = pd.concat([table, panel([[5.0]], attribute="hiss")])
    boom, hiss = agreement(table, Scale())
    assert boom.evaluators[:3] == ("E1", "E3", "E4")
    assert boom.evaluators[-1] == "E12"
    assert hiss.evaluators == ("E1",)
    assert hiss.kendall.reason == "One set cannot be ranked."
    assert hiss.agrees is None


def test_that_a_missing_score_is_counted_and_said():
    scores = np.array(AGREED, dtype=float)
    scores[1, 2] = np.nan
    (block,) = agreement(panel(scores), Scale())
    assert block.missing == 1
    assert block.kendall.evaluators == 3
    assert block.notes == ("E2 did not rate every set and is left out of W, not of ICC.",)
    assert block.icc.method == "restricted maximum likelihood"
    assert len(block.evaluators_detail) == 4


def test_that_driven_and_listened_scores_are_not_pooled_silently():
    table = panel(AGREED)
    table["origin"] = ["driven"] * 4 + ["listened"] * 12
    (block,) = agreement(table, Scale())
    assert block.notes == (
        "4 scores were given driving and 12 listening; they are taken together here.",
    )


def test_that_an_average_over_fewer_conditions_is_said():
    table = pd.concat([panel(AGREED, condition="smooth"), panel(AGREED, condition="coarse")])
    (block, *_) = agreement(table.iloc[:-1], Scale())
    assert block.notes == (
        "1 mean of an evaluator and set lacks a condition; corrected for its level.",
    )


@pytest.mark.parametrize("pairs_rated", [5, 8, 99])
def test_that_conditions_of_another_level_show_no_difference_between_sets(pairs_rated):
    level = {1: 4.0, 2: 6.0, 3: 8.0}
    rows = []
    for number in range(6):
        for pair in plan_session(1, [2, 3, 4], [1, 2, 3], 7, number)[:pairs_rated]:
            score = level[pair.condition_id]
            for side, set_ in (("A", pair.set_a), ("B", pair.set_b)):
                rows.append((f"E{number}", set_, pair.condition_id, score, side, pair.role))
    columns = ["evaluator", "set", "condition", "score", "side", "role"]
    table = pd.DataFrame(rows, columns=columns).assign(attribute="boom")
    block = agreement(table, Scale())[0]
    assert np.nanmax(np.abs(block.deviations)) < 1e-9
    assert np.nanmax(np.abs(block.scores - 6)) < 1e-9
    table.loc[table["set"] == 2, "score"] += 0.25
    (block, *_) = agreement(table, Scale())
    assert block.kendall.w == pytest.approx(1.0)


def test_that_hidden_pairs_show_false_alarms_repeat_error_and_side_bias():
    rows = []
    for evaluator, tilt in (("E1", 0.0), ("E2", 1.0), ("E3", 0.0), ("E4", 0.0)):
        rows += [
            (evaluator, 1, "candidate", "c", "x", 6 + tilt, 7),
            (evaluator, 2, "candidate", "y", "c", 8 + tilt, 6),
            (evaluator, 3, "null", "c", "c", 6 + tilt, 6),
            (evaluator, 4, "repeat", "x", "c", 7 + tilt, 6),
        ]
    (block,) = agreement(pairs(rows), Scale())
    steady, tilted = block.evaluators_detail[:2]
    assert steady.null_pair_error == 0
    assert steady.repeat_pair_error == pytest.approx(0)
    assert tilted.null_pair_error == pytest.approx(1.0)
    # First c - x was 0, when the pair came again it was -2.
    assert tilted.repeat_pair_error == pytest.approx(2.0)
    assert tilted.side_bias - steady.side_bias == pytest.approx(1.0)
    assert tilted.reasons == (
        "scores null pairs 1.0 apart and repeats 2.0 from the first time (root mean square): "
        "more than the others' scatter of 0.2 explains",
    )
    assert block.without_flagged.evaluators == 3


def test_that_without_roles_the_same_set_on_both_sides_is_a_null_pair():
    rows = [
        ("E1", 1, "", "c", "x", 6, 7),
        ("E1", 2, "", "c", "c", 6, 6.75),
        ("E2", 3, "", "c", "x", 6, 7),
    ]
    (block,) = agreement(pairs(rows, role_column=False), Scale())
    first, second = block.evaluators_detail
    assert first.null_pair_error == 0.75
    assert first.repeat_pair_error is None
    assert first.reasons == ()
    assert second.null_pair_error is None


def test_that_a_table_without_pairs_has_no_figures_about_them():
    (block,) = agreement(panel(AGREED), Scale())
    for finding in block.evaluators_detail:
        assert finding.null_pair_error is finding.repeat_pair_error is finding.side_bias is None
        assert finding.repeat_sd is finding.mandel_k is None


def test_that_who_ranks_unlike_the_others_is_named_only_where_the_panel_agrees():
    (agreed,) = agreement(panel([*AGREED, *AGREED, [8, 7, 6, 5]]), Scale())
    assert agreed.evaluators_detail[-1].reasons == (
        "ranks the sets the other way round: correlation with the others -1.00",
    )
    assert agreed.without_flagged.w > agreed.kendall.w
    (guessed,) = agreement(panel(GUESSED), Scale())
    assert all(not finding.reasons for finding in guessed.evaluators_detail)


def test_that_who_scores_one_set_far_from_the_panel_is_told_where():
    generator = np.random.default_rng(2)
    scores = np.array([5, 6, 7, 8]) + np.round(generator.normal(0, 0.25, (10, 4)) * 4) / 4
    scores[3, 2] = 3.0
    (block,) = agreement(panel(scores), Scale())
    finding = block.evaluators_detail[3]
    assert finding.stray.startswith("one score to check: 3 for set 731; the others suggest 6.")
    assert (finding.reasons, finding.remarks) == ((), (finding.stray,))
    assert all(not each.remarks for each in block.evaluators_detail if each is not finding)
    assert abs(finding.mandel_h) > block.mandel_critical.h


def test_that_scale_use_is_told():
    (block,) = agreement(panel(AGREED), Scale())
    finding = block.evaluators_detail[2]
    assert (finding.lowest, finding.highest, finding.whole_number_share) == (5, 8, 0.75)


def test_that_the_headline_is_the_finding():
    agreed, guessed = panel(AGREED, "cavity_ring"), panel(GUESSED, "hiss")
    rumble = panel(AGREED, "rumble")
    lone = panel(AGREED[:1], "boom")

    def says(*tables):
        return headline(agreement(pd.concat(tables), Scale()))

    assert (
        says(agreed, rumble, guessed) == "The panel agrees on cavity ring and rumble, not on hiss."
    )
    assert says(agreed, rumble) == "The panel agrees on every attribute."
    assert says(agreed) == "The panel agrees on cavity ring."
    assert says(guessed) == "The panel does not agree on hiss."
    assert says(guessed, panel(GUESSED, "boom")) == "The panel does not agree on any attribute yet."
    loose = panel(LOOSE, "boom")
    assert says(loose) == "The panel agrees only loosely on boom."
    assert says(agreed, loose) == "The panel agrees on cavity ring, only loosely on boom."
    doubtful = panel(DOUBTFUL, "boom")
    doubt = "but how well is not certain (W 0.13 to 0.97)."
    assert says(doubtful) == f"The panel agrees on boom, {doubt}"
    assert says(agreed, doubtful) == f"The panel agrees on cavity ring; also on boom, {doubt}"
    # Among three its p of 0.033 is no longer rare.
    assert says(agreed, doubtful, guessed) == (
        "The panel agrees on cavity ring, not on boom or hiss."
    )
    assert says(lone) == "Too few scores, sets or evaluators to tell whether the panel agrees."
    assert says(lone, rumble) == (
        "The panel agrees on rumble. For the rest it is too early to tell."
    )
    assert headline([]) == "No scores yet."


def test_that_a_panel_too_small_for_any_w_is_told_so():
    (block,) = agreement(panel([[5, 6, 7], [5, 6, 7]]), Scale())
    assert block.sentence == (
        "Too few to tell: W 1.00, and chance explains any W. 2 evaluators, 3 sets."
    )
    assert block.agrees is None


def test_that_no_scores_are_no_blocks():
    assert agreement(panel([[5.0]]).iloc[:0], Scale()) == ()


def test_that_scores_outside_any_pair_do_not_make_one():
    rows = [("E1", 1, "null", "c", "c", 6, 6.75), ("E2", 2, "null", "c", "c", 6, 6)]
    table = pairs(rows)
    brought = table.iloc[:2].assign(evaluator="E3", pair=np.nan, score=[1.0, 9.0])
    (block,) = agreement(pd.concat([table, brought]), Scale())
    assert [f.null_pair_error for f in block.evaluators_detail] == [0.75, 0, None]


@pytest.mark.slow
def test_that_any_table_in_the_making_gives_figures_or_reasons():
    generator = np.random.default_rng(4)
    told = 0
    for _ in range(150):
        shape = tuple(generator.integers(1, 6, 4))
        evaluator, set_, condition, repeat = np.indices(shape).reshape(4, -1)
        score = np.round(generator.uniform(1, 4, evaluator.size) * 2) / 2
        score[generator.random(score.size) < generator.choice([0, 0.1, 0.5, 1])] = np.nan
        table = pd.DataFrame(
            {
                "evaluator": evaluator,
                "set": set_,
                "condition": np.array(["wet", "dry", None, "cold", "hot"], dtype=object)[condition],
                "attribute": "hiss",
                "repeat": repeat,
                "score": score,
                "pair": np.where(generator.random(score.size) < 0.2, np.nan, repeat),
                "side": generator.choice(["A", "B", ""], score.size),
                "role": generator.choice(["candidate", "null", "repeat", ""], score.size),
            }
        )
        begun = table[generator.random(len(table)) < generator.choice([1, 0.8, 0.2])]
        for block in agreement(begun, Scale()):
            assert block.sentence
            assert (block.kendall.w is None) == bool(block.kendall.reason)
            for form in block.icc.forms:
                assert form.reason if form.value is None else form.value <= 1
                told += form.value is not None
    assert told > 500
