"""The verdict on whole score tables: figures, sentences, units, and what is left out of nothing."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from ratings.errors import ScoreTableError
from ratings.findings.differences import differences
from ratings.findings.differences_words import headline
from ratings.study.attributes import Scale

TOP = Path(__file__).resolve().parents[3]
SETS = ("205", "417", "731", "862")


def table(effects, seed=1, evaluators=8, repeats=2, attribute="boom", conditions=("",), **spread):
    """Long table of an invented panel; effects by set, or by set and condition."""
    generator = np.random.default_rng(seed)
    true = np.asarray(effects, dtype=float).reshape(len(effects), -1)
    true = true * np.ones((len(effects), len(conditions)))
    shape = evaluators, len(effects), len(conditions), repeats
    e, s, c, r = np.indices(shape).reshape(4, -1)
    scores = (
        6
        + true[s, c]
        + generator.normal(0, 0.5, evaluators)[e]
        + generator.normal(0, spread.get("disagreement", 0.2), shape[:2])[e, s]
        + generator.normal(0, spread.get("own", 0.25), e.size)
    )
    frame = pd.DataFrame(
        {
            "evaluator": np.char.add("E", (e + 1).astype(str)),
            "set": np.array(SETS)[s],
            "attribute": attribute,
            "repeat": r + 1,
            "score": np.clip(np.round(scores * 4) / 4, 1, 10),
        }
    )
    return frame if conditions == ("",) else frame.assign(condition=np.array(conditions)[c])


def paired(evaluators=6, lead=(0.75, 0.0), drift=1.0, seed=2):
    """Scores of pairs of each candidate with the control, falling over the session."""
    generator = np.random.default_rng(seed)
    rows = []
    for evaluator in range(evaluators):
        for pair, better in enumerate(lead):
            level = 7 - drift * pair + generator.normal(0, 0.1)
            seen = {"205": level, SETS[pair + 1]: level + better + generator.normal(0, 0.2)}
            sides = ("A", "B") if (evaluator + pair) % 2 else ("B", "A")
            rows += [
                {
                    "evaluator": f"E{evaluator + 1}",
                    "set": set_,
                    "attribute": "hiss",
                    "repeat": pair + 1,
                    "score": round(score * 4) / 4,
                    "pair": f"{evaluator}-{pair}",
                    "side": side,
                }
                for side, (set_, score) in zip(sides, seen.items(), strict=True)
            ]
    return pd.DataFrame(rows)


def test_that_each_set_gets_its_figures_and_a_sentence():
    (block,) = differences(table([0, 1.1, 0.02, -0.9]), "205", Scale())
    assert block.model == "score ~ set + (1|evaluator) + (1|evaluator:set)"
    assert [d.set for d in block.differences] == ["417", "731", "862"]
    assert [d.verdict for d in block.differences] == ["better", "same", "worse"]
    better, same, worse = block.differences
    assert better.difference == pytest.approx(1.1, abs=0.3)
    assert better.sentence == (
        f"better by {better.difference:.1f} points ({better.lower:.1f} to {better.upper:.1f}), "
        "clear after adjusting for 3 sets"
    )
    assert worse.sentence.startswith(f"worse by {-worse.difference:.1f} points ({-worse.upper:.1f}")
    # Two one-sided tests at 5 % look at the interval of 90 %.
    half = stats.t.ppf(0.95, same.df) * same.se
    ends = f"{same.difference - half:+.1f} to {same.difference + half:+.1f}"
    assert same.sentence == f"within 0.5 points of the control (90 %: {ends})"
    assert same.equivalent_p < 0.05 < same.p
    assert better.evaluators == 8
    assert headline((block,)) == "Against 205: 417 is better on boom; 862 is worse on boom."


def test_that_ranks_and_signs_are_those_of_the_evaluators_means():
    frame = table([0, 0.5, 0.2, 0])
    (block,) = differences(frame, "205", Scale())
    means = frame.pivot_table(index="evaluator", columns="set", values="score")
    own = np.round(means["417"] - means["205"], 9)
    assert block.differences[0].difference == pytest.approx(own.mean(), abs=1e-6)
    theirs = stats.permutation_test(
        (own.to_numpy(),), np.mean, permutation_type="samples", n_resamples=np.inf
    )
    assert block.differences[0].p_sign_flip == pytest.approx(theirs.pvalue)
    assert block.differences[0].p_signed_rank_exact >= 2 / 2**8
    assert block.balanced_ratio.f == pytest.approx(block.kenward_roger.f, rel=1e-4)


def test_that_an_uncertain_difference_says_what_the_panel_could_have_found():
    (block,) = differences(table([0, 0.5], seed=6, evaluators=4, disagreement=0.9), "205", Scale())
    (found,) = block.differences
    assert found.verdict == "not certain"
    assert found.sentence.startswith("not certain: ")
    assert found.sentence.endswith(f"would reliably find {found.smallest_detectable:.1f}")
    assert headline((block,)) == "No set differs clearly from 205."


def test_that_many_attributes_are_allowed_for():
    frames = [table([0, 0.45], seed=10, attribute="boom", disagreement=0.35)]
    frames += [
        table([0, 0.0], seed=20 + n, attribute=f"other {n}", disagreement=0.35) for n in range(11)
    ]
    blocks = differences(pd.concat(frames), "205", Scale())
    adjusted = [block.differences[0].p_holm for block in blocks]
    alone = [block.differences[0].p_dunnett for block in blocks]
    assert alone[0] < 0.05 < adjusted[0]
    assert adjusted[0] == pytest.approx(min(1.0, 12 * min(alone)))
    assert blocks[0].differences[0].verdict == "not certain"
    told = blocks[0].differences[0].sentence
    assert told.endswith("; clear alone, not after adjusting for 12 attributes")
    assert headline(blocks) == "No set differs clearly from 205."


def test_that_two_evaluators_are_never_a_panel():
    frame = table([0, 4.0, 4.0, 4.0], seed=3, evaluators=2, disagreement=0.02)
    (block,) = differences(frame, "205", Scale())
    for found in block.differences:
        assert found.p_holm < 0.05
        assert found.verdict == "not certain"
        assert found.sentence.endswith("; two evaluators cannot stand for a panel")
    assert headline((block,)) == "No set differs clearly from 205."


def test_that_three_evaluators_are_named_as_few():
    (block,) = differences(table([0, 4.0], seed=3, evaluators=3, disagreement=0.05), "205", Scale())
    assert block.differences[0].sentence.endswith("clear, by 3 evaluators only")


def test_that_a_small_difference_that_is_there_is_said_beside_within():
    frame = table([0, 0.25], seed=5, evaluators=12, disagreement=0.05)
    (found,) = differences(frame, "205", Scale())[0].differences
    assert found.sentence.endswith(", clear; smaller than the 0.5 that matters")
    frames = [table([0, 0.2], seed=4, evaluators=12, disagreement=0.15, attribute="boom")]
    frames += [
        table([0, 0.0], seed=100 + n, evaluators=12, disagreement=0.35, attribute=f"other {n}")
        for n in range(11)
    ]
    (found,) = differences(pd.concat(frames), "205", Scale())[0].differences
    assert found.p < 0.05 < found.p_holm
    assert found.verdict == "same"
    assert found.sentence.endswith("; better by 0.3 points when looked at alone")


def test_that_a_set_better_on_coarse_and_worse_on_smooth_is_told_by_condition():
    frame = table([[0, 0], [1.0, -1.0]], conditions=("coarse", "smooth"))
    (block,) = differences(frame, "205", Scale())
    assert block.depends_on_condition
    (found,) = block.differences
    assert [c.condition for c in found.by_condition] == ["coarse", "smooth"]
    assert found.verdict == "by condition"
    assert found.sentence.startswith("depends on the condition; on average ")
    assert "By condition: coarse better by " in found.sentence
    assert "; smooth worse by " in found.sentence
    assert found.sentence.count(", clear") == 2
    assert headline((block,)) == (
        "Against 205: 417 is better on boom (coarse) and worse on boom (smooth)."
    )
    (calm,) = differences(table([0, 1.0], conditions=("coarse", "smooth")), "205", Scale())
    assert not calm.depends_on_condition
    assert "By condition" not in calm.differences[0].sentence
    assert calm.model == "score ~ set + condition + (1|evaluator) + (1|evaluator:set)"


def test_that_pairs_are_compared_by_the_difference_within_them():
    frame = paired()
    (block,) = differences(frame, "205", Scale())
    assert block.model.startswith("difference within the pair ~ set")
    first, second = block.differences
    assert first.difference == pytest.approx(0.75, abs=0.25)
    assert second.difference == pytest.approx(0.0, abs=0.25)
    by_hand = frame.pivot_table(index="pair", columns="set", values="score")
    lead = (by_hand["417"] - by_hand["205"]).dropna()
    assert first.difference == pytest.approx(lead.mean(), abs=1e-6)
    # Without the pairs the fall over the session would pass for a difference between the sets.
    (scores,) = differences(frame.drop(columns=["pair", "side"]), "205", Scale())
    assert scores.differences[0].difference > 1.0
    assert scores.differences[1].difference < -0.25


def test_that_null_pairs_and_halves_are_not_differences():
    frame = paired()
    null = frame[(frame["pair"] == "0-0")].assign(set="205", pair="null", repeat=[8, 9])
    halved = frame[~((frame["pair"] == "1-0") & (frame["set"] == "205"))]
    (block,) = differences(pd.concat([halved, null]), "205", Scale())
    assert block.differences[0].evaluators == 5
    assert "1 score stands without the control beside it: not used." in block.notes


def test_that_pairs_of_two_candidates_are_compared_as_scores():
    frame = paired()
    beside = frame[frame["pair"] == "0-0"].assign(pair="x", set=["417", "731"], repeat=7)
    (block,) = differences(pd.concat([frame, beside]), "205", Scale())
    assert block.model.startswith("score ~ set")


def test_that_a_flagged_evaluator_stays_in_and_is_shown_without():
    frame = table([0, 1.0, 0.5, 0.9], seed=3, own=0.1, disagreement=0.1)
    turned = frame["evaluator"] == "E3"
    frame.loc[turned, "score"] = np.clip(14 - frame.loc[turned, "score"] * 1.2, 1, 10)
    (block,) = differences(frame, "205", Scale())
    assert "E3" in block.flagged
    assert "E3" in block.evaluators
    assert any(
        note.startswith("To look at, and counted all the same: E3 (") for note in block.notes
    )
    for found in block.differences:
        assert found.evaluators == 8
        assert found.without_flagged.evaluators == 8 - len(block.flagged)
        assert found.without_flagged.difference > found.difference
        changed = found.without_flagged.verdict != found.verdict
        assert changed == ("Without E3" in found.sentence)
    assert any(d.without_flagged.verdict != d.verdict for d in block.differences)


def test_that_leaving_flagged_evaluators_out_is_no_second_chance_to_claim():
    # Without the one turned round the others would be called clear, with him they are not.
    frame = table([0, 1.0, 0.5, 0.9], seed=3, own=0.1, disagreement=0.1)
    turned = frame["evaluator"] == "E3"
    frame.loc[turned, "score"] = np.clip(14 - frame.loc[turned, "score"] * 1.2, 1, 10)
    (block,) = differences(frame, "205", Scale())
    again = [d for d in block.differences if d.without_flagged.verdict == "better" != d.verdict]
    assert again
    for found in again:
        before, after = found.sentence.split(". Without E3: ")
        assert before.startswith("not certain: ")
        assert after.startswith("better by ")
        assert after.endswith("; shown, not claimed: who is left out was chosen by these scores")
        assert "clear" not in after
        assert found.without_flagged.sentence == after


def test_that_no_panel_without_a_difference_is_claimed_without_somebody():
    # Seeded; one evaluator in six scatters three times as much, and no set differs.
    told = []
    for seed in range(60):
        frame = table([0, 0, 0, 0], seed=seed, evaluators=6, repeats=1, disagreement=0.4)
        wild = frame["evaluator"] == "E1"
        noise = np.random.default_rng(seed).normal(0, 1.5, int(wild.sum()))
        frame.loc[wild, "score"] = np.clip(np.round(frame.loc[wild, "score"] + noise), 1, 10)
        told += differences(frame, "205", Scale())[0].differences
    assert any(d.without_flagged is not None for d in told)
    aside = [d.sentence.split(". Without ")[1] for d in told if ". Without " in d.sentence]
    assert not any("clear" in each or "within" in each for each in aside)


def test_that_holes_are_no_error_and_are_told():
    frame = table([0, 1.0, 0.1, 0.0])
    frame = frame[~((frame["evaluator"] == "E2") & (frame["set"] == "417"))]
    frame.loc[frame.index[0], "score"] = np.nan
    (block,) = differences(frame, "205", Scale())
    assert block.balanced_ratio is None
    assert [d.evaluators for d in block.differences] == [7, 8, 8]
    assert any(note.startswith("E2 did not rate every set") for note in block.notes)


def test_that_the_boundary_is_named():
    for seed in range(20):
        (block,) = differences(table([0, 0.4], seed=seed, disagreement=0.0), "205", Scale())
        if block.boundary:
            break
    assert block.boundary == ("evaluator:set",)
    assert block.satterthwaite.df2 > block.kenward_roger.df2
    assert block.boundary
    assert not any("variance" in note for note in block.notes)


@pytest.mark.parametrize(
    ("frame", "sentence"),
    [
        (table([0, 1.0], evaluators=1), "nothing can be said: one evaluator alone cannot"),
        (
            table([0, 1.0]).assign(score=5.0).iloc[2:],
            "nothing can be said: the scores leave no scatter",
        ),
    ],
)
def test_that_what_cannot_be_judged_is_said(frame, sentence):
    (block,) = differences(frame, "205", Scale())
    (found,) = block.differences
    assert found.verdict == "unknown"
    assert found.p is None
    assert found.sentence.startswith(sentence)
    assert headline((block,)) == "Too few scores to compare any set with 205."


def test_that_an_attribute_without_the_control_says_so():
    frame = pd.concat([table([0, 1.0]), table([0, 1.0], attribute="hiss").query("set == '417'")])
    boom, hiss = differences(frame, "205", Scale())
    assert boom.differences[0].verdict == "better"
    assert hiss.differences[0].sentence == (
        "nothing can be said: the control has no score on this attribute."
    )


def test_that_an_unknown_control_names_the_sets_and_a_margin_must_be_one():
    with pytest.raises(ScoreTableError, match='no set "999"; there is 205 and 417'):
        differences(table([0, 1.0]), "999", Scale())
    with pytest.raises(ScoreTableError, match="margin of 0 points"):
        differences(table([0, 1.0]), "205", Scale(), margin=0.0)


def test_that_the_margin_follows_the_length_of_the_scale():
    frame = table([0, 1.0])
    frame["score"] = frame["score"] * 10
    (block,) = differences(frame, "205", Scale(low=10, high=100, step=1))
    assert block.margin == pytest.approx(5.0)


def test_that_the_verdict_starts_without_the_slow_libraries():
    code = (
        "import sys, ratings.commands.compare; "
        "print([name for name in ('scipy', 'pandas') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def scattering(rng, spread, evaluators=8):
    """Scores in half points in which no set differs; `spread` by set and condition."""
    spread = np.asarray(spread, dtype=float)
    scores = rng.normal(6, 0.8, (evaluators, 1, 1)) + rng.normal(
        0, 0.3, (evaluators, len(spread), 1)
    )
    scores = np.round(2 * (scores + spread * rng.normal(0, 1, (evaluators, *spread.shape)))) / 2
    who, set_, condition = np.indices(scores.shape).reshape(3, -1)
    return pd.DataFrame(
        {
            "evaluator": [f"E{each}" for each in who],
            "set": [f"S{each}" for each in set_],
            "condition": [f"C{each}" for each in condition],
            "attribute": "boom",
            "score": np.clip(scores.ravel(), 1, 10),
        }
    )


def test_that_a_set_is_not_claimed_against_its_own_scatter():
    # The common error of five quiet sets is too small for one that scatters five times as much.
    rng = np.random.default_rng(3)
    doubted = 0
    for _ in range(40):
        frame = scattering(rng, [[0.3]] * 5 + [[1.5]])
        for row in differences(frame, "S0", Scale())[0].differences:
            scores = frame.pivot_table("score", "evaluator", "set")
            alone = stats.ttest_rel(scores[row.set], scores["S0"]).pvalue
            if row.verdict in ("better", "worse"):
                assert row.p_own is None or alone <= 0.05
            elif row.p_dunnett <= 0.05:
                doubted += 1
                assert row.p_own == pytest.approx(alone)
                assert row.sentence.endswith(
                    "; clear beside the scatter of all sets, not beside its own"
                )
    assert doubted


def test_that_one_noisy_cell_is_no_dependence_on_the_condition():
    spread = np.full((4, 3), 0.5)
    spread[2, 1] = 2.5
    rng = np.random.default_rng(4)
    blocks = [differences(scattering(rng, spread), "S0", Scale())[0] for _ in range(40)]
    # By the plain F alone every sixth of these would depend on the condition.
    assert sum(block.set_by_condition.p <= 0.05 for block in blocks) >= 5
    assert sum(block.depends_on_condition for block in blocks) <= 5


def test_that_no_average_over_opposite_conditions_is_within():
    steps = np.zeros((4, 2))
    steps[1], steps[2] = (1.0, -1.0), (1.2, -1.2)
    noise = np.random.default_rng(6).choice([-0.5, 0.0, 0.5], (8, 4, 2), p=[0.2, 0.6, 0.2])
    frame = scattering(np.random.default_rng(5), np.zeros((4, 2)))
    frame["score"] = (6 + steps + noise).ravel()
    (block,) = differences(frame, "S0", Scale())
    assert block.depends_on_condition
    for row in block.differences:
        assert row.verdict != "same"
    frame["score"] = (6 + noise).ravel()
    (block,) = differences(frame, "S0", Scale())
    told = [row.sentence for row in block.differences if row.verdict == "same"]
    assert told
    assert all(sentence.startswith("on average within 0.5 points") for sentence in told)
