"""What may be said while sessions run."""

import numpy as np
import pytest
from benchmarks.false_claims import Panel, invented
from benchmarks.looks import whole_studies
from scipy import stats

from ratings.errors import ScoreTableError
from ratings.findings.enough import enough
from ratings.statistics.sequential.looks import Plan
from ratings.statistics.sequential.mixture import log_evidence, t_to_reach
from ratings.study.attributes import Scale


def look(table, count, planned, **more):
    """Look when the first `count` evaluators have finished."""
    names = [f"E{number + 1}" for number in range(count)]
    return enough(table, names, "S1", Scale(), planned=planned, **more)


def drawn(seed=1, better=0.0, **panel):
    """Scores of a panel; all give S2 so many points more on A1."""
    usual = {"is_paired": True, "evaluators": 8, "sets": 2, "conditions": 1, "taste": 0.3}
    table = invented(Panel(**usual | panel), np.random.default_rng(seed))
    table.loc[(table["set"] == "S2") & (table["attribute"] == "A1"), "score"] += better
    return table


@pytest.mark.parametrize(
    ("count", "planned", "analysis"),
    [(4, 6, "looking"), (6, 6, "final"), (7, 6, "extended"), (4, None, "no plan")],
)
def test_that_the_analysis_follows_the_plan(count, planned, analysis):
    assert look(drawn(), count, planned).analysis == analysis


def test_that_scores_of_sessions_that_run_do_not_count():
    table = drawn()
    changed = table.copy()
    of_one = (changed["evaluator"] == "E5") & (changed["set"] == "S2")
    changed.loc[of_one, "score"] = 1.0
    assert look(table, 4, 8) == look(changed, 4, 8)
    assert look(table, 5, 8) != look(changed, 5, 8)


def test_that_the_final_verdict_has_no_second_word_beside_it():
    found = look(drawn(), 8, 8)
    assert found.rows == ()
    assert found.headline == "All planned evaluators have finished: the final verdict counts."


def test_that_an_unknown_control_is_refused():
    with pytest.raises(ScoreTableError, match="S9"):
        enough(drawn(), ["E1"], "S9", Scale())


def test_that_evaluators_by_number_and_what_is_missing_are_counted_per_row():
    table = drawn(sets=3)
    lacking = table[(table["evaluator"] != "E2") | (table["set"] != "S3")]
    rows = {row.set: row for row in look(lacking, 4, 8).rows}
    assert rows["S2"].evaluators == 4
    assert rows["S3"].evaluators == 3


def test_that_a_row_is_the_look_at_the_evaluators_own_mean_differences():
    table = drawn(seed=4, conditions=3, taste=0.5, better=0.7)
    (row,) = look(table, 6, 8).rows
    first = table[table["evaluator"].isin([f"E{n}" for n in range(1, 7)])]
    by_set = first.pivot_table("score", ["evaluator", "condition", "pair"], "set")
    own = (by_set["S2"] - by_set["S1"]).groupby("evaluator").mean()
    t = stats.ttest_1samp(own, 0.0).statistic
    assert row.difference == pytest.approx(own.mean())
    assert row.evidence == pytest.approx(np.exp(log_evidence(t, 6)))
    assert row.bound == pytest.approx(np.exp(Plan(8).bound()))
    half = t_to_reach(Plan(8).bound(), 6) * own.sem()
    assert (row.lower, row.upper) == pytest.approx((own.mean() - half, own.mean() + half))


@pytest.mark.parametrize("is_paired", [True, False])
def test_that_a_difference_everybody_hears_alike_is_judged_by_the_steps(is_paired):
    # Three conditions in half points: each difference of a pair has a sixth of a squared step.
    table = drawn(conditions=3, taste=0.0, scatter=0.0, better=2.0, is_paired=is_paired)
    (row,) = look(table, 4, 8).rows
    t = 2.0 / np.sqrt(0.5**2 / 6 / 3 / 4)
    assert row.evidence == pytest.approx(np.exp(log_evidence(t, 4)))
    assert look(table, 6, 8).rows[0].state == "settled: better"


def test_that_a_large_difference_is_settled_and_no_more_is_asked():
    found = look(drawn(taste=0.1, scatter=0.2, better=-2.0), 7, 8)
    (row,) = found.rows
    assert (row.state, row.more, row.chance) == ("settled: worse", 0, 1.0)
    assert found.headline == "Everything is settled: it is enough."
    assert row.sentence.startswith("settled: worse by 2.")


def test_that_a_set_like_the_control_is_settled_as_too_small_to_matter():
    found = look(drawn(evaluators=20, conditions=3, taste=0.0, scatter=0.2), 15, 20)
    (row,) = found.rows
    assert row.state == "settled: too small to matter"
    assert row.sentence.startswith("settled: too small to matter, within 0.5 points of the control")
    assert look(drawn(evaluators=20, conditions=3), 15, 20, margin=0.01).rows[0].state == "open"


def test_that_what_would_likely_settle_it_is_said():
    table = drawn(seed=9, sets=3, attributes=2, better=1.5)
    found = look(table, 6, 8)
    (likely,) = [row for row in found.rows if row.more]
    assert (likely.attribute, likely.set) == ("A1", "S2")
    assert found.headline == "2 more evaluators would likely settle A1 (S2)."
    assert likely.sentence.endswith("2 more evaluators would likely settle it")
    alone = look(table[(table["attribute"] == "A1") & (table["set"] != "S3")], 5, 8)
    assert alone.headline == "2 more evaluators would likely settle A1."


def test_that_what_is_not_likely_is_said_with_its_chance_or_as_unlikely():
    table = drawn(seed=2, sets=3, attributes=2, better=1.5)
    found = look(table, 6, 8)
    chance = max(row.chance for row in found.rows)
    assert found.headline == (
        "Nothing is settled yet. A1 (S2) may be settled within the plan of 8 evaluators (chance "
        f"{100 * chance:.0f} %)."
    )
    nothing = look(table[table["attribute"] == "A2"], 6, 8)
    assert max(row.chance for row in nothing.rows) < 0.2
    assert nothing.headline == (
        "Nothing is settled yet, and nothing is likely to be within the plan of 8 evaluators."
    )
    assert "by 12 more evaluators" in look(table[table["attribute"] == "A2"], 6, None).headline


def test_that_what_later_evaluators_contradict_is_open_again():
    table = drawn(taste=0.1, scatter=0.2, better=1.5)
    assert look(table, 6, 8).rows[0].state == "settled: better"
    table.loc[(table["evaluator"] == "E7") & (table["set"] == "S2"), "score"] -= 5.0
    assert look(table, 7, 8).rows[0].state == "open"


def test_that_the_control_without_scores_settles_nothing():
    table = drawn(attributes=2)
    lacking = table[(table["attribute"] != "A2") | (table["set"] != "S1")]
    rows = {row.attribute: row for row in look(lacking, 5, 8).rows}
    assert rows["A1"].difference is not None
    assert (rows["A2"].state, rows["A2"].difference) == ("too few", None)
    assert "nobody" in rows["A2"].sentence
    control_alone = look(table[table["set"] == "S1"], 5, 8)
    assert control_alone.rows == ()
    assert control_alone.headline == (
        "Too early to say: no set was rated beside the control by 3 evaluators."
    )


@pytest.mark.parametrize(
    ("count", "planned", "said"),
    [
        (0, 8, "0 of 8 planned evaluators have finished, a look needs 3."),
        (1, 8, "1 of 8 planned evaluators has finished, a look needs 3."),
        (2, None, "2 evaluators have finished, a look needs 3."),
    ],
)
def test_that_fewer_than_three_are_too_few(count, planned, said):
    found = look(drawn(taste=0.0, scatter=0.0, better=3.0), count, planned)
    assert found.headline == f"Too early to say: {said}"
    assert {row.state for row in found.rows} == {"too few"}
    assert all(row.more is None and row.chance is None for row in found.rows)


def test_that_notes_say_what_a_look_costs_and_which_interval_is_not_valid():
    first, second, third = look(drawn(), 4, 8).notes
    assert first == (
        "A look costs a little power; the interval of the final verdict is not valid while looking."
    )
    assert "1 % of studies" in second
    assert "p of 0.04 or less" in second
    assert "later evaluators can open it again" in third
    assert look(drawn(), 8, 8).notes == ()
    assert "any number of looks" in look(drawn(), 8, 7).notes[0]
    assert "any number of looks" in look(drawn(), 8, None).notes[0]


def _contradictions(row, margin):
    """Return what the words of a row say that its figures do not."""
    wrong = []
    is_clear = row.evidence is not None and row.bound is not None and row.evidence >= row.bound
    is_small = row.lower is not None and -margin <= row.lower and row.upper <= margin
    of_state = {
        "settled: better": is_clear and row.difference > 0,
        "settled: worse": is_clear and row.difference < 0,
        "settled: too small to matter": is_small and not is_clear,
        "open": row.evaluators >= 3 and not is_clear and not is_small,
        "too few": row.evaluators < 3,
    }
    if not of_state[row.state]:
        wrong.append(row.state)
    if not row.sentence.startswith(row.state):
        wrong.append(row.sentence)
    if row.is_settled != (row.more == 0):
        wrong.append("more")
    if is_clear and row.lower is not None and row.lower < 0 < row.upper:
        wrong.append("the interval holds zero")
    if "would likely" in row.sentence and not (row.more and row.chance >= 0.8):
        wrong.append("likely")
    if "unlikely" in row.sentence and row.chance >= 0.2:
        wrong.append("unlikely")
    if "clear alone" in row.sentence and row.lower < 0 < row.upper:
        wrong.append("clear alone")
    if row.difference is not None and abs(row.difference) >= 0.05 and row.state != "too few":
        other = "worse by" if row.difference > 0 else "better by"
        if other in row.sentence:
            wrong.append("way")
    return wrong


@pytest.mark.slow
def test_that_no_sentence_contradicts_its_figures_on_some_hundred_looks():
    rng = np.random.default_rng(7)
    states = set()
    for study in range(40):
        panel = Panel(
            evaluators=int(rng.integers(1, 13)),
            sets=int(rng.integers(2, 5)),
            conditions=int(rng.integers(1, 4)),
            attributes=int(rng.integers(1, 4)),
            is_paired=bool(rng.random() < 0.5),
            taste=float(rng.choice([0.0, 0.4, 1.0])),
            scatter=float(rng.choice([0.0, 0.2, 0.7])),
            effect=float(rng.choice([0.0, 0.0, 1.0, 3.0])),
        )
        table = invented(panel, np.random.default_rng([7, study]))
        table = table[rng.random(len(table)) < rng.choice([0.8, 1.0, 1.0])]
        if "S1" not in set(table["set"]):
            continue
        planned = None if rng.random() < 0.2 else int(rng.integers(1, 14))
        for count in range(panel.evaluators + 1):
            found = look(table, count, planned)
            for row in found.rows:
                states.add(row.state)
                assert _contradictions(row, found.margin) == []
            settled = sum(row.is_settled for row in found.rows)
            assert ("Everything" in found.headline) == (0 < settled == len(found.rows))
            assert ("Settled:" in found.headline) == (0 < settled < len(found.rows))
            assert ("likely settle" in found.headline) == any(row.more for row in found.rows)
            assert (found.rows == ()) >= (found.analysis == "final")
    assert len(states) == 5


@pytest.mark.slow
@pytest.mark.parametrize("name", ["looked at eight times", "sharper than the steps"])
def test_that_whole_null_studies_are_claimed_no_more_often_than_looks_may(name):
    studies = 40
    at_look, either = whole_studies(name, studies, 3)
    # Of 3 sets on several attributes each: at 1 % and at 6 % of studies; more in one run of 1,000.
    assert at_look <= stats.binom.ppf(0.999, studies, 0.01) / studies
    assert either <= stats.binom.ppf(0.999, studies, 0.06) / studies
