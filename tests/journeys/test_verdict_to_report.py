"""From the sample study to a report in a folder, through the real window with keys and clicks."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.lead.lead_screen import LeadScreen
from app.lead.report.page import ReportPage
from app.lead.verdict.page import VerdictPage
from ratings.storage.key import names, opening

pytestmark = pytest.mark.slow


def judged(hands, screen):
    reading = screen.judging
    hands.qtbot.waitUntil(
        lambda: reading.verdict is not None and not reading.is_working, timeout=60000
    )


def test_that_a_lead_reads_the_verdict_opens_the_key_and_hands_a_report_over(
    open_window, hands, tmp_path
):
    window = open_window()
    window.open(None)
    hands = hands(window)
    hands.clicks("Lead")
    hands.qtbot.waitUntil(lambda: bool(hands.sees(LeadScreen)), timeout=60000)
    (screen,) = hands.sees(LeadScreen)
    hands.clicks("Verdict")
    judged(hands, screen)
    (page,) = hands.sees(VerdictPage)
    assert screen.judging.verdict.headline in hands.words()
    page.rows.table.setFocus()
    hands.presses(Qt.Key.Key_End)
    assert page.rows.table.chosen_line is page.rows.table.rows[-1].line
    codes = {place.line.set_name for place in page.rows.table.rows}

    hands.clicks("Open the key")
    QTest.keyClicks(page.key_question.who, "Ines")
    hands.presses(Qt.Key.Key_Return)
    QTest.keyClicks(page.key_question.why, "first look")
    hands.presses(Qt.Key.Key_Return)
    hands.qtbot.waitUntil(lambda: bool(screen.judging.verdict.question.names), timeout=60000)
    judged(hands, screen)
    study = screen.judging.verdict.question
    shown = {place.line.set_name for place in page.rows.table.rows}
    assert shown == set(study.names.values()) - {study.names[study.control]}
    assert not shown & codes

    hands.clicks("Report")
    judged(hands, screen)
    (report,) = hands.sees(ReportPage)
    report._ask_folder = lambda _parent, _title, _beside: tmp_path / "out"
    report.words[1].editor.setFocus()
    report.words[1].editor.selectAll()
    QTest.keyClicks(report.words[1].editor, "Drive the best one again.")
    with hands.qtbot.waitSignal(screen.report.told, timeout=60000):
        hands.clicks("Write the report")
    (html,) = (tmp_path / "out").glob("*.html")
    text = html.read_text(encoding="utf-8")
    for words in ("Drive the best one again.", "Ines", "first look", *shown):
        assert words in text
    (pdf,) = (tmp_path / "out").glob("*.pdf")
    assert pdf.read_bytes().startswith(b"%PDF")
    assert opening(window.lead.study).who == "Ines"
    assert shown < set(names(window.lead.study).values())
