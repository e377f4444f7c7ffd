"""What the verdict page says and shows, without a window."""

from dataclasses import replace

import pytest
from generated_studies import question
from generated_verdicts import verdict_on

from app.lead.verdict.presenter import Shown, VerdictPresenter
from app.lead.verdict_reading import VerdictReading
from ratings.errors import StudyError

COAST = "smooth asphalt, coast-down, 80 to 40 km/h"


@pytest.fixture
def on(qapp, empty_study):
    """Start a presenter on the verdict of a generated study."""

    def on_(kind, seed=1):
        reading = VerdictReading(empty_study)
        presenter = VerdictPresenter(empty_study, reading, reading)
        reading.verdict = verdict_on(kind, seed)
        reading.changed.emit()
        presenter.keeps = reading
        return presenter

    return on_


def test_that_the_heading_is_the_finding_and_a_failure_says_so(on):
    presenter = on("clear")
    assert presenter.heading() == presenter.verdict.headline
    presenter.reading.verdict, presenter.reading.has_failed = None, True
    assert presenter.heading() == "The verdict could not be worked out."
    assert "All scores are saved" in presenter.standing_line()


def test_that_the_axis_is_the_same_whatever_is_shown_and_holds_every_interval(on):
    presenter = on("by condition")
    reach = presenter.reach
    for condition in (None, *presenter.conditions):
        presenter.choose_condition(condition)
        assert presenter.reach == reach
        for line in (line for group in presenter.groups() for line in group.lines):
            ends = (line.cell.difference, line.cell.lower, line.cell.upper)
            assert all(abs(value) <= reach for value in ends if value is not None)


def test_that_a_study_that_cannot_be_read_says_so_where_the_verdict_would_stand(
    qtbot, empty_study, monkeypatch
):
    reading = VerdictReading(empty_study)
    presenter = VerdictPresenter(empty_study, reading, reading)
    problem = StudyError("The disk is away.", "Connect it again.")
    is_away = [True]

    def read(_study, _attempt):
        if is_away[0]:
            raise problem
        return question("clear", 1)

    monkeypatch.setattr("ratings.findings.verdict.question.read_question", read)
    reading.begin_looking(reading)
    qtbot.waitUntil(lambda: reading.refusal is not None)
    assert presenter.heading() == "The study could not be read."
    assert presenter.standing_line() == "The disk is away. Connect it again."
    is_away[0] = False
    reading.look()
    qtbot.waitUntil(lambda: reading.verdict is not None, timeout=30_000)
    reading.stop()
    assert presenter.heading() == reading.verdict.headline


def test_that_rows_are_grouped_by_attribute_or_by_set(on):
    presenter = on("clear")
    sets = [each.code for each in presenter.verdict.sets]
    names = [attribute.name for attribute in presenter.verdict.question.attributes]
    groups = presenter.groups()
    assert [group.heading for group in groups] == names
    assert all([line.code for line in group.lines] == sets for group in groups)
    presenter.choose_shown(Shown(is_by_set=True))
    assert [group.heading for group in presenter.groups()] == [f"Set {code}" for code in sets]
    presenter.choose_shown(Shown(is_by_set=True, only=sets[1]))
    assert [group.heading for group in presenter.groups()] == [f"Set {sets[1]}"]


def test_that_a_large_study_begins_with_one_attribute(on):
    presenter = on("forty sets")
    assert [group.heading for group in presenter.groups()] == ["Boom"]
    assert len(presenter.groups()[0].lines) == 40
    presenter.choose_shown(Shown())
    assert len(presenter.groups()) == 4


def test_that_the_first_clear_row_is_looked_at_until_one_is_chosen(on):
    presenter = on("clear")
    lines = [line for group in presenter.groups() for line in group.lines]
    clear = next(line for line in lines if line.cell.way)
    assert presenter.chosen == (clear.code, clear.attribute)
    presenter.choose_line(lines[-1].code, lines[-1].attribute)
    assert presenter.chosen == (lines[-1].code, lines[-1].attribute)


def test_that_a_condition_that_is_gone_is_not_shown(on):
    presenter = on("by condition")
    presenter.choose_condition(COAST)
    assert {line.cell.condition for g in presenter.groups() for line in g.lines} == {COAST}
    presenter.reading.verdict = verdict_on("one condition")
    assert presenter.conditions == ()
    assert {line.cell.condition for g in presenter.groups() for line in g.lines} == {None}


def test_that_the_matrix_holds_the_word_of_every_attribute_and_condition(on):
    presenter = on("by condition")
    verdict = presenter.verdict
    name, heads, rows = presenter.matrix()
    each = verdict.of(presenter.chosen[0])
    assert name == each.code
    assert [head.replace("\n", " ") for head in heads[2:]] == list(verdict.conditions)
    assert [row[0] for row in rows] == [row.name for row in each.rows]
    for row, shown in zip(each.rows, rows, strict=True):
        for cell, words in zip(row.cells.by_condition, shown[2:], strict=True):
            assert (cell.way or cell.word) in words
    presenter.choose_set(verdict.sets[-1].code)
    assert presenter.matrix()[0] == verdict.sets[-1].code
    assert presenter.set_sentence() == verdict.sets[-1].sentence


def test_that_the_copied_table_holds_what_the_rows_say(on):
    presenter = on("clear")
    head, *rows = presenter.table_text().splitlines()
    assert head.split("\t")[0] == "attribute"
    lines = [line for group in presenter.groups() for line in group.lines]
    assert len(rows) == len(lines)
    for row, line in zip(rows, lines, strict=True):
        cells = row.split("\t")
        assert cells[1:4] == [line.set_name, line.size, line.word]
        assert cells[-1] == str(line.cell.evaluators)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("no control", "import scores of the control"),
        ("one evaluator", "a claim needs at least three"),
    ],
)
def test_that_the_next_step_is_said_where_there_is_no_verdict(on, kind, words):
    presenter = on(kind)
    assert presenter.heading().startswith("No verdict yet.")
    assert words in presenter.next_step()
    assert presenter.groups()


def test_that_why_it_cannot_be_told_whether_it_is_enough_is_said(on):
    assert on("no control").enough_words()[0] == "Cannot be told without scores of the control."
    presenter = on("clear")
    assert presenter.enough_words()[0] == presenter.verdict.enough.headline
    presenter.reading.verdict = replace(presenter.verdict, enough=None)
    assert "a fault of the program" in presenter.enough_words()[0]


def test_that_no_next_step_is_said_where_there_is_a_verdict(on):
    assert on("clear").next_step() == ""


def test_that_a_study_without_scores_says_what_comes_here(on):
    presenter = on("no scores")
    assert "First step" in presenter.emptiness()
    assert on("clear").emptiness() == ""


def test_that_the_doubtful_control_is_shown_first(on):
    presenter = on("driven with drift")
    assert presenter.drift.is_suspect
    assert [d.is_suspect for d in presenter.drifts] == sorted(
        (d.is_suspect for d in presenter.drifts), reverse=True
    )
    presenter.choose_drift(1)
    assert presenter.drift is presenter.drifts[1]


def test_that_names_stand_in_place_of_codes_once_they_are_known(on):
    presenter = on("named")
    verdict = presenter.verdict
    named = {verdict.name_of(each.code) for each in verdict.sets}
    assert {line.set_name for g in presenter.groups() for line in g.lines} == named
    assert set(presenter.sets_to_choose()) == named
    assert presenter.matrix()[0] in named
