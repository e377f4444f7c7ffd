"""The command from a study to the short answer, the details and the figures."""

import hashlib
import json
import sqlite3

import pytest
from generated_verdicts import verdict_on
from lead_recordings import study_with_runs

from ratings.__main__ import main
from ratings.commands.common_options import printed
from ratings.commands.verdict import as_details, as_json, as_text
from ratings.reports.verdict_lines import COLUMNS
from ratings.storage.lead_desk import LeadDesk


@pytest.fixture
def study(tmp_path):
    study = study_with_runs(tmp_path, is_measured=True)
    codes, title = LeadDesk(study).codes(), LeadDesk(study).conditions()[0].title
    path = tmp_path / "scores.csv"
    rows = [
        f'P{who},{code},"{title}",boom,{6 + place + who / 10:.1f}'
        for who in range(4)
        for place, code in enumerate(codes)
    ]
    path.write_text("evaluator,set,condition,attribute,score\n" + "\n".join(rows) + "\n")
    LeadDesk(study).bring_scores(path)
    study.close()
    return study.folder.path


def hashes(folder):
    return {
        path: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_that_the_answer_is_given_and_nothing_is_written(study, capsys):
    before = hashes(study)
    assert main(["verdict", str(study)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert "Boom" in told.out
    assert hashes(study) == before


def test_that_an_older_study_is_refused_in_words_and_left_alone(study, capsys):
    with sqlite3.connect(study / "study.sqlite") as connection:
        (last,) = connection.execute("SELECT max(number) FROM migration").fetchone()
        connection.execute("DELETE FROM migration WHERE number = ?", (last,))
    before = hashes(study)
    assert main(["verdict", str(study)]) == 2
    assert "open it once in the window" in capsys.readouterr().err
    assert hashes(study) == before


def test_that_a_folder_without_a_study_is_told(tmp_path, capsys):
    assert main(["verdict", str(tmp_path / "nothing")]) == 2
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize("kind", ["clear", "by condition", "unfinished", "contradicting"])
def test_that_the_short_answer_is_at_most_25_lines_of_100(kind):
    verdict = verdict_on(kind)
    lines = as_text(verdict).splitlines()
    assert lines[0] in verdict.headline
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 100


def test_that_forty_sets_have_a_sentence_each(capsys):
    verdict = verdict_on("forty sets")
    text = " ".join(as_text(verdict).split())
    assert all(each.sentence in text for each in verdict.sets)


def test_that_the_details_explain_every_column_and_hold_every_sentence():
    verdict = verdict_on("by condition")
    text = as_details(verdict)
    flat = " ".join(text.split())
    for each in verdict.sets:
        for row in each.rows:
            assert row.sentence in flat
    for name, meaning in COLUMNS.items():
        assert f"{name} " in text
        assert meaning in text


@pytest.mark.parametrize("kind", ["clear", "by condition", "no control", "no scores", "one set"])
def test_that_the_figures_are_json_with_a_plain_minus(kind):
    verdict = verdict_on(kind)
    text = printed(as_json(verdict))
    found = json.loads(text)
    assert "−" not in text
    assert found["headline"] == verdict.headline.replace("−", "-")
    assert [each["set"] for each in found["sets"]] == [each.code for each in verdict.sets]
    for shown, each in zip(found["sets"], verdict.sets, strict=True):
        for cells, row in zip(shown["attributes"], each.rows, strict=True):
            assert cells["difference"] == row.overall.difference
            assert cells["word"] == row.overall.word
            assert len(cells["by_condition"]) == len(row.cells.by_condition)
