"""The command from file to figures, and what it says when the file is wrong."""

import json
import subprocess
import sys

import numpy as np
import pytest
import statsmodels.api as sm
from reference_data import TOP, case_beside, copied

from ratings.__main__ import main

HEADER = "evaluator,first,second,choice\n"


def write(path, counted):
    """Turn (first, second, chosen first, no difference, chosen second) into rows."""
    rows = []
    for first, second, *numbers in counted:
        words = [
            word
            for word, number in zip(("first", "none", "second"), numbers, strict=True)
            for _ in range(number)
        ]
        rows += [f"E{number},{first},{second},{word}\n" for number, word in enumerate(words)]
    path.write_text(HEADER + "".join(rows), encoding="utf-8")
    return path


def as_json(capsys, path):
    assert main(["prefer", str(path), "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return json.loads(captured.out)["attributes"]


def test_that_ties_and_order_come_out_of_the_command_as_in_r(tmp_path, capsys):
    case = copied("statistics/choices_with_ties_and_order")
    (block,) = as_json(capsys, write(tmp_path / "choices.csv", case["rows"]))
    assert [row["set"] for row in block["sets"]] == list("ABCD")
    assert block["reference"] == "A"
    assert [row["log_worth"] for row in block["sets"]] == pytest.approx(case["log_worth"], abs=1e-5)
    assert [row["se"] for row in block["sets"]] == pytest.approx(case["se"], abs=1e-5)
    assert block["log_nu"] == pytest.approx(case["log_nu"][0], abs=1e-5)
    assert block["order_effect"] == pytest.approx(case["order_effect"][0], abs=1e-5)
    assert [block["deviance"], block["deviance_df"]] == pytest.approx(case["deviance"], abs=1e-5)
    assert block["equal_worth"]["df"] == 3
    assert block["estimate"] == "maximum likelihood"
    assert block["sets"][1]["penalised_log_worth"] is None
    assert {"agreement_u", "evaluators_detail"} <= block.keys()
    assert {"evaluator", "circular_triads", "zeta"} <= block["evaluators_detail"][0].keys()


def test_that_a_table_of_counts_comes_out_of_the_command_as_a_logistic_regression(tmp_path, capsys):
    first, second = np.triu_indices(4, 1)
    wins = np.array([9, 7, 11, 5, 8, 10])
    outcomes = np.stack([wins, 12 - wins], axis=1)
    counted = [
        ("ABCD"[i], "ABCD"[j], won, 0, lost)
        for i, j, (won, lost) in zip(first, second, outcomes, strict=True)
    ]
    (block,) = as_json(capsys, write(tmp_path / "choices.csv", counted))
    design = np.eye(4)[first] - np.eye(4)[second]
    fitted = sm.GLM(outcomes, design[:, 1:], family=sm.families.Binomial()).fit(tol=1e-13)
    rows = {row["set"]: row for row in block["sets"]}
    assert [rows[name]["log_worth"] for name in "ABCD"] == pytest.approx([0, *fitted.params])
    assert [rows[name]["se"] for name in "BCD"] == pytest.approx(fitted.bse)
    assert block["deviance"] == pytest.approx(fitted.deviance)
    even = sm.families.Binomial().deviance(wins / 12, 0.5, freq_weights=12)
    assert block["equal_worth"]["chi_square"] == pytest.approx(even - fitted.deviance)
    assert block["log_nu"] is block["order_effect"] is None
    # Two evaluators in twelve agree on a pair when both chose the same side.
    couples = [won * (won - 1) / 2 + (12 - won) * (11 - won) / 2 for won in wins]
    assert block["agreement_u"] == pytest.approx(2 * np.mean(couples) / 66 - 1)


@pytest.mark.parametrize("name", ["kendall_u_schoolsubjects_boys", "bt_drugrisk_male30"])
def test_that_tables_of_counts_come_out_of_the_command_as_in_r(tmp_path, capsys, name):
    # R 4.2.2 glm(binomial) and eba 1.10.1 kendall.u; the data came in a GPL package.
    case = case_beside(name)
    labels, wins = case["data"]["labels"], case["data"]["values"]
    counted = [
        (labels[i], labels[j], wins[i][j], 0, wins[j][i])
        for i in range(len(labels))
        for j in range(i + 1, len(labels))
    ]
    (block,) = as_json(capsys, write(tmp_path / "choices.csv", counted))
    expected = {entry["name"]: entry for entry in case["expected"]}
    reference = expected[f"BT log-worth {block['reference']}"]["value"]
    for row in block["sets"]:
        theirs = expected[f"BT log-worth {row['set']}"]["value"] - reference
        assert row["log_worth"] == pytest.approx(theirs, abs=1e-6)
    assert block["deviance"] == pytest.approx(expected["BT goodness of fit"]["value"], abs=1e-6)
    equal = expected["LR test of equal worth"]
    assert block["equal_worth"]["chi_square"] == pytest.approx(equal["value"], abs=1e-6)
    assert block["log_nu"] is None
    assert block["order_effect"] is None
    if "u" in expected:
        assert block["agreement_u"] == pytest.approx(expected["u"]["value"], abs=1e-8)


def test_that_the_published_evaluator_comes_out_of_the_command(tmp_path, capsys):
    case = copied("statistics/circular_triads")
    over = case["chosen_over"]
    rows = [
        f"E1,S{i},S{j},{'first' if over[i][j] else 'second'}\n"
        for i in range(6)
        for j in range(i + 1, 6)
    ]
    table = tmp_path / "choices.csv"
    table.write_text(HEADER + "".join(rows), encoding="utf-8")
    (detail,) = as_json(capsys, table)[0]["evaluators_detail"]
    assert (detail["circular_triads"], detail["zeta"]) == (case["circular"], case["zeta"])


def test_that_a_set_that_always_wins_has_a_penalised_worth_beside_none(tmp_path, capsys):
    path = write(tmp_path / "choices.csv", [("A", "B", 4, 0, 0)])
    (block,) = as_json(capsys, path)
    assert [row["log_worth"] for row in block["sets"]] == [None, None]
    assert block["estimate"] == "penalised likelihood (Firth)"
    # Half a choice added to each: 4.5 to 0.5.
    worths = [row["penalised_log_worth"] for row in block["sets"]]
    assert worths == pytest.approx([0.0, -2.197225], abs=1e-5)
    assert block["equal_worth"]["chi_square"] == pytest.approx(5.545177, abs=1e-5)
    assert block["equal_worth"]["df"] == 1
    assert block["deviance"] is None
    assert "never passed over" in block["reason"]
    assert main(["prefer", str(path)]) == 0
    text = capsys.readouterr().out
    assert "penalised log worth" in text
    assert "all sets worth the same: likelihood ratio 5.55, df 1  p 0.0185, taking every" in text


def test_that_what_is_undefined_is_null_and_told(tmp_path, capsys):
    (block,) = as_json(capsys, write(tmp_path / "choices.csv", [("A", "B", 0, 4, 0)]))
    assert block["estimate"] is None
    for key in ("log_worth", "se", "penalised_log_worth", "penalised_se"):
        assert [row[key] for row in block["sets"]] == [None, None]
    assert block["equal_worth"] == {"chi_square": None, "df": None, "p": None}
    assert 'Every answer was "no difference"' in block["reason"]


def test_that_a_person_can_read_it(tmp_path, capsys):
    path = write(tmp_path / "choices.csv", [("A", "B", 9, 2, 3), ("B", "A", 2, 1, 8)])
    assert main(["prefer", str(path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].strip().startswith("A is preferred most")
    assert lines[2].split() == ["A", "+0.000", "0.000", "17", "25"]
    assert any("the set heard first" in line for line in lines)
    assert any("no difference" in line for line in lines)


def test_that_the_headline_circles_and_conditions_are_in_the_json(tmp_path, capsys):
    path = tmp_path / "choices.csv"
    rows = [
        f"E{each},A,B,{word},{condition}\n"
        for each in range(8)
        for condition, word in (("dry", "first"), ("wet", "second"))
    ]
    path.write_text("evaluator,first,second,choice,condition\n" + "".join(rows), encoding="utf-8")
    assert main(["prefer", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["headline"] == "Preferred: A in dry; B in wet."
    (block,) = found["attributes"]
    assert block["circle"] is None
    assert block["depends_on_condition"]["claimed"]
    within = block["depends_on_condition"]["conditions"]
    assert [each["preferred"] for each in within] == ["A", "B"]


def test_that_nothing_is_not_written_with_a_minus(tmp_path, capsys):
    path = write(tmp_path / "choices.csv", [("A", "B", 7, 0, 3), ("B", "A", 3, 0, 7)])
    assert main(["prefer", str(path)]) == 0
    out = capsys.readouterr().out
    assert "the set heard first: +0.000 log-odds" in out
    assert "-0.000" not in out


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("E9,A,B,maybe\n", 'choices.csv, row 9, column choice: "maybe" is not known.\n'),
        ("E0,A,B,first\n", "choices.csv, rows 2 and 9: the same pair"),
    ],
)
def test_that_a_wrong_row_is_one_sentence_on_stderr_and_nothing_else(
    tmp_path, capsys, line, sentence
):
    path = write(tmp_path / "choices.csv", [("A", "B", 4, 0, 3)])
    with path.open("a", encoding="utf-8") as table:
        table.write(line)
    assert main(["prefer", str(path), "--json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith(sentence)
    assert captured.err.count("\n") == 1


def test_that_the_modules_start_without_the_slow_libraries():
    code = (
        "import sys, ratings.commands.prefer, ratings.commands.plan, "
        "ratings.statistics.runs.drift, "
        "ratings.statistics.discrimination.sensitivity, "
        "ratings.statistics.discrimination.psychometric_curve, "
        "ratings.statistics.ear_and_meter, ratings.design.balanced_blocks; "
        "print([name for name in ('scipy', 'pandas') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
