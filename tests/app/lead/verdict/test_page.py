"""The verdict page in a real window, with real keys."""

import csv
import sys

import pytest
from generated_verdicts import verdict_on
from lead_pages import LEFT, button, shown_words
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPushButton
from saved_pictures import assert_light_drawing, assert_light_picture, told_in_drawing

from app.parts.theme import apply_theme
from ratings.storage.key import opening
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.verdict_desk import VerdictDesk


@pytest.fixture
def on_verdict(qtbot, open_screen):
    """Open the lead's screen on a study, go to the verdict and wait for it."""

    def on_(study, answers=()):
        screen = open_screen(study, answers)
        screen.rail.choose("verdict")
        settle(qtbot, screen)
        return screen

    return on_


@pytest.fixture
def generated(open_screen, study, monkeypatch):
    """Show the page on a generated study's verdict."""

    def on_(kind, seed=1):
        screen = open_screen(study)
        monkeypatch.setattr(screen.judging, "begin_looking", lambda _looker: None)
        screen.judging.verdict = verdict_on(kind, seed)
        screen.rail.choose("verdict")
        screen.judging.changed.emit()
        return screen

    return on_


def settle(qtbot, screen):
    reading = screen.judging
    qtbot.waitUntil(lambda: reading.verdict is not None and not reading.is_working, timeout=30_000)


def test_that_the_page_leads_with_the_finding_then_what_must_be_known(qtbot, on_verdict, study):
    screen = on_verdict(study)
    verdict, page = screen.judging.verdict, screen.verdict.page
    assert verdict.headline in shown_words(page)
    tops = [
        part.mapTo(page, QPoint(0, 0)).y()
        for part in (page.cautions, page.enough, page.rows, page.matrix, page.settings)
    ]
    assert tops == sorted(tops)
    assert len(page.rows.table.rows) == 2 * len(verdict.question.attributes)


def test_that_the_keys_go_from_row_to_row_and_the_sentence_with_them(qtbot, generated):
    screen = generated("clear")
    table = screen.verdict.page.rows.table
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_Home)
    rows = [(place.line.code, place.line.attribute) for place in table.rows]
    assert screen.verdict.presenter.chosen == rows[0]
    qtbot.keyClick(table, Qt.Key.Key_Up)
    assert screen.verdict.presenter.chosen == rows[0]
    for place in rows[1:4]:
        qtbot.keyClick(table, Qt.Key.Key_Down)
        assert screen.verdict.presenter.chosen == place
        assert table.chosen_line.sentence in table.accessibleDescription()
    qtbot.keyClick(table, Qt.Key.Key_End)
    assert screen.verdict.presenter.chosen == rows[-1]


def test_that_a_row_that_the_keys_reach_is_in_sight_below_the_columns_names(qtbot, generated):
    screen = generated("clear")
    page = screen.verdict.page
    table, view = page.rows.table, page.sheet.viewport()
    table.setFocus()
    for key in (Qt.Key.Key_End, Qt.Key.Key_Home, Qt.Key.Key_End):
        qtbot.keyClick(table, key)
        place = next(p for p in table.rows if p.line is table.chosen_line)
        top = table.mapTo(view, place.box.topLeft().toPoint()).y()
        heading = table._heading
        assert top >= heading.mapTo(view, QPoint(0, 0)).y() + heading.height() - 1
        assert top + place.box.height() <= view.height() + 1
        assert heading.mapTo(view, QPoint(0, 0)).y() >= 0


def test_that_a_click_chooses_a_row(qtbot, generated):
    screen = generated("clear")
    table = screen.verdict.page.rows.table
    place = table.rows[3]
    qtbot.mouseClick(table, LEFT, pos=place.box.center().toPoint())
    assert screen.verdict.presenter.chosen == (place.line.code, place.line.attribute)


def test_that_the_table_is_copied_with_its_words(qtbot, generated):
    screen = generated("clear")
    table = screen.verdict.page.rows.table
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == screen.verdict.presenter.table_text()


def test_that_the_table_is_saved_with_every_condition(qtbot, on_verdict, study, tmp_path):
    path = tmp_path / "verdict.csv"
    screen = on_verdict(study, [path])
    with qtbot.waitSignal(screen.verdict.told, timeout=10_000):
        qtbot.mouseClick(screen.verdict.page.rows.saving.buttons[2], LEFT)
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 2 * len(screen.judging.verdict.question.attributes) * 3


def test_that_the_key_is_opened_by_who_and_why_and_names_appear(qtbot, on_verdict, study):
    screen = on_verdict(study)
    page = screen.verdict.page
    codes = {line.set_name for g in screen.verdict.presenter.groups() for line in g.lines}
    assert codes <= set(LeadDesk(study).codes())
    qtbot.mouseClick(button(screen, "Open the key"), LEFT)
    asked = page.key_question
    assert asked.isVisible()
    assert "2 sessions have not finished: E1 and E2." in " ".join(shown_words(asked))
    qtbot.keyClick(asked.who, Qt.Key.Key_Return)
    qtbot.keyClick(asked.why, Qt.Key.Key_Return)
    qtbot.waitUntil(
        lambda: any("Nobody is named" in words for words in shown_words(asked)), timeout=5000
    )
    assert opening(study) is None
    asked.who.setFocus()
    qtbot.keyClicks(asked.who, "Ines")
    qtbot.keyClick(asked.who, Qt.Key.Key_Return)
    qtbot.keyClicks(asked.why, "all are finished")
    qtbot.keyClick(asked.why, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: opening(study) is not None, timeout=5000)
    assert (opening(study).who, opening(study).why) == ("Ines", "all are finished")
    settle(qtbot, screen)
    qtbot.waitUntil(lambda: bool(screen.judging.verdict.question.names), timeout=30_000)
    assert not asked.isVisible()
    shown = {line.set_name for g in screen.verdict.presenter.groups() for line in g.lines}
    assert shown == {"Birch", "Larch"}
    assert "key opened" in button(screen, "Verdict").accessibleDescription()
    assert any("by Ines: all are finished" in words for words in shown_words(page))
    assert not button(screen, "Open the key").isVisible()


def test_that_a_study_that_may_only_be_read_keeps_its_key_and_says_so(
    qtbot, open_screen, study, monkeypatch
):
    monkeypatch.setattr(study, "is_read_only", True)
    screen = open_screen(study)
    screen.rail.choose("verdict")
    settle(qtbot, screen)
    page = screen.verdict.page
    (key,) = [b for b in page.findChildren(QPushButton) if b.text() == "Open the key"]
    assert not key.isEnabled()
    assert any("may only be read here" in words for words in shown_words(page))
    assert not any(field.isEnabled() for field in page.settings.limits.values())
    assert not page.enough.planned.isEnabled()


def test_that_escape_keeps_the_key_closed(qtbot, on_verdict, study):
    screen = on_verdict(study)
    qtbot.mouseClick(button(screen, "Open the key"), LEFT)
    asked = screen.verdict.page.key_question
    qtbot.keyClicks(asked.who, "Ines")
    qtbot.keyClick(asked.who, Qt.Key.Key_Escape)
    assert not asked.isVisible()
    assert screen.isVisible()
    assert opening(study) is None


def test_that_a_limit_is_changed_in_place_and_the_words_follow(qtbot, on_verdict, study):
    screen = on_verdict(study)
    field = screen.verdict.page.settings.limits["matters"]
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, "0,75")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: VerdictDesk(study).settings().limits.matters == 0.75, timeout=5000)
    qtbot.waitUntil(
        lambda: screen.judging.verdict.question.settings.limits.matters == 0.75, timeout=30_000
    )
    assert screen.verdict.presenter.matters == 0.75
    assert "within 0.75 points" in screen.verdict.page.rows.caption.text()


def test_that_limits_that_do_not_rise_are_refused_in_their_place(qtbot, on_verdict, study):
    screen = on_verdict(study)
    settings = screen.verdict.page.settings
    field = settings.limits["matters"]
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, "2")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert any("do not rise" in words for words in shown_words(settings))
    assert field.value() == 0.5
    assert VerdictDesk(study).settings().limits.matters == 0.5


def test_that_plan_and_figures_are_settled_in_place(qtbot, on_verdict, study):
    screen = on_verdict(study)
    page = screen.verdict.page
    field = page.enough.planned
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, "8")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    desk = VerdictDesk(study)
    qtbot.waitUntil(lambda: desk.settings().planned_evaluators == 8, timeout=5000)
    settle(qtbot, screen)
    choice = page.settings.figures["boom"]
    choice.setFocus()
    qtbot.keyClick(choice, Qt.Key.Key_Home)
    qtbot.waitUntil(lambda: desk.settings().attribute_figures["boom"] is None, timeout=5000)


def test_that_the_first_cautions_are_shown_and_the_others_on_request(qtbot, generated):
    screen = generated("driven with drift")
    panel = screen.verdict.page.cautions
    told = screen.verdict.presenter.cautions()
    assert len(told) > 4

    def lines():
        return [words for words in shown_words(panel) if words.startswith("! ")]

    qtbot.waitUntil(lambda: len(lines()) == 4)
    qtbot.mouseClick(panel.more, LEFT)
    qtbot.waitUntil(lambda: lines() == [f"! {sentence}" for sentence in told])


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("no control", "import scores of the control"),
        ("one evaluator", "at least three"),
        ("nothing measured", "Nothing to hold the scores against yet"),
    ],
)
def test_that_what_is_missing_is_said_in_its_place_and_the_rest_stands(generated, kind, words):
    page = generated(kind).verdict.page
    assert any(words in line for line in shown_words(page)), shown_words(page)
    assert page.rows.table.rows
    assert page.matrix.table.isVisible()


def test_that_a_panel_that_fails_is_told_alone(generated, monkeypatch):
    told = []
    monkeypatch.setattr(sys, "excepthook", lambda _kind, defect, _trace: told.append(str(defect)))

    def broken(_self):
        raise RuntimeError("a fault in the drift")

    monkeypatch.setattr("app.lead.verdict.presenter.VerdictPresenter.drift", property(broken))
    page = generated("clear").verdict.page
    assert any("could not be shown" in words for words in shown_words(page.drift))
    assert not any("could not be shown" in words for words in shown_words(page.ears))
    assert page.rows.table.rows
    assert told == ["a fault in the drift"]


def test_that_nothing_is_worked_out_while_nobody_looks(qtbot, open_screen, study, bring):
    screen = open_screen(study)
    bring(study, 1, first=8)
    screen.judging.look()
    qtbot.waitUntil(lambda: not screen.judging._is_looking)
    assert screen.judging.verdict is None
    screen.rail.choose("verdict")
    settle(qtbot, screen)
    assert "P8" in screen.judging.verdict.evaluators


@pytest.mark.parametrize("name", ["rows", "ears", "drift"])
def test_that_a_plot_is_saved_with_title_facts_legend_and_sentence(
    qapp, generated, tmp_path, name, monkeypatch
):
    page = generated("driven with drift").verdict.page
    apply_theme(qapp, "dark")
    saving = getattr(page, name).saving
    for place, suffix in enumerate(("png", "svg", "csv")):
        path = tmp_path / f"{name}.{suffix}"
        monkeypatch.setattr(saving, "_ask_path", lambda _parent, _purpose, path=path: path)
        saving.buttons[place].click()
    apply_theme(qapp, "light")
    assert_light_picture(tmp_path / f"{name}.png")
    assert_light_drawing(tmp_path / f"{name}.svg")
    said = told_in_drawing(tmp_path / f"{name}.svg")
    picture = saving._make()
    assert picture.facts
    for words in (picture.title, picture.sentence, *(key.words for key in picture.keys)):
        assert words in said
    picture.plot.deleteLater()
    with (tmp_path / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    assert rows
    assert all(len(row) == len(head) for row in rows)
