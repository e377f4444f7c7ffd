"""The table of the verdict in words: what it says is what the figures are."""

import itertools

import pytest
from generated_studies import question
from generated_verdicts import verdict_on

from ratings.findings.verdict.judging import judge
from ratings.reports.verdict_lines import (
    ALL_CONDITIONS,
    APART,
    COLUMNS,
    verdict_lines,
    verdict_table,
)

COAST = "smooth asphalt, coast-down, 80 to 40 km/h"


#: Where something is missing, and one where nothing is.
KINDS = (
    "clear",
    "one evaluator",
    "one set",
    "holes",
    "no control",
    "nobody rated one",
    "nothing measured",
    "no scores",
    "unfinished",
)


@pytest.fixture
def by_condition():
    return verdict_on("by condition")


def lines_of(verdict, condition=None):
    return list(itertools.chain(*verdict_lines(verdict, condition)))


@pytest.mark.parametrize("kind", KINDS)
def test_that_every_set_has_a_line_for_every_attribute_whatever_is_missing(kind):
    verdict = verdict_on(kind)
    lines = lines_of(verdict)
    assert len(lines) == len(verdict.sets) * len(verdict.question.attributes)
    for line in lines:
        assert line.sentence
        assert (line.size == "") == (line.cell.difference is None)
        if line.cell.word == "no verdict":
            assert line.remarks, line
        if line.beside.difference is None:
            assert line.measured == line.beside.why
            assert line.says == ""


def test_that_the_way_stands_before_the_word_only_where_it_is_clear(by_condition):
    for line in lines_of(by_condition) + lines_of(by_condition, COAST):
        assert ("better" in line.word) == (line.cell.way == "better")
        assert ("worse" in line.word) == (line.cell.way == "worse")


def test_that_a_condition_is_told_by_its_own_cell(by_condition):
    told = {(line.code, line.attribute): line for line in lines_of(by_condition, COAST)}
    seen = 0
    for each in by_condition.sets:
        for row in each.rows:
            for cell in row.cells.by_condition:
                if cell.condition == COAST:
                    line = told[each.code, row.attribute]
                    assert line.cell == cell
                    assert line.beside == row.beside_by_condition[COAST]
                    seen += cell.word == "clear"
    assert seen > 0


def test_that_a_panel_that_does_not_agree_is_marked_where_its_word_stands():
    verdict = verdict_on("contradicting", 3)
    marked = [line for line in lines_of(verdict) if line.is_apart]
    assert marked
    for line in marked:
        assert line.remarks[0] == APART
        assert "does not agree" in line.sentence


def test_that_an_attribute_of_one_condition_stands_under_that_condition_alone():
    asked = question("by condition", 1)
    scores = asked.scores
    kept = scores[(scores["attribute"] != "hiss") | (scores["condition"] == COAST)]
    asked = type(asked)(**{n: getattr(asked, n) for n in asked.__slots__} | {"scores": kept})
    verdict = judge(asked)
    row = verdict.sets[0].row("hiss")
    (only,) = row.cells.by_condition
    assert only.condition == COAST
    assert only.difference == row.overall.difference
    elsewhere = next(t for t in verdict.conditions if t != COAST)
    line = next(x for x in lines_of(verdict, elsewhere) if x.attribute == "hiss")
    assert line.cell.word == "no verdict"
    assert "not rated in this condition" in line.remarks


def test_that_the_table_has_every_cell_with_its_marks_and_a_plain_minus(by_condition):
    head, *rows = verdict_table(by_condition)
    assert head == list(COLUMNS)
    attributes = len(by_condition.question.attributes)
    assert len(rows) == len(by_condition.sets) * attributes * (1 + len(by_condition.conditions))
    assert "−" not in str(rows)
    first = by_condition.sets[0].rows[0].overall
    row = dict(zip(head, rows[0], strict=True))
    assert row["condition"] == ALL_CONDITIONS
    assert float(row["difference"]) == pytest.approx(first.difference, abs=5e-4)
    assert row["word"] == first.word
    assert int(row["evaluators"]) == first.evaluators
