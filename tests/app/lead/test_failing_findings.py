"""A finding with a fault in it says so in its place; the station and its other panels stay."""

import sys

import pytest
from lead_pages import shown_words

from app.background.jobs import attempt
from app.lead.agreement.judging import judge
from app.lead.agreement.transfers import Transfers
from ratings.findings import agreement as agreement_module
from ratings.findings import measured_study
from ratings.reports import figure_words


@pytest.fixture
def logged(monkeypatch):
    """Defects that reached the hook."""
    told = []
    monkeypatch.setattr(sys, "excepthook", lambda _kind, defect, _trace: told.append(str(defect)))
    return told


def fail_on(monkeypatch, attribute):
    whole = agreement_module._block

    def block(numbered, rows, number, *rest):
        if numbered.attributes[number] == attribute:
            raise ZeroDivisionError(f"a fault in {attribute}")
        return whole(numbered, rows, number, *rest)

    monkeypatch.setattr(agreement_module, "_block", block)


def test_that_one_failing_attribute_leaves_the_others_on_the_page(
    open_screen, study, logged, monkeypatch
):
    fail_on(monkeypatch, "rumble")
    screen = open_screen(study)
    words = shown_words(screen)
    assert "The panel agrees on boom." in words
    assert any(
        "Rumble could not be worked out: a fault of the program, written to its log." in line
        for line in words
    )
    # Once together and once for itself are two places of the same fault; anew, it is told no more.
    before = len(logged)
    assert set(logged) == {"a fault in rumble"}
    judge(study, lambda *_: None)
    assert len(logged) == before


def test_that_a_failing_panel_says_so_and_the_others_stay(open_screen, study, logged, monkeypatch):
    def broken(_block):
        raise RuntimeError("a fault in the table of evaluators")

    monkeypatch.setattr("app.lead.agreement.panels.without_flagged_words", broken)
    screen = open_screen(study)
    fitness = screen.agreement_page.panels[3]
    said = shown_words(fitness)
    assert any("This could not be shown: a fault of the program" in line for line in said)
    assert not fitness._answer.isVisible()
    assert screen.agreement_page.panels[0].plot.isVisible()
    assert logged == ["a fault in the table of evaluators"]
    monkeypatch.setattr(
        "app.lead.agreement.panels.without_flagged_words", figure_words.without_flagged_words
    )
    screen.agreement_page.show_results()
    assert fitness._answer.isVisible()


def test_that_the_report_names_what_could_not_be_worked_out(
    qtbot, study, tmp_path, logged, monkeypatch
):
    fail_on(monkeypatch, "boom")
    judged = judge(study, lambda *_: None)
    transfers = Transfers(study)
    with qtbot.waitSignal(transfers.told, timeout=10_000):
        transfers.save_page(judged, tmp_path / "page.html")
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "Boom could not be worked out: a fault of the program" in page
    assert "Rumble" in page


def test_that_recordings_stay_where_the_comparison_fails(study, logged, monkeypatch):
    from ratings.storage.lead_desk import LeadDesk
    from ratings.storage.recording_desk import RecordingDesk

    def broken(*_):
        raise FloatingPointError("a fault in a figure")

    monkeypatch.setattr(measured_study, "measured", broken)
    desk = LeadDesk(study)
    how = (desk.control_code(), desk.codes(), attempt)
    found = measured_study.measured_study(RecordingDesk(study), *how)
    assert found.has_failed
    assert found.runs
    assert found.found.findings == ()
    assert logged == ["a fault in a figure"]
