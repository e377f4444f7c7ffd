"""What may be said while sessions run."""

import numpy as np
import pytest
from benchmarks.false_claims import Panel, invented

from ratings.errors import ScoreTableError
from ratings.findings.enough import enough
from ratings.study.attributes import Scale


def look(table, count, planned, **more):
    """Look when the first `count` evaluators have finished."""
    names = [f"E{number + 1}" for number in range(count)]
    return enough(table, names, "S1", Scale(), planned=planned, **more)


def drawn(seed=1, **panel):
    usual = {"is_paired": True, "evaluators": 8, "sets": 2, "conditions": 1, "taste": 0.3}
    return invented(Panel(**usual | panel), np.random.default_rng(seed))


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
