"""The report station: whose words stand on page one, and what is written where."""

import pytest
from lead_pages import LEFT, button, shown_words
from PySide6.QtCore import Qt

from app.lead.lead_screen import LeadScreen
from ratings.findings.verdict.front import program_words
from ratings.storage.verdict_desk import VerdictDesk


@pytest.fixture
def on_report(qtbot, light):
    """Open the lead's screen on a study, go to the report and wait for its words."""
    opened = []

    def on_(study, folder=None):
        screen = LeadScreen(study, ask_folder=lambda _parent, _title, _beside: folder)
        qtbot.addWidget(screen)
        opened.append(screen)
        screen.resize(1280, 720)
        with qtbot.waitExposed(screen):
            screen.show()
        screen.activateWindow()
        screen.rail.choose("report")
        reading = screen.judging
        qtbot.waitUntil(
            lambda: reading.verdict is not None and not reading.is_working, timeout=30_000
        )
        return screen

    yield on_
    for screen in opened:
        screen.put_away()


def type_over(qtbot, editor, text):
    editor.setFocus()
    editor.selectAll()
    qtbot.keyClicks(editor, text)


def test_that_page_one_begins_with_the_programs_words(on_report, study):
    screen = on_report(study)
    page, ours = screen.report_page, program_words(screen.judging.verdict)
    summary, recommendation = page.words
    assert summary.editor.toPlainText() == ours["summary"]
    assert recommendation.editor.toPlainText() == ours["recommendation"]
    assert screen.judging.verdict.headline in shown_words(page)
    assert summary.mark.text() == "program's words"


def test_that_what_the_lead_writes_is_kept_and_marked(qtbot, on_report, study):
    screen = on_report(study)
    summary, recommendation = screen.report_page.words
    type_over(qtbot, summary.editor, "Take Birch on.")
    assert summary.mark.text() == "lead's words, marked so in the report"
    recommendation.editor.setFocus()
    desk = VerdictDesk(study)
    qtbot.waitUntil(lambda: desk.settings().lead_words == {"summary": "Take Birch on."})
    qtbot.waitUntil(
        lambda: screen.judging.verdict.question.settings.lead_words != {}, timeout=30_000
    )
    assert summary.editor.toPlainText() == "Take Birch on."
    assert summary.mark.text() == "lead's words, marked so in the report"
    assert recommendation.mark.text() == "program's words"


def test_that_the_programs_words_come_back(qtbot, on_report, study):
    VerdictDesk(study).set_lead_words("recommendation", "Wait.")
    screen = on_report(study)
    panel = screen.report_page.words[1]
    assert panel.editor.toPlainText() == "Wait."
    qtbot.mouseClick(panel.restore, LEFT)
    ours = program_words(screen.judging.verdict)["recommendation"]
    assert panel.editor.toPlainText() == ours
    qtbot.waitUntil(lambda: VerdictDesk(study).settings().lead_words == {})
    assert panel.mark.text() == "program's words"


def test_that_words_typed_are_kept_when_the_station_is_left(qtbot, on_report, study):
    screen = on_report(study)
    type_over(qtbot, screen.report_page.words[0].editor, "Short.")
    screen.rail.choose("agreement")
    qtbot.waitUntil(lambda: VerdictDesk(study).settings().lead_words == {"summary": "Short."})


def test_that_the_report_is_written_with_the_leads_words_and_said_where(
    qtbot, on_report, study, tmp_path
):
    folder = tmp_path / "out"
    screen = on_report(study, folder)
    type_over(qtbot, screen.report_page.words[1].editor, "Ask the quarry crew.")
    with qtbot.waitSignal(screen.report.told, timeout=60_000):
        qtbot.mouseClick(screen.report_page.make, LEFT)
    assert {".html", ".pdf", ".csv"} <= {path.suffix for path in folder.iterdir()}
    (page,) = folder.glob("*.html")
    assert "Ask the quarry crew." in page.read_text(encoding="utf-8")
    assert any(str(folder) in words for words in shown_words(screen.report_page))
    assert "written" in button(screen, "Report").accessibleDescription()


def test_that_nothing_is_written_without_a_folder(qtbot, on_report, study):
    screen = on_report(study)
    screen.report_page.make.setFocus()
    qtbot.keyClick(screen.report_page.make, Qt.Key.Key_Space)
    assert screen.report.work.state is None


def test_that_a_study_without_scores_says_what_a_report_needs(on_report, empty_study):
    screen = on_report(empty_study)
    assert not screen.report_page.make.isEnabled()
    assert any("at least one evaluator who has finished" in w for w in shown_words(screen))
