import pytest
from lead_pages import shown_words
from studies import noon_today, small_study

from app.lead.lead_screen import RAIL_WIDTH
from app.lead.panel.page import ExposurePanel, PanelPage
from app.lead.panel.presenter import PanelPresenter
from app.parts.sheet import SheetScroll
from ratings.errors import StudyError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


@pytest.fixture
def page(qtbot, study):
    presenter = PanelPresenter(study)
    page = PanelPage(presenter)
    presenter.setParent(page)
    page.problems = []
    presenter.problem_raised.connect(page.problems.append)
    qtbot.addWidget(page)
    return page


def test_that_what_was_played_is_shown_when_the_page_is(qtbot, study, page):
    desk = ListeningDesk(study, session_seats(study)[1].session_id, noon_today)
    desk.note_exposure(60.0, 85.0)
    page.show()
    # Labels added to a layout come into sight with the next turn of the event loop.
    qtbot.waitUntil(lambda: "E2" in shown_words(page))
    words = shown_words(page)
    assert words.count("1 min") == 2
    assert words.count("85 dB(A)") == 2
    assert "Nobody has reached half of a dose, neither of a day's nor of a week's." in words


def test_that_it_is_read_anew_while_in_sight_only(qtbot, study, page):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, noon_today)
    page.show()
    assert "Nobody has listened in the last 7 days." in shown_words(page)
    desk.note_exposure(120.0, None)
    page._presenter.poll._timer.timeout.emit()
    qtbot.waitUntil(lambda: "2 min" in shown_words(page))
    assert page._presenter.poll._timer.isActive()
    page.hide()
    assert not page._presenter.poll._timer.isActive()


def test_that_a_full_dose_is_said_at_the_top_of_the_page(qtbot, study, page):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, noon_today)
    blind = (
        "Each seat hears the same pairs in an order of its own, blind. With 1 comparison an "
        "evaluator may notice the null pair and the repeat; 6 or more hide them."
    )
    page.show()
    assert blind in shown_words(page)
    desk.note_exposure(29.0, 115.0)
    page._presenter.poll.look()
    said = "E1 has reached a full day's dose today: let them rest until tomorrow."
    assert shown_words(page).count(said) == 2
    assert blind not in shown_words(page)


def test_that_the_figures_fit_beside_the_rail_in_the_smallest_window(qtbot, study, page):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, noon_today)
    for seconds, level in ((36000.0, 100.0), (36000.0, None)):
        desk.note_exposure(seconds, level)
    page.resize(960 - RAIL_WIDTH, 540)
    page.show()
    panel, sheet = page.findChild(ExposurePanel), page.findChild(SheetScroll)
    qtbot.waitUntil(lambda: "in 10 h" in " ".join(shown_words(page)))
    qtbot.waitUntil(lambda: panel.width() <= sheet.viewport().width())
    assert panel.minimumSizeHint().width() <= sheet.viewport().width()


def test_that_an_unreadable_study_is_told_once(page, monkeypatch):
    def refuse(_desk):
        raise StudyError("The study cannot be read.", "Wait a moment.")

    monkeypatch.setattr(LeadDesk, "exposure_today", refuse)
    page.show()
    page._presenter.poll.look()
    assert [p.what_happened for p in page.problems] == ["The study cannot be read."]
    monkeypatch.undo()
    page._presenter.poll.look()
    assert "Nobody has listened in the last 7 days." in shown_words(page)


def test_that_six_days_ago_is_in_the_week_and_seven_is_not(study):
    from datetime import UTC, datetime, timedelta

    noon = datetime(2031, 7, 31, 12, 0, tzinfo=UTC)
    for days_ago, seconds in ((0, 1.0), (6, 2.0), (7, 4.0)):
        clock_time = noon - timedelta(days=days_ago)
        desk = ListeningDesk(study, session_seats(study)[0].session_id, lambda t=clock_time: t)
        desk.note_exposure(seconds, 70.0)
    lead = LeadDesk(study, lambda: noon)
    assert [p.seconds for p in lead.exposure_today()["E1"]] == [1.0]
    assert [p.seconds for p in lead.exposure_of_days(7)["E1"]] == [2.0, 1.0]
    assert lead.exposure_of_days(1) == lead.exposure_today()
