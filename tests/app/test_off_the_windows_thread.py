"""No study is asked for anything on the window's thread, whichever page is shown."""

import threading
import traceback

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QPushButton
from studies import hear_both, small_study

from app import opening
from app.evaluator.brief_page import BriefPage
from app.evaluator.seats_page import SeatsPage
from app.evaluator.session_screen import SessionScreen
from app.lead.lead_screen import LeadScreen
from app.parts.theme import apply_theme
from app.settings import Settings
from app.window import MainWindow
from ratings.storage import database
from ratings.storage.listening_desk import ListeningDesk, session_seats

pytestmark = pytest.mark.real_worker


@pytest.fixture
def asked_here(monkeypatch):
    """Where a study was asked on the window's thread."""
    places, when_free = [], database.when_free

    def watched(act):
        if threading.current_thread() is threading.main_thread():
            places.append("".join(traceback.format_stack()))
        return when_free(act)

    monkeypatch.setattr(database, "when_free", watched)
    return places


@pytest.fixture
def window(qtbot, qapp, tmp_path, monkeypatch):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    for pair in desk.pairs:
        hear_both(desk, pair.pair_id)
    study.close()
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path / "studies")
    apply_theme(qapp, "light")
    window = MainWindow(Settings(QSettings(str(tmp_path / "s.ini"), QSettings.Format.IniFormat)))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.path, window.session_id = study.folder.path, desk.session_id
    yield window
    window.close()
    qtbot.waitUntil(window.isHidden)


def shown(window, qtbot, kind):
    qtbot.waitUntil(lambda: isinstance(window.screen_in_use, kind), timeout=20000)
    return window.screen_in_use


def test_that_doors_seats_brief_and_session_ask_the_worker(window, asked_here, qtbot):
    window.open(window.path)
    qtbot.waitUntil(lambda: window.study is not None and not window.opening.is_busy, timeout=20000)
    window.evaluator.show_seats()
    seats = shown(window, qtbot, SeatsPage)
    qtbot.waitUntil(
        lambda: any("Go on as" in b.accessibleName() for b in seats.findChildren(QPushButton))
    )
    window.evaluator.show_brief(window.session_id)
    brief = shown(window, qtbot, BriefPage)
    qtbot.waitUntil(lambda: window.evaluator.brief.can_begin, timeout=20000)
    brief.begun.emit()
    presenter = shown(window, qtbot, SessionScreen)._presenter
    qtbot.waitUntil(lambda: presenter.form is not None and presenter.is_idle, timeout=20000)
    for attribute in presenter.attributes:
        presenter.give(attribute.key, "A", 7.0)
        presenter.give(attribute.key, "B", 6.0)
    presenter.write_note("A", "hums")
    presenter.go_on()
    qtbot.waitUntil(lambda: presenter.is_idle and presenter.locked_count == 1, timeout=20000)
    window.screen_in_use.put_away(window.show_doors)
    qtbot.waitUntil(window.doors.isVisible, timeout=20000)
    assert asked_here == []


def test_that_the_leads_stations_ask_the_worker(window, asked_here, qtbot):
    window.open(window.path)
    qtbot.waitUntil(lambda: window.study is not None and not window.opening.is_busy, timeout=20000)
    window.lead.show_desk()
    desk = shown(window, qtbot, LeadScreen)
    for station in desk.stations:
        desk.rail.choose(station.key)
    qtbot.waitUntil(lambda: desk.presenter.judged is not None, timeout=20000)
    qtbot.waitUntil(lambda: desk.recordings.presenter.reading is not None, timeout=20000)
    desk.panel.written = "Cy"
    desk.panel.add()
    qtbot.waitUntil(lambda: len(desk.watch.seats) == 3, timeout=20000)
    assert asked_here == []
