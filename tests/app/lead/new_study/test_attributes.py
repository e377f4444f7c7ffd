"""What is listened for: attributes chosen, written and kept."""

from dataclasses import replace

import pytest
from draft_pages import LEFT, drop, wait_until_read
from PySide6.QtCore import Qt

from app.lead.new_study.page import NewStudyPage
from app.parts.asking import Question


def test_that_an_own_attribute_is_taken_only_with_a_definition(qtbot, page):
    attributes = page.attributes
    qtbot.mouseClick(attributes.add, LEFT)
    qtbot.keyClicks(attributes.card.name, "Rattle & buzz")
    qtbot.mouseClick(attributes.card.keep, LEFT)
    assert "no definition" in attributes.card._problem.text()
    qtbot.keyClicks(attributes.card.definition, "loose trim")
    assert attributes.card._problem.text() == ""
    qtbot.keyClick(attributes.card.definition, Qt.Key.Key_Return)
    added = page.presenter.draft.attributes[-1]
    assert (added.key, added.definition) == ("rattle_buzz", "loose trim")
    assert attributes.rows["rattle_buzz"].box.isChecked()
    assert attributes.rows["rattle_buzz"].isVisible()


def write_attribute(qtbot, page, name, definition=""):
    qtbot.mouseClick(page.attributes.add, LEFT)
    qtbot.keyClicks(page.attributes.card.name, name)
    qtbot.keyClicks(page.attributes.card.definition, definition)


def test_that_esc_asks_before_a_written_attribute_is_lost(qtbot, page):
    write_attribute(qtbot, page, "Rattle")
    card = page.attributes.card
    qtbot.keyClick(card.name, Qt.Key.Key_Escape)
    question = page.findChild(Question)
    assert "The attribute Rattle is written and not kept." in question.accessibleDescription()
    qtbot.keyClick(question, Qt.Key.Key_Escape)
    assert card.isVisible()
    assert card.name.text() == "Rattle"
    qtbot.waitUntil(lambda: page.findChild(Question) is None)
    qtbot.keyClick(card.name, Qt.Key.Key_Escape)
    qtbot.mouseClick(page.findChild(Question).go, LEFT)
    assert not card.isVisible()
    assert page.presenter.written is None


def test_that_an_attribute_that_is_written_is_taken_when_the_study_is_made(
    qtbot, page, recordings, monkeypatch
):
    made = []
    monkeypatch.setattr(page.presenter.maker, "make", lambda _folder, plan: made.append(plan))
    drop(page, recordings)
    wait_until_read(qtbot, page.presenter)
    page.presenter.change(replace(page.presenter.draft, vehicle="Alder"))
    page.presenter.change(page.presenter.draft.with_control(1))
    write_attribute(qtbot, page, "Rattle")
    assert page.heading.text() == "Rattle has no definition yet."
    assert not page.foot.make.isEnabled()
    qtbot.keyClicks(page.attributes.card.definition, "loose trim")
    qtbot.mouseClick(page.foot.make, LEFT)
    assert [a.name for a in made[0].attributes][-1] == "Rattle"
    assert not page.attributes.card.isVisible()


def test_that_an_attribute_that_is_written_is_there_again_when_the_page_returns(
    qtbot, page, dialogs
):
    write_attribute(qtbot, page, "Rattle", "loose")
    again = NewStudyPage(page.presenter, dialogs.ask_files, dialogs.ask_folder)
    qtbot.addWidget(again)
    assert again.attributes.is_open
    card = again.attributes.card
    assert (card.name.text(), card.definition.text()) == ("Rattle", "loose")


@pytest.mark.slow
def test_that_evenness_is_not_asked_without_a_coast_down(qtbot, page, recordings):
    row = page.attributes.rows["evenness"]
    assert row.box.isChecked()
    drop(page, recordings)
    assert not row.box.isChecked()
    assert not row.box.isEnabled()
    assert row.box.accessibleDescription() == "not asked: needs a coast-down"
    condition = page.presenter.draft.conditions[0]
    page.presenter.change(
        page.presenter.draft.with_changed_condition(
            replace(condition, manoeuvre="coast-down", end_speed_km_h=40.0)
        )
    )
    assert row.box.isChecked()
    assert "falls with speed" in row.box.accessibleDescription()
