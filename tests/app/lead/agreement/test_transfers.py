import csv
import re

import pytest
from lead_pages import LEFT, bring_in, button, shown_words, write_scores
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QFileDialog,
    QWidget,
)
from studies import SETS, small_study

from app.lead.lead_screen import LeadScreen
from app.parts.file_asking import FilePurpose, ask_path
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import session_seats


@pytest.mark.slow
def test_that_scores_saved_here_are_brought_into_a_sibling_study(
    qtbot, open_screen, study, tmp_path
):
    path = tmp_path / "out" / "score_table.csv"
    path.parent.mkdir()
    screen = open_screen(study, [path])
    with qtbot.waitSignal(screen.transfers.told) as told:
        qtbot.mouseClick(button(screen, "Save the score table (CSV)"), LEFT)
    assert told.args == [
        "score_table.csv has been written: 120 scores. Keep it from evaluators who have not "
        "finished: their own scores in it tell them which set they heard."
    ]
    assert told.args[0] in shown_words(screen)
    sibling = small_study(tmp_path / "sibling", sets=3, conditions=2)
    try:
        other = open_screen(sibling, [path, path])
        assert "Nobody has rated yet." in shown_words(other)
        with qtbot.waitSignal(other.transfers.told) as told:
            bring_in(qtbot, other)
            assert "120 scores by 5 evaluators on 2 attributes, 2 conditions. Add them?" in (
                shown_words(other)
            )
            assert len(LeadDesk(sibling).score_table()) == 0
            qtbot.mouseClick(button(other, "Add"), LEFT)
        assert told.args == ["score_table.csv has been imported: 120 scores."]
        qtbot.waitUntil(lambda: "The panel agrees on boom, not on rumble." in shown_words(other))
        with qtbot.waitSignal(other.transfers.problem_raised):
            qtbot.mouseClick(button(other, "Import scores (CSV)"), LEFT)
        assert "score_table.csv has been brought in before." in shown_words(other)
        assert "Nothing was added again." in shown_words(other)
    finally:
        sibling.close()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("rows", "question"),
    [
        (1, "1 score by 1 evaluator on 1 attribute, 1 condition. Add it?"),
        (2, "2 scores by 1 evaluator on 1 attribute, 1 condition. Add them?"),
    ],
)
def test_that_nothing_is_brought_in_before_it_was_said_to_be_added(
    qtbot, open_screen, empty_study, tmp_path, rows, question
):
    desk = LeadDesk(empty_study)
    path = write_scores(tmp_path / "few.csv", desk.codes(), rows)
    screen = open_screen(empty_study, [path, path])
    bring_in(qtbot, screen)
    assert question in shown_words(screen)
    qtbot.keyClick(screen, Qt.Key.Key_Escape)
    assert not screen.messages.isVisible()
    assert len(desk.score_table()) == 0
    bring_in(qtbot, screen)
    with qtbot.waitSignal(screen.transfers.scores_brought):
        qtbot.mouseClick(button(screen, "Add"), LEFT)
    assert len(desk.score_table()) == rows


def test_that_the_question_says_who_is_called_like_somebody_at_a_seat(
    qtbot, open_screen, empty_study, tmp_path
):
    path = write_scores(tmp_path / "few.csv", LeadDesk(empty_study).codes())
    first = session_seats(empty_study)[0].evaluator
    path.write_text(path.read_text().replace("Q1", first.name.upper()))
    screen = open_screen(empty_study, [path])
    bring_in(qtbot, screen)
    assert (
        f"{first.name.upper()} is also the name of seat {first.code}: they count as two people "
        f"unless the table says {first.code}. Add it?"
    ) in " ".join(shown_words(screen))


def test_that_a_table_must_say_where_its_scores_were_given(
    qtbot, open_screen, empty_study, tmp_path
):
    path = write_scores(tmp_path / "few.csv", LeadDesk(empty_study).codes(), origin="")
    screen = open_screen(empty_study, [path])
    with qtbot.waitSignal(screen.transfers.problem_raised):
        qtbot.mouseClick(button(screen, "Import scores (CSV)"), LEFT)
    words = shown_words(screen)
    assert "The file does not say whether its scores were driven or listened." in words
    assert "Add a column origin with one of these words." in words
    assert len(LeadDesk(empty_study).score_table()) == 0


@pytest.mark.slow
def test_that_evaluators_who_were_only_brought_in_are_on_the_panel_page(open_screen, study):
    screen = open_screen(study)
    screen.rail.choose("panel")
    words = shown_words(screen)
    assert words.count("scores imported") == 5
    assert all(f"P{number}" in words for number in range(1, 6))
    assert "Ada" in words


def test_that_a_wrong_word_in_a_table_is_told_with_its_row(qtbot, open_screen, study, tmp_path):
    path = tmp_path / "wrong.csv"
    path.write_text("evaluator,set,condition,attribute,score,origin\nQ1,Willow,x,boom,7,driven\n")
    screen = open_screen(study, [path])
    with qtbot.waitSignal(screen.transfers.problem_raised):
        qtbot.mouseClick(button(screen, "Import scores (CSV)"), LEFT)
    told = " ".join(shown_words(screen))
    assert "wrong.csv, row 2, column set: Willow is not in the study." in told
    assert not [name for name in SETS if name in told]


def test_that_the_page_is_saved_as_one_file_without_a_set_name(qtbot, open_screen, study, tmp_path):
    path = tmp_path / "agreement.html"
    screen = open_screen(study, [path])
    with qtbot.waitSignal(screen.transfers.told) as told:
        qtbot.mouseClick(button(screen, "Save the agreement report (HTML)"), LEFT)
    assert told.args == ["agreement.html has been written: 120 scores judged."]
    page = path.read_text(encoding="utf-8")
    assert "The panel agrees on boom, not on rumble." in page
    assert not [name for name in SETS if name in page]


@pytest.mark.slow
def test_that_the_matrix_is_shown_copied_and_saved_with_its_marks(
    qtbot, open_screen, study, tmp_path
):
    path = tmp_path / "agreement.csv"
    screen = open_screen(study, [path])
    panel = screen.agreement_page.panels[-1]
    assert panel.isVisible()
    table = panel.table
    assert table.focusPolicy() & Qt.FocusPolicy.TabFocus
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    lines = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert lines[0] == ["attribute", "all conditions", *screen.presenter.conditions]
    assert [line[0] for line in lines[1:]] == ["Boom", "Rumble"]
    assert all(cell == "1.00 *  (5 × 3)" for cell in lines[1][1:])
    assert not any("*" in cell for cell in lines[2])
    with qtbot.waitSignal(screen.agreement_page.exporter.told):
        qtbot.mouseClick(button(screen, "Save this table (CSV)"), LEFT)
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["mark"] for row in rows] == ["*"] * 3 + [""] * 3
    assert [row["agreement"] for row in rows] == ["well"] * 3 + ["not above chance"] * 3
    assert {row["condition"] for row in rows} == {"all conditions", *screen.presenter.conditions}


def test_that_a_place_that_cannot_be_written_is_told_in_words(qtbot, open_screen, study, tmp_path):
    nowhere = tmp_path / "gone" / "a"
    screen = open_screen(study, [nowhere.with_suffix(".csv"), nowhere.with_suffix(".html"), None])
    for words in ("Save the score table (CSV)", "Save the agreement report (HTML)"):
        with qtbot.waitSignal(screen.transfers.problem_raised):
            qtbot.mouseClick(button(screen, words), LEFT)
        assert "Choose another place; the scores in the study are safe." in shown_words(screen)
    screen.messages.clear()
    qtbot.mouseClick(button(screen, "Save the agreement report (HTML)"), LEFT)
    assert not screen.messages.isVisible()


@pytest.mark.slow
def test_that_files_are_offered_beside_the_study_under_its_name_and_the_date(
    qtbot, light, bring, tmp_path
):
    study = small_study(tmp_path / "named", sets=3, conditions=2, name="Week 31: dry/wet?")
    asked = []
    bring(study, 5)
    try:
        screen = LeadScreen(study, ask_path=lambda _parent, purpose: asked.append(purpose))
        qtbot.addWidget(screen)
        screen.show()
        qtbot.waitUntil(button(screen, "Save the agreement report (HTML)").isEnabled)
        for words in (
            "Save the score table (CSV)",
            "Save the agreement report (HTML)",
            "Import scores (CSV)",
        ):
            qtbot.mouseClick(button(screen, words), LEFT)
        screen.watch.stop()
    finally:
        study.close()
    assert {purpose.folder for purpose in asked} == {study.folder.path.parent}
    names = [re.sub(r"\d{4}-\d\d-\d\d", "DATE", purpose.suggestion) for purpose in asked]
    assert names == [
        "Week 31- dry-wet- scores DATE.csv",
        "Week 31- dry-wet- agreement DATE.html",
        "",
    ]


def test_that_the_systems_dialog_begins_beside_the_study(qtbot, light, monkeypatch, tmp_path):
    seen = []

    def look(dialog):
        seen.append((dialog.directory().absolutePath(), dialog.selectedFiles()))
        return 0

    monkeypatch.setattr(QFileDialog, "exec", look)
    purpose = FilePurpose("Save", "table", "csv", "week.csv", is_saving=True, folder=tmp_path)
    parent = QWidget()
    qtbot.addWidget(parent)
    assert ask_path(parent, purpose) is None
    assert seen == [(str(tmp_path), [str(tmp_path / "week.csv")])]
