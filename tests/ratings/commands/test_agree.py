"""The command from file to figures, and what it says when the file is wrong."""

import json
import subprocess
import sys

import numpy as np
import pytest
from reference_data import TOP, case_beside, copied
from scipy import stats

from ratings.__main__ import main
from ratings.statistics.agreement.icc import FORMS

AGREED = """evaluator,set,attribute,score
E1,A,boom,5
E1,B,boom,6
E1,C,boom,7
E2,A,boom,4
E2,B,boom,6
E2,C,boom,8
E3,A,boom,5
E3,B,boom,6
E3,C,boom,7
"""


@pytest.fixture
def scores(tmp_path):
    path = tmp_path / "scores.csv"
    path.write_text(AGREED, encoding="utf-8")
    return path


def as_json(capsys, *argv):
    assert main(["agree", *map(str, argv), "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return json.loads(captured.out)


def test_that_json_keeps_the_contract(scores, capsys):
    (block,) = as_json(capsys, scores)["attributes"]
    assert (block["attribute"], block["condition"]) == ("boom", None)
    assert (block["sets"], block["evaluators"], block["missing"]) == (3, 3, 0)
    assert {
        "w", "chi_square", "df", "p_chi_square", "f", "f_df1", "f_df2", "p_f", "p_exact", "p",
        "smallest_w_at_5_percent",
    } <= block["kendall"].keys()  # fmt: skip
    assert block["kendall"]["w"] == 1
    assert block["kendall"]["f"] is None
    assert block["kendall"]["p_exact"] == pytest.approx(1 / 36)
    assert [form["form"] for form in block["icc"]] == list(FORMS)
    for form in block["icc"]:
        assert {"value", "lower", "upper", "f", "df1", "df2", "p"} <= form.keys()
    assert {"set", "evaluator", "residual"} <= block["variance_components"].keys()
    for finding in block["evaluators_detail"]:
        assert {
            "evaluator", "repeat_sd", "discrimination_f", "bias", "correlation_with_others",
            "mandel_h", "mandel_k",
        } <= finding.keys()  # fmt: skip


def test_that_the_published_table_comes_out_of_the_command(tmp_path, capsys):
    case = copied("statistics/icc_six_targets_four_judges")
    rows = ["evaluator;set;attribute;score"]
    for evaluator, row in enumerate(case["scores"]):
        rows += [f"J{evaluator};T{set_};overall;{value}" for set_, value in enumerate(row)]
    table = tmp_path / "published.csv"
    table.write_text("\r\n".join(rows), encoding="utf-8-sig")
    (block,) = as_json(capsys, table)["attributes"]
    for form in block["icc"]:
        assert round(form["value"], 2) == case["printed_2_decimals"][form["form"]]


def test_that_every_condition_has_its_block(tmp_path, capsys):
    lines = AGREED.splitlines()
    table = tmp_path / "two.csv"
    table.write_text(
        "\n".join(
            [f"{lines[0]},condition"]
            + [f"{line},coarse" for line in lines[1:]]
            + [f"{line},smooth" for line in lines[1:]]
        ),
        encoding="utf-8",
    )
    blocks = as_json(capsys, table)["attributes"]
    assert [block["condition"] for block in blocks] == [None, "coarse", "smooth"]


def test_that_a_person_reads_the_finding_first(scores, capsys):
    assert main(["agree", str(scores), "--details"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "The panel agrees on boom."
    assert (
        "  Agrees: W 1.00; chance alone explains values below 1.00. 3 evaluators, 3 sets." in lines
    )


def test_that_undefined_figures_are_null_with_a_reason(tmp_path, capsys):
    table = tmp_path / "flat.csv"
    lines = [line.rsplit(",", 1)[0] + ",6" for line in AGREED.splitlines()[1:]]
    table.write_text("\n".join([AGREED.splitlines()[0], *lines]), encoding="utf-8")
    (block,) = as_json(capsys, table)["attributes"]
    assert block["kendall"]["w"] is None
    assert block["kendall"]["reason"] == "Nobody told the sets apart."
    assert {form["value"] for form in block["icc"]} == {None}
    assert main(["agree", str(table)]) == 0
    assert "Nobody told the sets apart." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("E9,A,boom,12", 'scores.csv, row 11, column score: "12" lies outside the scale'),
        ("E1,A,boom,6", "scores.csv, rows 2 and 11: the same cell is given more than once"),
        ("E9,A,boom,?", 'scores.csv, row 11, column score: "?" is not a number.'),
    ],
)
def test_that_a_wrong_row_is_one_sentence_on_stderr_and_nothing_else(scores, capsys, line, what):
    scores.write_text(AGREED + line + "\n", encoding="utf-8")
    assert main(["agree", str(scores), "--json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith(what)
    assert captured.err.count("\n") == 1


def test_that_a_wrong_call_and_a_wrong_scale_exit_with_2(scores, capsys):
    assert main(["agree"]) == 2
    assert main(["dance"]) == 2
    assert main(["agree", str(scores), "--scale", "10", "10"]) == 2
    assert main(["agree", str(scores), "--scale", "nan", "10"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 4


def test_that_another_scale_lets_other_scores_in(scores, capsys):
    scores.write_text(AGREED.replace(",4\n", ",40\n"), encoding="utf-8")
    assert main(["agree", str(scores), "--scale", "0", "100"]) == 0
    assert "The panel" in capsys.readouterr().out


@pytest.mark.slow
def test_that_the_module_runs_as_a_program(scores):
    done = subprocess.run(
        [sys.executable, "-m", "ratings", "agree", str(scores)],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("The panel agrees on boom.")


def test_that_the_statistics_start_without_the_slow_libraries():
    code = (
        "import sys, ratings.statistics.agreement.evaluators, ratings.statistics.agreement.icc, "
        "ratings.statistics.agreement.kendall, ratings.findings.agreement, "
        "ratings.study.score_table; "
        "print([name for name in ('scipy', 'pandas') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_that_scores_with_repeats_come_out_as_in_scipy(tmp_path, capsys):
    generator = np.random.default_rng(6)
    scores = 6 + np.linspace(-2, 2, 5)[:, None] + generator.normal(0, 0.8, (4, 5, 3))
    scores = np.round(4 * scores) / 4
    rows = ["evaluator,set,repeat,attribute,score"]
    rows += [f"E{e},{s},{r},hiss,{score}" for (e, s, r), score in np.ndenumerate(scores)]
    table = tmp_path / "hiss.csv"
    table.write_text("\n".join(rows), encoding="utf-8")
    (block,) = as_json(capsys, table)["attributes"]
    means = scores.mean(axis=2)
    assert block["kendall"]["chi_square"] == pytest.approx(
        stats.friedmanchisquare(*np.round(means, 9).T).statistic
    )
    for row, finding in enumerate(block["evaluators_detail"]):
        own, others = means[row], np.delete(means, row, axis=0).mean(axis=0)
        expected = {
            "discrimination_f": stats.f_oneway(*scores[row]).statistic,
            "repeat_sd": np.sqrt(scores[row].var(axis=1, ddof=1).mean()),
            "bias": own.mean() - means.mean(),
            "correlation_with_others": stats.pearsonr(own, others).statistic,
        }
        assert {name: finding[name] for name in expected} == pytest.approx(expected)


def test_that_sensory_data_with_repeats_come_out_as_in_r(tmp_path, capsys):
    case = case_beside("panel_tvbo_sharpness_assessors")
    rows = ["evaluator,set,repeat,attribute,score"]
    rows += [f"{a},{p},{r},sharpness,{s}" for a, p, r, s in case["data"]["rows"]]
    table = tmp_path / "sharpness.csv"
    table.write_text("\n".join(rows), encoding="utf-8")
    (block,) = as_json(capsys, table, "--scale", "0", "15")["attributes"]
    for finding, expected in zip(block["evaluators_detail"], case["expected"], strict=True):
        ours = [
            finding[name]
            for name in ("discrimination_f", "repeat_sd", "bias", "correlation_with_others")
        ]
        theirs = [
            expected[name]
            for name in ("value", "repeatability_sd", "bias", "r_with_mean_of_others")
        ]
        np.testing.assert_allclose(ours, theirs, atol=1e-8)
