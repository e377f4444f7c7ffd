"""No sentence of a verdict says what the figures beside it do not carry, on hundreds of studies."""

import math
import re

import pytest
from generated_studies import KINDS, question

from ratings.findings.verdict.judging import judge
from ratings.study.constants import ALPHA

SEEDS = range(9)
NO_NUMBER = re.compile(r"\bnan\b|\binf\b|\bNone\b", re.IGNORECASE)


def sentences_of(verdict):
    told = [verdict.headline, verdict.standing, *(each.sentence for each in verdict.cautions)]
    told += [each.sentence for each in verdict.sets]
    told += [row.sentence for each in verdict.sets for row in each.rows]
    told += [each.sentence for each in (*verdict.drifts, *verdict.ears_and_meters)]
    return told


def check_well_formed(told):
    for sentence in told:
        assert sentence == sentence.strip()
        assert sentence
        assert not NO_NUMBER.search(sentence), sentence
        assert "  " not in sentence, sentence
        assert ".." not in sentence, sentence
        assert not re.search(r" [.,;:]", sentence), sentence
        assert sentence.endswith("."), sentence
        assert not re.search(r"\b1 (evaluators|sets|conditions|scores|runs|attributes)\b", sentence)
        assert "-" not in re.findall(r"[-+−]?\d+\.\d", sentence) or "−" in sentence


def check_cell(cell, row, limits):
    if cell.word == "no verdict":
        assert cell.reason
        assert row.sentence.startswith("No verdict")
        return
    assert math.isfinite(cell.difference)
    if cell.lower is None:
        assert cell.word == "not certain"
        assert "leave every difference open" in row.sentence or cell.condition is not None
        return
    assert cell.lower <= cell.difference <= cell.upper
    if cell.word == "clear":
        assert cell.evaluators >= 3
        assert cell.lower > 0 or cell.upper < 0
        assert cell.way == ("better" if cell.lower > 0 else "worse")
    if cell.word == "too small to matter":
        assert abs(cell.difference) < limits.matters
        assert cell.lower > -2 * limits.matters or cell.upper < 2 * limits.matters


def check_row(row, limits):
    cell, beside = row.overall, row.beside
    check_cell(cell, row, limits)
    for each in row.cells.by_condition:
        check_cell(each, row, limits)
    says_better = row.sentence.startswith("Better")
    says_worse = row.sentence.startswith("Worse")
    if cell.word == "clear":
        assert says_better == (cell.difference > 0)
        assert says_worse == (cell.difference < 0)
        assert f"{abs(cell.difference):.1f}" in row.sentence
    elif cell.word != "by condition":
        assert not says_better
        assert not says_worse
    if "noticed by an ordinary" in row.sentence and "likely noticed" not in row.sentence:
        assert min(abs(cell.lower), abs(cell.upper)) >= limits.customer
    if "notice" in row.noticed and "customer" in row.noticed:
        assert round(abs(cell.difference), 1) >= limits.matters
    words = {each.word for each in row.cells.by_condition}
    assert not (cell.word == "not certain" and words == {"too small to matter"})
    if row.cells.clear_in:
        assert cell.word in ("clear", "by condition")
    if cell.word == "by condition":
        assert row.cells.clear_in
    check_beside(beside, cell)
    for title, each in row.beside_by_condition.items():
        single = next(c for c in row.cells.by_condition if c.condition == title)
        check_beside(each, single)


def check_beside(beside, cell):
    assert beside.why
    if beside.says == "cannot tell":
        return
    assert beside.low <= beside.difference <= beside.high
    assert cell.word in ("clear", "too small to matter")
    if beside.says == "the same" and cell.word == "clear":
        assert (beside.high < 0) == (cell.way == "better")
        assert (beside.low > 0) == (cell.way == "worse")
        assert round(abs(beside.difference), 1) >= 1.0
    if beside.says == "the same" and cell.word == "too small to matter":
        assert max(abs(beside.low), abs(beside.high)) < 1.1
    if beside.says == "otherwise" and cell.way == "better":
        assert beside.difference > -1.0
    if beside.says == "otherwise" and cell.way == "worse":
        assert beside.difference < 1.0


def check_set(each, verdict):
    if all(row.overall.word == "no verdict" for row in each.rows):
        assert each.sentence.startswith("No verdict on")
        return
    claims = [row for row in each.rows if row.overall.word in ("clear", "by condition")]
    assert ("is better" in each.sentence or "is worse" in each.sentence) == bool(claims)
    assert ("does not differ clearly" in each.sentence) <= (not claims)
    for word in ("Too small to matter", "Not certain", "No verdict"):
        named = [row.name for row in each.rows if row.overall.word == word.lower()]
        part = re.search(rf"{word}: ([^.]*)\.", each.sentence)
        told = part.group(1).lower() if part else ""
        assert all(name.lower() in told for name in named) or "on every attribute" in each.sentence
        assert len(named) == len(re.split(r", | and ", told)) if told else True


def check_headline(verdict):
    claimed = {
        each.name
        for each in verdict.sets
        if any(row.overall.word in ("clear", "by condition") for row in each.rows)
    }
    told = {
        name for name in (each.name for each in verdict.sets) if f"{name} is" in verdict.headline
    }
    if claimed:
        assert told <= claimed
        more = re.search(r"(\d+) more set", verdict.headline)
        assert len(told) + (int(more.group(1)) if more else 0) == len(claimed)
    else:
        assert "better" not in verdict.headline
        assert "worse" not in verdict.headline
    if "within" in verdict.headline:
        words = {row.overall.word for each in verdict.sets for row in each.rows}
        assert words == {"too small to matter"}


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_that_no_sentence_contradicts_its_figures(kind):
    for seed in SEEDS if kind != "forty sets" else range(2):
        verdict = judge(question(kind, seed))
        limits = verdict.question.settings.limits
        check_well_formed(sentences_of(verdict))
        check_headline(verdict)
        for each in verdict.sets:
            check_set(each, verdict)
            for row in each.rows:
                check_row(row, limits)


@pytest.mark.slow
def test_that_what_is_there_is_said_and_what_is_not_is_not():
    def claims(kind):
        found = [judge(question(kind, seed)) for seed in SEEDS]
        return sum(
            row.overall.word in ("clear", "by condition")
            for verdict in found
            for each in verdict.sets
            for row in each.rows
        )

    assert claims("clear") > 40
    assert claims("no difference") <= 2
    assert claims("contradicting") <= 2
    assert claims("two evaluators") == claims("one evaluator") == claims("no control") == 0


def test_that_the_meter_is_heard_when_it_says_otherwise():
    same = judge(question("clear", 1))
    turned = judge(question("meter otherwise", 1))

    def says(verdict):
        return [
            row.beside.says
            for each in verdict.sets
            for row in each.rows
            if row.overall.word == "clear" and row.beside.figure
        ]

    assert says(same)
    assert says(same).count("the same") > 2 * says(same).count("otherwise")
    assert says(turned).count("otherwise") > 2 * says(turned).count("the same")


def test_that_alpha_is_what_the_page_states():
    assert ALPHA == 0.05
    assert "at 5 %" in judge(question("clear", 1)).standing
