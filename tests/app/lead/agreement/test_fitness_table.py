"""The time per pair in the table of evaluators, from real sessions to window and report."""

import re

import numpy as np
import pytest
from benchmarks.false_flags import PANELS, with_odd
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from studies import Clock, rate_pair, small_study

from app.lead.agreement.fitness_table import FitnessTable
from app.parts.fonts import font
from ratings.findings.agreement import agreement
from ratings.reports.agreement_page import write_agreement_page
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.attributes import Scale

ACROSS = Qt.Orientation.Horizontal
HASTY = "takes 3 s a pair, the panel 50 s"


@pytest.fixture
def timed_study(tmp_path, bring):
    """Three people who rated every pair, one of them hastily, and one brought in."""
    study = small_study(tmp_path / "timed", sets=3, conditions=2, evaluators=("Ada", "Bo", "Cy"))
    # Five steps of the clock for each pair: from opening it to closing it.
    for seat, step_s in zip(session_seats(study), (10.0, 0.6, 12.0), strict=True):
        listening = ListeningDesk(study, seat.session_id, Clock(step_s))
        for place, pair in enumerate(listening.pairs):
            rate_pair(listening, pair, 6.0 + place / 4, 6.0 + place / 4)
    bring(study, 1)
    yield study
    study.close()


def column(table, heading):
    model = table.model()
    headings = [model.headerData(n, ACROSS).replace("\n", " ") for n in range(model.columnCount())]
    place = headings.index(heading)
    return [model.index(row, place).data() for row in range(model.rowCount())]


@pytest.mark.slow
def test_that_the_time_per_pair_is_shown_and_who_has_none_has_a_dash(open_screen, timed_study):
    table = open_screen(timed_study).agreement_page.panels[3].table
    names = [table.model().headerData(n, Qt.Orientation.Vertical) for n in range(4)]
    assert names == ["E1", "E2", "E3", "P1"]
    assert column(table, "time per pair") == ["50 s", "3 s", "60 s", "–"]


def test_that_haste_stands_out_alike_at_every_attribute(qtbot, open_screen, timed_study):
    screen = open_screen(timed_study)
    table = screen.agreement_page.panels[3].table
    for attribute in ("boom", "rumble"):
        screen.presenter.choose_attribute(attribute)
        says = column(table, "what stands out")
        assert [HASTY in words for words in says] == [False, True, False, False]


@pytest.mark.slow
def test_that_no_word_of_the_table_is_cut_at_1280_by_720(open_screen, timed_study):
    table = open_screen(timed_study).agreement_page.panels[3].table
    model, header = table.model(), table.horizontalHeader()
    assert header.length() <= table.viewport().width()
    small, body = QFontMetrics(font("small")), QFontMetrics(font("body"))
    says = model.columnCount() - 1
    for place in range(model.columnCount()):
        lines = model.headerData(place, ACROSS).split("\n")
        assert max(map(small.horizontalAdvance, lines)) < header.sectionSize(place)
        assert small.lineSpacing() * len(lines) <= header.height()
        cells = [model.index(row, place).data() for row in range(model.rowCount())]
        if place == says:
            cells = [word for cell in cells for word in cell.split()]
        assert max(map(body.horizontalAdvance, cells)) < header.sectionSize(place)


def test_that_long_reasons_wrap_inside_the_table(qtbot, light):
    table_of_scores = with_odd(
        PANELS["eight attributes, pairs"], "random", np.random.default_rng(1)
    )
    found = agreement(table_of_scores, Scale())[0].evaluators_detail
    table = FitnessTable()
    qtbot.addWidget(table)
    table.resize(960, 600)
    table.show()
    table.findings.show_findings(found)
    header, says = table.horizontalHeader(), table.model().columnCount() - 1
    told = [table.model().index(row, says).data() for row in range(len(found))]
    assert header.length() <= table.viewport().width()
    assert QFontMetrics(font("body")).horizontalAdvance(told[0]) > 2 * header.sectionSize(says)
    assert table.rowHeight(0) > 2 * table.rowHeight(1)


def test_that_the_report_shows_the_same_times_and_reason(timed_study, tmp_path):
    page = write_agreement_page(timed_study.folder.path, tmp_path / "page.html")
    written = page.read_text(encoding="utf-8")
    assert ">time per pair</th>" in written
    # One table for each of two attributes.
    for cell in ("50 s", "3 s", "60 s"):
        assert len(re.findall(rf'<td class="number[^"]*">{cell}</td>', written)) == 2
    assert written.count(HASTY) == 2
    assert "Time per pair is the median from opening a pair to closing it" in written
