"""What was changed at the recordings and not kept: Esc and leaving ask before it goes."""

from dataclasses import replace

import pytest
from lead_pages import LEFT
from lead_recordings import study_with_runs
from PySide6.QtCore import Qt

from app.lead.lead_screen import LeadScreen
from app.parts.asking import Question
from ratings.study.runs import RunNote


@pytest.fixture
def screen(qtbot, light, tmp_path):
    study = study_with_runs(tmp_path, is_measured=True)
    screen = LeadScreen(study)
    qtbot.addWidget(screen)
    screen.show()
    screen.rail.choose("recordings")
    qtbot.waitUntil(lambda: screen.recordings.presenter.reading is not None, timeout=20000)
    yield screen
    screen.put_away()
    study.close()


def escape(qtbot, screen, widget):
    """Press Esc, and return the question that it asked; None for none."""
    qtbot.keyClick(widget, Qt.Key.Key_Escape)
    return screen.findChild(Question)


def test_that_esc_asks_before_changed_bands_are_lost(qtbot, screen):
    page = screen.recordings.page
    page.show_bands()
    first = page.editor.names[0]
    qtbot.keyClicks(first, " of the wheel")
    question = escape(qtbot, screen, first)
    assert question.accessibleDescription() == "The bands were changed and not kept."
    qtbot.keyClick(question, Qt.Key.Key_Return)
    assert page.editor.isVisible()
    assert page.bands.drafts[0].name.endswith(" of the wheel")
    qtbot.waitUntil(lambda: screen.findChild(Question) is None)
    qtbot.mouseClick(page.editor.back, LEFT)
    qtbot.mouseClick(screen.findChild(Question).go, LEFT)
    assert not page.editor.isVisible()
    assert page.at_stake() == ""


def test_that_esc_closes_the_bands_at_once_while_nothing_was_changed(qtbot, screen):
    page = screen.recordings.page
    page.show_bands()
    assert escape(qtbot, screen, page.editor.names[0]) is None
    assert not page.editor.isVisible()


def test_that_esc_on_the_rail_closes_what_is_open_and_stays_at_the_desk(qtbot, screen):
    page = screen.recordings.page
    for show, opened in (
        (page.show_bands, page.editor),
        (page.show_settings, page.settings_page),
        (page.show_bringing, page.bring_page),
    ):
        show()
        with qtbot.assertNotEmitted(screen.left):
            qtbot.keyClick(screen.rail, Qt.Key.Key_Escape)
        assert not opened.isVisible()
    with qtbot.waitSignal(screen.left):
        qtbot.keyClick(screen.rail, Qt.Key.Key_Escape)


def test_that_details_of_a_run_stay_a_draft_while_another_is_looked_at(qtbot, screen):
    page, settings = screen.recordings.page, screen.recordings.page.run_settings
    page.show_settings()
    first, second = settings.runs[:2]
    settings.change(replace(settings.draft, note=RunNote(air_c=12.0)))
    settings.choose(second.recording_id)
    assert settings.draft.note.air_c is None
    assert "changed, not kept" in page.settings_page.runs.item(0).text()
    settings.choose(first.recording_id)
    assert settings.draft.note.air_c == 12.0
    question = escape(qtbot, screen, page.settings_page.runs)
    assert f"{first.set_code}, {first.condition.title}" in question.accessibleDescription()
    assert page.settings_page.isVisible()


def test_that_leaving_the_desk_asks_about_every_thing_that_is_not_kept(qtbot, screen, tmp_path):
    page = screen.recordings.page
    page.bringing.add_files([tmp_path / "birch.wav"])
    qtbot.keyClicks(screen.panel_page._name, "Nina")
    with qtbot.assertNotEmitted(screen.left):
        screen.go_back()
    question = screen.findChild(Question)
    assert "1 file listed and not imported." in question.accessibleDescription()
    assert "Nina is written and has no seat yet." in question.accessibleDescription()
    with qtbot.waitSignal(screen.left):
        qtbot.mouseClick(question.go, LEFT)
