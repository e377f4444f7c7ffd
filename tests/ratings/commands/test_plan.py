"""The command that plans, and what it says to nonsense."""

import json

import pytest

from ratings.__main__ import main
from ratings.statistics.agreement.kendall import smallest_significant_w

ASKED = ["plan", "--sets", "6", "--evaluators", "8"]


def test_that_json_holds_what_the_contract_asks(capsys):
    assert main([*ASKED, "--difference", "0.5", "--sd", "0.75", "--json"]) == 0
    captured = capsys.readouterr()
    plan = json.loads(captured.out)
    assert captured.err == ""
    assert (plan["sets"], plan["evaluators"], plan["pairs_per_session"]) == (6, 8, 7)
    assert plan["evaluators_needed_at_80_percent"] == 20
    assert plan["smallest_w_at_5_percent"] == pytest.approx(0.27, abs=0.01)
    assert 0 < plan["power"] < 1
    assert plan["claim"]["chance_that"] == (
        "one named set of 5 is called clear on one named attribute of 7"
    )
    assert plan["claim"]["evaluators_needed_at_80_percent"] == 39
    assert 0 < plan["claim"]["power"] < plan["power"]
    assert {"minutes", "breaks_after_pairs", "detectable_difference_at_80_percent"} <= plan.keys()


@pytest.mark.parametrize(("sd", "needed"), [("0.5", 10), ("0.75", 20), ("1", 34)])
def test_that_half_a_point_takes_the_known_panels(capsys, sd, needed):
    assert main([*ASKED, "--sd", sd, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["evaluators_needed_at_80_percent"] == needed


def test_that_a_person_can_read_it(capsys):
    assert main([*ASKED, "--conditions", "3"]) == 0
    text = capsys.readouterr().out
    assert "a session: 17 pairs" in text
    assert "breaks proposed after pair 8" in text
    # One W alone would need 0.27; seven attributes are looked at.
    chance_w = smallest_significant_w(8, 6, 0.05 / 7)
    assert f"chance alone explains W below {chance_w:.2f} among 7 attributes" in text
    assert chance_w > 0.3
    assert "the verdict, adjusted for 5 candidates and 7 attributes:" in text
    assert "a true difference of 0.5 of one set on one attribute is called clear" in text
    assert "evaluators needed for 0.5 at 80 %: 39" in text
    assert "the same looked at alone, as if nothing else were asked: chance 37 %" in text
    assert "evaluators needed for 0.5 at 80 %: 20" in text
    assert "if the SD over evaluators is 0.75: of each one's mean difference" in text


def test_that_a_study_that_asks_one_thing_has_one_chance(capsys):
    assert main(["plan", "--sets", "2", "--evaluators", "20", "--attributes", "1"]) == 0
    text = capsys.readouterr().out
    assert "is called clear with a chance of 81 %" in text
    assert "looked at alone" not in text
    assert "adjusted" not in text


def test_that_small_panels_are_told_what_they_cannot(capsys):
    assert main(["plan", "--sets", "3", "--evaluators", "2"]) == 0
    text = capsys.readouterr().out
    assert "chance alone explains any W, even 1.00" in text
    assert "under 6 evaluators" in text
    assert "fewer than 3 evaluators claim nothing" in text
    assert main(["plan", "--sets", "3", "--evaluators", "1"]) == 0
    assert "One evaluator cannot agree" in capsys.readouterr().out


@pytest.mark.parametrize(
    "wrong",
    [["--sets", "1"], ["--sd", "0"], ["--difference", "nan"], ["--sets", "six"], ["--sd"]],
)
def test_that_nonsense_is_one_sentence_on_stderr(capsys, wrong):
    assert main([*ASKED, *wrong, "--json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
