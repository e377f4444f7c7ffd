"""What `agree` and `compare` say first: short, by names, with every column explained."""

import json
import re
import shutil

import numpy as np
import pandas as pd
import pytest
from reference_data import TOP
from small_tables import score_table

from ratings.__main__ import main
from ratings.commands import compare
from ratings.findings.differences import differences
from ratings.findings.differences_words import headline
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import open_study
from ratings.study.attributes import Scale
from ratings.study.score_table import write_score_table
from ratings.study.wording import spoken

CONTROL = "333"


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    """The score table of the sample study."""
    folder = tmp_path_factory.mktemp("sample")
    shutil.copytree(TOP / "sample_sessions" / "alder_wagon", folder / "study")
    study = open_study(folder / "study")
    write_score_table(LeadDesk(study).score_table(), folder / "scores.csv")
    study.close()
    return folder / "scores.csv"


@pytest.fixture
def said(capsys):
    def said_(*argv):
        assert main([*map(str, argv)]) == 0
        captured = capsys.readouterr()
        assert captured.err == ""
        return captured.out

    return said_


def table(path, evaluators, sets, attributes, conditions=1):
    """Write scores in half points in which the sets differ clearly."""
    generator = np.random.default_rng(4)
    shape = evaluators, sets, attributes, conditions
    score = 6 + np.arange(sets)[:, None, None] * 3 / sets + generator.normal(0, 0.4, shape)
    places = np.indices(shape).reshape(4, -1)
    names = ("evaluator", "set", "attribute", "condition")
    columns = {
        name: [f"{name[0]}{place}" for place in each]
        for name, each in zip(names, places, strict=True)
    }
    write_score_table(pd.DataFrame({**columns, "score": np.round(score.ravel() * 2) / 2}), path)
    return path


COMMANDS = [("agree",), ("compare", "--control", CONTROL)]


def asked(command, scores, *more):
    return [command[0], scores, *command[1:], *more]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda c: c[0])
def test_that_the_sample_is_answered_in_25_plain_lines(sample, said, command):
    short, whole = said(*asked(command, sample)), said(*asked(command, sample, "--details"))
    assert short.count("\n") <= 25
    assert whole.count("\n") > 60
    assert short.splitlines()[0] == whole.splitlines()[0]
    assert "pattern whine" in short
    for text in (short, whole):
        assert "pattern_whine" not in text
        assert not re.search(r"[\x00-\x09\x0b-\x1f]", text)
    assert "--details" in short.splitlines()[-1]


def explained_columns(text):
    """Return the headings of the table that begins after the first blank line, and its legend."""
    parts = text.split("\n\n")
    heading = re.split(r"  +", parts[1].splitlines()[0].strip())
    return heading, [line.split("  ")[0] for line in parts[2].splitlines()]


def test_that_every_column_of_agree_is_explained_in_a_line(sample, said):
    heading, legend = explained_columns(said("agree", sample))
    assert heading == ["attribute", "W", "95 %", "n", "agrees", "[1]", "[2]", "[3]"]
    assert legend[: len(heading)] == [*heading[1:], "*"]


def test_that_the_short_table_of_agree_holds_the_figures_of_json(sample, said):
    short = said("agree", sample)
    blocks = json.loads(said("agree", sample, "--json"))["attributes"]
    titles = dict(re.findall(r"^(\[\d\]) +W in (.*)$", short, re.MULTILINE))
    rows = [re.split(r"  +", line) for line in short.split("\n\n")[1].splitlines()[1:]]
    answers = {
        "well": "yes", "loosely": "loosely", "not certain": "not certain",
        "not above chance": "no",
    }  # fmt: skip
    found = {(block["attribute"].replace("_", " "), block["condition"]): block for block in blocks}
    assert len(rows) == len({name for name, _ in found}) == 7
    for name, w, between, n, answer, *singles in rows:
        whole = found[name, None]
        kendall = whole["kendall"]
        assert w == f"{kendall['w']:.2f}"
        assert between == f"{kendall['lower']:.2f} to {kendall['upper']:.2f}"
        assert n == f"{kendall['evaluators']} x {kendall['sets']}"
        assert answer == answers[whole["degree"]]
        for title, cell in zip(titles.values(), singles, strict=True):
            block = found.get((name, title))
            if block is None:
                assert cell == "-"
                continue
            mark = " (*)" if block["degree"] == "not certain" else " *"
            assert cell == f"{block['kendall']['w']:.2f}{mark * block['agrees']}"


def test_that_no_column_of_compare_is_left_unexplained_or_called_equal(sample, said):
    short = said("compare", sample, "--control", CONTROL)
    assert "n  " in short.split("\n\n")[2]
    assert re.search(r"^p: chance", short, re.MULTILINE)
    whole = said("compare", sample, "--control", CONTROL, "--details")
    heading = next(line for line in whole.splitlines() if line.startswith("  set  n  "))
    columns = re.split(r"  +", heading.strip())[1:]
    legend = whole.split("\n\n")[-1].splitlines()
    assert [re.split(r"  +", line)[0] for line in legend] == columns
    assert "equal" not in columns


def test_that_the_short_table_of_compare_holds_the_figures_of_json(sample, said):
    short = said("compare", sample, "--control", CONTROL)
    blocks = json.loads(said("compare", sample, "--control", CONTROL, "--json"))["attributes"]
    heading, *lines = short.split("\n\n")[1].splitlines()
    sets = heading.split()[2:]
    marks = {"better": "*", "worse": "*", "same": "=", "by condition": "c", "not certain": ""}
    for block, line in zip(blocks, lines, strict=True):
        name, n, cells = re.match(r"(\D+?) +(\d+) +(.*)$", line).groups()
        assert name == block["attribute"].replace("_", " ")
        assert [row["set"] for row in block["differences"]] == sets
        shown = [f"{a}{b}" for a, b in re.findall(r"([+-][\d.]+)(?: ([*=c]))?", cells)]
        assert shown == [
            f"{row['difference']:+.2f}{marks[row['verdict']]}" for row in block["differences"]
        ]
        assert {int(n)} == {row["evaluators"] for row in block["differences"]}
    clear = [line for line in short.split("\n\n")[3].splitlines() if "all conditions" in line]
    told = {(line.split(",")[0], re.search(r", ([a-z ]+?)  ", line)[1]) for line in clear}
    assert told == {
        (row["set"], block["attribute"].replace("_", " "))
        for block in blocks
        for row in block["differences"]
        if row["verdict"] in ("better", "worse") and row["by_condition"]
    }


def test_that_many_sets_are_rows_and_the_answer_stays_short(tmp_path, said):
    scores = table(tmp_path / "many.csv", 8, 12, 3, 2)
    short = said("compare", scores, "--control", "s0")
    assert short.split("\n\n")[1].splitlines()[0].split() == ["set", "n", "a0", "a1", "a2"]
    assert re.search(r"^and \d+ more that are clear$", short, re.MULTILINE)
    assert short.count("\n") <= 40
    assert said("agree", scores).count("\n") <= 25


@pytest.mark.parametrize(
    ("shape", "agreed", "compared"),
    [
        ((1, 3, 2), "Too few scores, sets or evaluators", "Too few scores to compare any set"),
        ((4, 1, 2), "Too few scores, sets or evaluators", "Too few scores to compare any set"),
        ((2, 4, 1), "The panel ", ""),
    ],
)
def test_that_what_cannot_be_judged_is_said_first(tmp_path, said, shape, agreed, compared):
    scores = table(tmp_path / "few.csv", *shape)
    for text, begins in (
        (said("agree", scores), agreed),
        (said("compare", scores, "--control", "s0"), compared),
    ):
        assert text.startswith(begins)
        assert text.count("\n") <= 25
        assert not re.search(r"\bnan\b|\bNone\b|\binf\b", text)


def test_that_an_attribute_without_the_control_stands_beside_the_others(tmp_path, said):
    path = table(tmp_path / "scores.csv", 5, 3, 2)
    scores = pd.read_csv(path)
    scores[(scores["attribute"] != "a1") | (scores["set"] != "s0")].to_csv(path, index=False)
    short = said("compare", path, "--control", "s0")
    rows = dict(line.split(maxsplit=1) for line in short.split("\n\n")[1].splitlines()[1:])
    assert "-" in rows["a1"].split()
    assert "*" in rows["a0"]
    assert "- no figure; --details says why" in short
    assert "The control has no score on this attribute." in said(
        "compare", path, "--control", "s0", "--details"
    )


@pytest.mark.slow
def test_that_the_short_table_of_compare_says_what_its_figures_say():
    marks = {"better": "*", "worse": "*", "same": "=", "by condition": "c", "not certain": ""}
    seen = set()
    for seed in range(150):
        scores = score_table(np.random.default_rng([23, seed]))
        sets = sorted(scores["set"].unique())
        blocks = differences(scores, sets[0], Scale())
        text = compare.as_text(blocks)
        assert text.startswith(headline(blocks))
        assert not re.search(r"\b(nan|inf|None)\b|attribute_", text)
        rows = [row for block in blocks for row in block.differences]
        seen |= {row.verdict for row in rows}
        if not rows:
            continue
        for block, line in zip(blocks, text.split("\n\n")[1].splitlines()[1:], strict=True):
            assert line.startswith(spoken(block.attribute))
            cells = re.findall(r"([+-]\d\.\d\d|(?<= )-(?=  |$))(?: ([*=c?])(?= |$))?", line)
            found = {row.set: row for row in block.differences}
            expected = [
                (f"{row.difference:+.2f}", marks.get(row.verdict, "?"))
                for row in found.values()
                if row.difference is not None
            ]
            assert [cell for cell in cells if cell[0] != "-"] == expected
        clear = sum(row.verdict in ("better", "worse", "by condition") for row in rows)
        assert ("chance of it at random" in text) == bool(clear)
    assert seen >= {"better", "worse", "same", "not certain", "unknown"}
