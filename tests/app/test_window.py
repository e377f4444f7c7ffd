import os
import shutil
import subprocess
import sys
import tempfile
import threading
from dataclasses import replace

import pytest
from PySide6.QtCore import QSettings, QStandardPaths, Qt, QThreadPool
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLabel
from studies import small_study

from app import opening
from app.doors_page import Door
from app.evaluator.seats_page import SeatsPage
from app.lead.lead_screen import LeadScreen
from app.main import hook_defects
from app.parts.asking import Question
from app.parts.buttons import PrimaryButton
from app.parts.theme import apply_theme, current_theme
from app.settings import Settings
from app.window import MainWindow
from ratings.storage.blind_study import BlindStudy


@pytest.fixture
def settings(tmp_path):
    return Settings(QSettings(str(tmp_path / "s.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def window(qtbot, qapp, settings, tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path / "studies")
    apply_theme(qapp, "light")
    window = MainWindow(settings)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    yield window
    window.close()


def door(window, who):
    return next(d for d in window.doors.findChildren(Door) if d.text() == who)


def test_that_the_doors_stay_shut_until_a_study_is_open(window, qtbot, tmp_path, settings):
    assert not door(window, "Evaluate").isEnabled()
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=10000)
    assert window.windowTitle() == "Alder wagon, week 31 - Twinset"
    assert settings.last_study == str(study.folder.path)
    assert (
        "2 not begun, 0 under way; 3 pairs each."
        in door(window, "Evaluate").accessibleDescription()
    )
    assert "0 of 2 evaluators have finished." in door(window, "Lead").accessibleDescription()


def test_that_the_doors_name_the_study_that_is_being_opened_at_once(window, tmp_path, qtbot):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    assert "Opening study ..." in [line.text() for line in window.doors.findChildren(QLabel)]
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=10000)


def test_that_a_study_that_cannot_be_opened_is_told_and_the_open_one_stays(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=10000)
    window.open(tmp_path / "nowhere")
    qtbot.waitUntil(window.doors.messages.isVisible, timeout=10000)
    assert "no study folder nowhere" in window.doors.messages.accessibleName()
    assert door(window, "Evaluate").isEnabled()


def test_that_without_the_lead_s_folder_one_listens_and_the_lead_s_door_says_why(
    window, qtbot, tmp_path
):
    study = small_study(tmp_path)
    study.close()
    study.folder.lead.rename(tmp_path / "elsewhere")
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=10000)
    assert not window.doors.messages.isVisible()
    window.lead.show_desk()
    assert "missing or closed to you" in window.doors.messages.accessibleName()
    window.evaluator.show_seats()
    assert isinstance(window.screen_in_use, SeatsPage)


def test_that_a_seat_is_opened_without_anything_that_identifies(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=10000)
    window.evaluator.show_seats()
    assert type(window.study) is BlindStudy
    assert window.lead.study is None


def test_that_a_study_without_its_sound_opens_and_what_is_missing_is_told(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    shutil.rmtree(study.folder.clips)
    shutil.rmtree(study.folder.recordings)
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Lead").isEnabled, timeout=10000)
    assert window.doors.messages.isVisible()
    assert "misses clip" in window.doors.messages.accessibleName()
    assert "Scores are safe" in window.doors.messages.accessibleName()


@pytest.mark.slow
def test_that_the_sample_study_opens_at_the_first_start(window, qtbot, tmp_path):
    window.open(None)
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=20000)
    assert (tmp_path / "studies" / "Alder wagon (sample)" / "study.sqlite").is_file()
    assert "5 of 7 evaluators have finished." in door(window, "Lead").accessibleDescription()


def test_that_evaluate_leads_to_the_seats_and_back(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    evaluate = door(window, "Evaluate")
    qtbot.waitUntil(evaluate.isEnabled, timeout=10000)
    QTest.keyClick(evaluate, Qt.Key.Key_Space)
    seats = window.findChild(SeatsPage)
    assert seats.isVisible()
    back = next(b for b in seats.findChildren(QAbstractButton) if b.text() == "Back to start")
    QTest.mouseClick(back, Qt.MouseButton.LeftButton)
    assert window.doors.isVisible()


def test_that_chosen_colours_are_worn_at_once_and_remembered(window, settings):
    window.doors.theme_chosen.emit("dark")
    assert current_theme().name == "dark"
    assert settings.theme_mode == "dark"
    window.doors.theme_chosen.emit("light")
    assert current_theme().name == "light"


def test_that_a_defect_is_kept_told_and_the_window_stays(window, qtbot, tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.setattr(threading, "excepthook", threading.excepthook)
    monkeypatch.setattr(QStandardPaths, "writableLocation", lambda _kind: str(tmp_path / "data"))
    log = hook_defects(window)
    sys.excepthook(ZeroDivisionError, ZeroDivisionError("made for this test"), None)
    qtbot.waitUntil(window.doors.messages.isVisible, timeout=5000)
    assert "scores given so far are kept" in window.doors.messages.accessibleName()
    assert "made for this test" in log.read_text(encoding="utf-8")


def test_that_a_defect_is_told_in_place_and_the_desk_stays_open(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Lead").isEnabled, timeout=10000)
    window.lead.show_desk()
    desk = window.screen_in_use
    desk.rail.choose("panel")
    window.tell_defect("defects.log")
    assert window.screen_in_use is desk
    assert desk.panel_page.isVisible()
    assert "scores given so far are kept" in desk.messages.accessibleName()
    # One that is raised whenever a message is drawn is not told without end.
    desk.messages.tell = lambda *_: pytest.fail("told again")
    window.tell_defect("defects.log")


def test_that_closing_asks_nothing_about_a_draft_that_is_kept(window, qtbot, settings):
    window.lead.show_new_study()
    draft = window.lead.new_study.draft
    window.lead.new_study.change(replace(draft, vehicle="Alder wagon"))
    window.close()
    assert not window.isVisible()
    again = MainWindow(settings)
    qtbot.addWidget(again)
    again.lead.show_new_study()
    assert again.screen_in_use.fields.vehicle.text() == "Alder wagon"
    again.close()


def test_that_closing_asks_about_a_draft_that_cannot_be_kept(window, qtbot, tmp_path, monkeypatch):
    (tmp_path / "in the way").write_text("no folder")
    place = str(tmp_path / "in the way")
    monkeypatch.setattr(QStandardPaths, "writableLocation", lambda _kind: place)
    window.lead.show_new_study()
    draft = window.lead.new_study.draft
    window.lead.new_study.change(replace(draft, vehicle="Alder wagon"))
    window.close()
    assert window.isVisible()
    question = window.findChild(Question)
    assert "is being prepared" in question.accessibleDescription()
    QTest.keyClick(question, Qt.Key.Key_Escape)
    assert window.isVisible()
    assert window.lead.new_study.draft.vehicle == "Alder wagon"
    qtbot.waitUntil(lambda: window.findChild(Question) is None)
    window.close()
    QTest.mouseClick(window.findChild(Question).go, Qt.MouseButton.LeftButton)
    assert not window.isVisible()


def test_that_closing_stops_what_the_lead_has_under_way(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Lead").isEnabled, timeout=10000)
    window.lead.show_desk()
    measuring = window.screen_in_use.recordings.presenter.measuring
    begun, may_end = threading.Event(), threading.Event()
    steps = []

    def measure(_desk, _number, progress):
        begun.set()
        may_end.wait(20)
        for step in range(3):
            progress(step / 3, "")
            steps.append(step)

    measuring._measure_one = measure
    measuring.measure(window.screen_in_use.recordings.presenter.desk.runs())
    assert begun.wait(10)
    window.close()
    QTest.mouseClick(window.findChild(Question).go, Qt.MouseButton.LeftButton)
    may_end.set()
    assert QThreadPool.globalInstance().waitForDone(10000)
    assert steps == []


def test_that_a_study_that_does_not_answer_keeps_nobody_waiting(
    window, qtbot, tmp_path, monkeypatch
):
    study = small_study(tmp_path)
    study.close()
    real, may_answer = opening.opened, threading.Event()

    def slow(path, progress):
        if path.name == "away":
            may_answer.wait(30)
        return real(study.folder.path, progress)

    monkeypatch.setattr(opening, "opened", slow)
    window.opening._patience.setInterval(1)
    window.open(tmp_path / "away")
    messages = window.doors.messages
    qtbot.waitUntil(messages.isVisible, timeout=10000)
    assert messages.accessibleName().startswith("away does not answer yet.")
    messages.action_asked.emit()
    assert not messages.isVisible()
    window.opening._patience.setInterval(60_000)
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Lead").isEnabled, timeout=10000)
    shown = window.study
    may_answer.set()
    assert QThreadPool.globalInstance().waitForDone(10000)
    qtbot.wait(10)
    # What comes late is put away and takes nobody's place.
    assert window.study is shown


def test_that_studies_opened_lately_stand_at_the_doors(window, qtbot, tmp_path, settings):
    study = small_study(tmp_path)
    study.close()
    gone = tmp_path / "gone"
    settings.remember_study(str(gone))
    settings.remember_study(str(study.folder.path))
    window.show_doors()
    recent = window.doors.recent
    assert [button.path for button in recent.buttons] == [study.folder.path, gone]
    qtbot.waitUntil(lambda: "not found" in recent.buttons[1].accessibleName())
    assert "not found" not in recent.buttons[0].accessibleName()
    assert recent.removers[1].accessibleName() == "remove gone from this list"
    window.activateWindow()
    recent.removers[1].setFocus()
    QTest.keyClick(recent.removers[1], Qt.Key.Key_Space)
    assert settings.recent_studies == (str(study.folder.path),)
    assert recent.removers[0].hasFocus()
    QTest.keyClick(recent.buttons[0], Qt.Key.Key_Space)
    qtbot.waitUntil(door(window, "Lead").isEnabled, timeout=10000)
    # The one that is open is not offered.
    assert not recent.isVisible()


def test_that_the_lead_is_asked_once_after_somebody_has_rated(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    lead = door(window, "Lead")
    qtbot.waitUntil(lead.isEnabled, timeout=10000)
    assert "Not for evaluators" in lead.accessibleDescription()
    window.has_rated = True
    QTest.keyClick(lead, Qt.Key.Key_Space)
    assert window.screen_in_use is None
    question = window.findChild(Question)
    assert "can tell which set is which" in question.accessibleDescription()
    QTest.keyClick(question, Qt.Key.Key_Escape)
    assert window.screen_in_use is None
    qtbot.waitUntil(lambda: window.findChild(Question) is None)
    QTest.keyClick(lead, Qt.Key.Key_Space)
    QTest.mouseClick(window.findChild(Question).go, Qt.MouseButton.LeftButton)
    assert isinstance(window.screen_in_use, LeadScreen)
    window.show_doors()
    QTest.keyClick(lead, Qt.Key.Key_Space)
    assert isinstance(window.screen_in_use, LeadScreen)


def test_that_a_home_that_cannot_be_written_to_keeps_nobody_out(
    window, qtbot, tmp_path, monkeypatch
):
    in_the_way = tmp_path / "file"
    in_the_way.write_text("no folder")
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.setattr(threading, "excepthook", threading.excepthook)
    monkeypatch.setattr(QStandardPaths, "writableLocation", lambda _kind: str(in_the_way / "x"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    log = hook_defects(window)
    sys.excepthook(ZeroDivisionError, ZeroDivisionError("made for this test"), None)
    qtbot.waitUntil(window.doors.messages.isVisible, timeout=5000)
    assert log.parent == tmp_path
    log.unlink()
    log.mkdir()
    sys.excepthook(ZeroDivisionError, ZeroDivisionError("nowhere to write it"), None)


@pytest.mark.slow
def test_that_a_thread_that_hangs_does_not_keep_the_closed_program(tmp_path):
    program = (
        "import threading, app.main, app.opening, app.window as w\n"
        "app.main.LONGEST_GOODBYE_MS = 200\n"
        "began = threading.Event()\n"
        "def hang(path, progress):\n"
        "    began.set()\n"
        "    threading.Event().wait()\n"
        "app.opening.opened = hang\n"
        "show = w.MainWindow.open\n"
        "def open_(self, path):\n"
        "    show(self, path)\n"
        "    began.wait(20)\n"
        "    self.close()\n"
        "w.MainWindow.open = open_\n"
        "raise SystemExit(app.main.run_window(None))\n"
    )
    surroundings = os.environ | {
        "QT_QPA_PLATFORM": "offscreen",
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path),
        "XDG_DATA_HOME": str(tmp_path),
    }
    done = subprocess.run(
        [sys.executable, "-c", program], env=surroundings, timeout=60, check=False
    )
    assert done.returncode == 0


def test_that_a_study_that_vanishes_is_told_at_the_doors(window, qtbot, tmp_path):
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    evaluate = door(window, "Evaluate")
    qtbot.waitUntil(evaluate.isEnabled, timeout=10000)
    window.study.close()
    shutil.rmtree(study.folder.path)
    QTest.keyClick(evaluate, Qt.Key.Key_Space)
    assert window.doors.isVisible()
    assert "study" in window.doors.messages.accessibleName()
    assert "went wrong" not in window.doors.messages.accessibleName()


def test_that_the_way_to_the_first_pair_goes_by_keys_alone(window, qtbot, tmp_path):
    from app.evaluator.brief_page import BriefPage
    from app.evaluator.session_screen import SessionScreen

    window.activateWindow()
    study = small_study(tmp_path)
    study.close()
    window.open(study.folder.path)
    qtbot.waitUntil(door(window, "Evaluate").isEnabled, timeout=10000)
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Space)
    assert window.findChild(SeatsPage).isVisible()
    # The keys begin at no seat: one's own is chosen.
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Return)
    assert window.findChild(BriefPage) is None
    choose = (Qt.Key.Key_Tab, Qt.Key.Key_Tab, Qt.Key.Key_Return)
    for key in choose:
        QTest.keyClick(window.focusWidget(), key)
    assert window.findChild(BriefPage).isVisible()
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Escape)
    for key in choose:
        QTest.keyClick(window.focusWidget(), key)
    # The clips are checked first.
    qtbot.waitUntil(lambda: isinstance(window.focusWidget(), PrimaryButton), timeout=10000)
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Return)
    assert window.findChild(SessionScreen).isVisible()
