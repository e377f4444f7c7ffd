"""What quality control says of a run is three lines at most, and the rest behind a button."""

from types import SimpleNamespace

from lead_pages import shown_words
from PySide6.QtWidgets import QPushButton

from app.lead.recordings.runs_panel import RunsPanel
from ratings.findings.measured_study import MeasuredStudy
from ratings.findings.repeats import RepeatFinding
from ratings.study.figures import Remark


def reading_with(count):
    remarks = tuple(Remark("doubtful", f"Remark {number}.") for number in range(count))
    repeats = (RepeatFinding("417", "coarse", (1, 2), remarks),)
    return MeasuredStudy("862", ("862", "417"), (), (), {}, None, None, repeats=repeats)


def panel_of(qtbot, count):
    panel = RunsPanel(SimpleNamespace(reading=reading_with(count)))
    qtbot.addWidget(panel)
    panel.show_results()
    panel.show()
    return panel


def remarks_in(panel):
    return [words for words in shown_words(panel) if words.startswith("Remark")]


def test_that_three_lines_of_a_run_are_shown_and_the_others_on_request(qtbot):
    panel = panel_of(qtbot, 5)
    assert remarks_in(panel) == ["Remark 0.", "Remark 1.", "Remark 2."]
    (more,) = panel.findChildren(QPushButton)
    assert more.text() == "2 more"
    more.click()
    assert len(remarks_in(panel)) == 5
    assert more.text() == "Show fewer"
    more.click()
    assert len(remarks_in(panel)) == 3


def test_that_three_lines_need_no_button(qtbot):
    panel = panel_of(qtbot, 3)
    assert len(remarks_in(panel)) == 3
    assert panel.findChildren(QPushButton) == []
