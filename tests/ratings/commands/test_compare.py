"""The command from file to verdict, and what it says when something is wrong."""

import json

import numpy as np
import pytest
from reference_data import case_beside
from scipy import stats
from single_scores import SingleScores

from ratings.__main__ import main

SCORES = """evaluator,set,attribute,score
E1,205,boom,5
E1,417,boom,6.5
E1,731,boom,5.25
E2,205,boom,4.5
E2,417,boom,6
E2,731,boom,4.5
E3,205,boom,6
E3,417,boom,7
E3,731,boom,6
E4,205,boom,5.5
E4,417,boom,7
E4,731,boom,5.25
"""


@pytest.fixture
def scores(tmp_path):
    path = tmp_path / "scores.csv"
    path.write_text(SCORES, encoding="utf-8")
    return path


def as_json(capsys, *argv):
    assert main(["compare", *map(str, argv), "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return json.loads(captured.out)


def test_that_json_keeps_the_contract(scores, capsys):
    (block,) = as_json(capsys, scores, "--control", "205")["attributes"]
    assert (block["attribute"], block["boundary"]) == ("boom", False)
    assert block["model"] == "score ~ set + (1|evaluator)"
    for way in ("kenward_roger", "satterthwaite", "balanced_ratio"):
        assert block["overall"][way].keys() == {"f", "df1", "df2", "p"}
    assert {"chi_square", "p"} <= block["overall"]["friedman"].keys()
    assert [row["set"] for row in block["differences"]] == ["417", "731"]
    for row in block["differences"]:
        assert {
            "set", "difference", "se", "df", "lower", "upper", "t", "p", "p_dunnett",
            "p_signed_rank_exact", "equivalent_p", "evaluators", "sentence",
        } <= row.keys()  # fmt: skip
        assert row["evaluators"] == 4
    assert block["differences"][0]["difference"] == pytest.approx(1.375)
    assert block["differences"][0]["p_signed_rank_exact"] == pytest.approx(0.125)


def test_that_a_person_reads_the_verdict_first(scores, capsys):
    assert main(["compare", str(scores), "--control", "205", "--details"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Against 205: 417 is better on boom."
    assert lines[2] == "boom, against 205"
    assert lines[3].startswith("  417  better by 1.4 points (")
    assert lines[4].startswith("  731  within 0.5 points of the control (90 %: ")


def test_that_the_margin_decides_what_is_no_difference(scores, capsys):
    (wide,) = as_json(capsys, scores, "--control", "205", "--margin", "1")["attributes"]
    (narrow,) = as_json(capsys, scores, "--control", "205", "--margin", "0.1")["attributes"]
    assert (wide["margin"], narrow["margin"]) == (1, 0.1)
    assert wide["differences"][1]["equivalent_p"] < 0.05 < narrow["differences"][1]["equivalent_p"]
    assert narrow["differences"][1]["verdict"] == "not certain"


def test_that_less_may_be_better(scores, capsys):
    (rising,) = as_json(capsys, scores, "--control", "205")["attributes"]
    (falling,) = as_json(capsys, scores, "--control", "205", "--scale", "10", "1")["attributes"]
    ways = {"better": "worse", "worse": "better"}
    for one, other in zip(rising["differences"], falling["differences"], strict=True):
        assert other["difference"] == pytest.approx(-one["difference"])
        assert other["verdict"] == ways.get(one["verdict"], one["verdict"])
        assert (other["lower"], other["p"]) == pytest.approx((-one["upper"], one["p"]))


@pytest.mark.parametrize(
    ("more", "arguments", "what"),
    [
        ("", ("--control", "206"), 'scores.csv, column set: there is no set "206"; there is 205, '),
        ("E9,205,boom,12\n", ("--control", "205"), 'scores.csv, row 14, column score: "12" lies'),
        ("E1,205,boom,6\n", ("--control", "205"), "scores.csv, rows 2 and 14: the same cell"),
        ("", ("--control", "205", "--margin", "-1"), "A margin of -1 points is not valid."),
        ("", ("--control", "205", "--scale", "9", "9"), "A scale from 9 to 9 is not valid."),
        ("", (), "twinset compare: the following arguments are required: --control"),
    ],
)
def test_that_what_is_wrong_is_one_sentence_on_stderr(scores, capsys, more, arguments, what):
    scores.write_text(SCORES + more, encoding="utf-8")
    assert main(["compare", str(scores), *arguments, "--json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith(what)
    assert captured.err.count("\n") == 1


def test_that_undefined_figures_are_null(scores, capsys):
    only_one = "\n".join(SCORES.splitlines()[:4]) + "\n"
    scores.write_text(only_one, encoding="utf-8")
    (block,) = as_json(capsys, scores, "--control", "205")["attributes"]
    assert block["overall"]["kenward_roger"] is None
    assert {row["p"] for row in block["differences"]} == {None}
    assert main(["compare", str(scores), "--control", "205", "--details"]) == 0
    assert "One evaluator alone" in capsys.readouterr().out


def table_with_holes(path, conditions):
    """Write seven evaluators' scores of three sets, a fifth missing; return the same model."""
    generator = np.random.default_rng(5)
    places = np.indices((7, 3, conditions, 2)).reshape(4, -1)
    e, s, c, r = places[:, generator.random(places.shape[1]) > 0.2]
    scores = 6 + 0.4 * s - 0.5 * c + generator.normal(0, 0.5, 7)[e]
    scores += generator.normal(0, 0.4, (7, 3))[e, s] + generator.normal(0, 0.4, len(e))
    scores = np.round(4 * scores) / 4
    rows = [
        f"E{who},{'ABC'[name]},road {road},{time},x,{score}"
        for who, name, road, time, score in zip(e, s, c, r, scores, strict=True)
    ]
    path.write_text("\n".join(["evaluator,set,condition,repeat,attribute,score", *rows]), "utf-8")
    design = np.hstack([np.eye(3)[s], np.eye(conditions)[c][:, 1:]])
    return SingleScores(scores, design, e, 3 * e + s)


# The second table has no disagreement between evaluators to be told from their scatter.
@pytest.mark.parametrize(("conditions", "boundary"), [(1, False), (2, True)])
def test_that_a_file_with_holes_comes_out_as_the_papers_print_it(
    tmp_path, capsys, conditions, boundary
):
    plain = table_with_holes(tmp_path / "table.csv", conditions)
    argv = (tmp_path / "table.csv", "--control", "A", "--margin", "0.5")
    (block,) = as_json(capsys, *argv)["attributes"]
    variances = plain.fitted()
    assert block["boundary"] is bool((variances == 0).any()) is boundary
    weights = np.eye(3, 2 + conditions)[1:] - np.eye(3, 2 + conditions)[0]
    adjusted, together = plain.kenward_roger(variances, weights)
    bold = plain.satterthwaite(variances, weights)
    for way, expected in (("kenward_roger", together), ("satterthwaite", bold)):
        ours = block["overall"][way]
        assert (ours["f"], ours["df2"]) == pytest.approx((expected.f, expected.df2), rel=1e-3)
        assert ours["p"] == pytest.approx(expected.p, rel=0.01)
    spread = weights @ adjusted @ weights.T
    correlation = spread / np.sqrt(np.outer(np.diag(spread), np.diag(spread)))
    for row, weight, se in zip(
        block["differences"], weights, np.sqrt(np.diag(spread)), strict=True
    ):
        _, alone = plain.kenward_roger(variances, weight[None])
        difference = weight @ plain.solved(variances)[2]
        ends = difference + np.array([-1, 1]) * stats.t.ppf(0.975, alone.df2) * se
        names = ["difference", "se", "df", "t", "p", "lower", "upper"]
        expected = [difference, se, alone.df2, difference / se, alone.p, *ends]
        assert [row[name] for name in names] == pytest.approx(expected, rel=1e-3)
        inside = stats.t.cdf((abs(difference) - 0.5) / se, alone.df2)
        assert row["equivalent_p"] == pytest.approx(inside, rel=1e-3)
        most = np.full(2, abs(difference) / se)
        joint = stats.multivariate_t(shape=correlation, df=alone.df2, seed=1)
        assert row["p_dunnett"] == pytest.approx(1 - joint.cdf(most, lower_limit=-most), abs=1e-3)


@pytest.mark.parametrize(
    ("name", "condition"),
    [
        ("mixed_tvbo_sharpness_unbalanced", None),
        ("mixed_tvbo_noise_tvset", None),
        ("mixed_tvbo_helppage_example", 2),
    ],
)
def test_that_a_whole_file_comes_out_as_in_r(tmp_path, capsys, name, condition):
    case = case_beside(name)
    expected = {e["name"]: e for e in case["expected"]}
    rows, seen = ["evaluator,set,condition,repeat,attribute,score"], {}
    for row in case["data"]["rows"]:
        where = row[condition] if condition else "one"
        seen[tuple(row[:2]), where] = seen.get((tuple(row[:2]), where), 0) + 1
        rows.append(f"{row[0]},{row[1]},{where},{seen[tuple(row[:2]), where]},x,{row[-1]}")
    table = tmp_path / "table.csv"
    table.write_text("\n".join(rows), encoding="utf-8")
    argv = (table, "--control", "TV1", "--margin", "1.5", "--scale", "0", "15")
    (block,) = as_json(capsys, *argv)["attributes"]
    assert block["boundary"] == (expected["var Assessor:TVset"]["value"] == 0)
    for way, key in (("Kenward-Roger", "kenward_roger"), ("Satterthwaite", "satterthwaite")):
        ours = block["overall"][key]
        for figure, name_ in (("f", "F"), ("df2", "DenDF"), ("p", "p")):
            theirs = expected[f"TVset {name_} {way}"]
            assert ours[figure] == pytest.approx(theirs["value"], abs=theirs["tol_abs"])
    if block["boundary"] and block["overall"]["balanced_ratio"] is not None:
        # Not R's pooled figures: the mean squares, see test_balanced_tests.
        return
    for row in block["differences"]:
        pair = expected[f"pair TV1 - {row['set']} [kenward-roger,none]"]
        for figure, name_, sign in (
            ("difference", "value", -1), ("se", "SE", 1), ("df", "df", 1), ("t", "t", -1),
            ("p", "p", 1),
        ):  # fmt: skip
            assert row[figure] == pytest.approx(sign * pair[name_], abs=pair["tol_abs"])
        assert (row["lower"], row["upper"]) == pytest.approx(
            (-pair["upper95"], -pair["lower95"]), abs=pair["tol_abs"]
        )
        dunnett = expected[f"Dunnett {row['set']} - TV1 [kenward-roger]"]
        assert row["p_dunnett"] == pytest.approx(dunnett["p"], abs=1e-3)
        equivalent = expected.get(f"TOST TV1 - {row['set']} delta=1.5 [kenward-roger]")
        if equivalent is not None:
            assert row["equivalent_p"] == pytest.approx(equivalent["value"], abs=1e-4)
