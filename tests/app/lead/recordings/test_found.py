"""What was found on the map and among repeated runs, in the lead's screen."""

import math

import numpy as np
import pytest
from lead_pages import LEFT, shown_words
from lead_recordings import arrays, calibrate, figures, keep, study_with_runs
from PySide6.QtWidgets import QSizePolicy

from app.background.long_work import WorkState
from app.lead.lead_screen import LeadScreen
from app.lead.recordings.looks.map_panel import label_places
from ratings.findings.run_curves import LevelMap
from ratings.findings.run_lines import marked_line
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.bands import DEFAULT_BANDS
from ratings.study.figures import Remark
from ratings.study.runs import Tread

COASTING = "smooth asphalt, coast-down, 80 to 40 km/h"


@pytest.fixture
def study(tmp_path):
    study = study_with_runs(tmp_path / "s", is_measured=True)
    desk = RecordingDesk(study)
    keep(desk, desk.runs()[0], remarks=(Remark("void", "Channel 1 is clipped 14 times.", 1),))
    yield study
    study.close()


@pytest.fixture
def opened(qtbot, light):
    """Open the lead's screen on the station of recordings."""
    screens = []

    def open_(study):
        screen = LeadScreen(study, ask_path=lambda *_: None, ask_files=lambda _parent: [])
        qtbot.addWidget(screen)
        screen.resize(1280, 720)
        with qtbot.waitExposed(screen):
            screen.show()
        screen.rail.choose("recordings")
        presenter = screen.recordings.presenter
        qtbot.waitUntil(lambda: presenter.reading is not None, timeout=20000)
        screens.append(screen)
        return screen

    yield open_
    for screen in screens:
        screen.recordings.presenter.stop()


def look_at_map(qtbot, screen):
    page, presenter = screen.recordings.page, screen.recordings.presenter
    qtbot.mouseClick(page.views.buttons["map"], LEFT)
    presenter.choose_condition(COASTING)
    qtbot.waitUntil(lambda: presenter.curves is not None, timeout=20000)
    return page.looks["map"]


@pytest.mark.slow
def test_that_the_map_shows_what_was_found_and_lets_it_be_hidden(qtbot, opened, study):
    desk = RecordingDesk(study)
    run = next(run for run in desk.runs() if run.condition.manoeuvre == "coast-down")
    found = arrays(run, 0.0, 0.0, np.random.default_rng(1)) | {
        "turn_m": np.array(1.93),
        "ridge_channel": np.array(["1", "1"]),
        "ridge_order": np.array([64.0, math.nan]),
        "ridge_hz": np.array([math.nan, 210.0]),
        "ridge_turns": np.zeros(2),
        "ridge_low_km_h": np.array([40.0, 40.0]),
        "ridge_high_km_h": np.array([80.0, 80.0]),
        "ridge_height_db": np.array([6.0, 9.0]),
        "shift_channel": np.array(["1"]),
        "shift_kind": np.array(["appears"]),
        "shift_band": np.array([""]),
        "shift_km_h": np.array([60.0]),
        "shift_hz": np.array([740.0]),
        "shift_db": np.array([8.0]),
    }
    desk.keep_measurement(
        run.recording_id, figures(run, 0.0, 0.0), (), {}, found, DEFAULT_BANDS.version
    )
    for each in desk.sets():
        desk.set_tread(each.set_id, Tread("205/55R16", 70))
    screen = opened(study)
    panel = look_at_map(qtbot, screen)
    panel.runs.setCurrentIndex(panel.runs.findData(run.recording_id))
    panel.show_results()
    words = ["210 Hz", "order 64", "pattern expected, order 70"]
    assert [line.words for line in panel.found] == words
    assert panel.shifts.text() == (
        "A 740 Hz tone starts at 60 km/h (8 dB above the level just before)."
    )
    assert labels_on(panel.frame) == words
    panel.shows_found.setChecked(False)
    assert labels_on(panel.frame) == []
    panel.runs.setCurrentIndex(panel.runs.findData(run.recording_id) + 1)
    panel.show_results()
    assert (panel.found, panel.shifts.isVisible()) == ((), False)


def labels_on(frame):
    return [item.toPlainText() for item in frame._items if hasattr(item, "toPlainText")]


@pytest.mark.slow
def test_that_runs_that_do_not_repeat_are_told_among_the_remarks(qtbot, opened, study):
    desk = RecordingDesk(study)
    void = desk.runs()[0]
    first, odd = (run for run in runs_beside(desk, void) if run.recording_id != void.recording_id)
    desk.keep_measurement(
        odd.recording_id, figures(odd, 0.0, 3.0), (), {}, {}, DEFAULT_BANDS.version
    )
    screen = opened(study)
    where = f"{odd.set_code}, runs {first.run} and {odd.run}\n{odd.condition.title}"
    # Laid out after the reading, which may take a moment.
    qtbot.waitUntil(lambda: where in " ".join(shown_words(screen)), timeout=20000)
    assert "drive one more run to see which is right" in " ".join(shown_words(screen))


@pytest.mark.slow
def test_that_runs_of_unlike_levels_are_not_held_against_each_other(opened, study):
    desk = RecordingDesk(study)
    void = desk.runs()[0]
    other = next(run for run in runs_beside(desk, void) if run.recording_id != void.recording_id)
    calibrate(desk, other.recording_id, None)
    unlike = next(run for run in desk.runs() if run.recording_id == other.recording_id)
    desk.keep_measurement(
        other.recording_id, figures(unlike, 0.0, -90.0), (), {}, {}, DEFAULT_BANDS.version
    )
    assert not any("dB apart" in words for words in shown_words(opened(study)))


def runs_beside(desk, run):
    return [
        each
        for each in desk.runs()
        if (each.set_code, each.condition.title) == (run.set_code, run.condition.title)
    ]


@pytest.mark.slow
def test_that_long_words_while_measuring_leave_the_stop_button_in_the_window(opened, study):
    screen = opened(study)
    page = screen.recordings.page
    words = f"Run 12 of 118: 417, worn and patched {COASTING} on the far track, run 3"
    page.presenter.measuring.state = WorkState(0.5, words, 100.0)
    page.measuring.show_state()
    row = page.measuring
    assert row.words.text().startswith(words)
    # Words set no width of their own, or they push the button out at the right.
    assert row.words.wordWrap()
    assert row.words.sizePolicy().horizontalPolicy() == QSizePolicy.Policy.Ignored


def test_that_labels_of_neighbouring_lines_do_not_lie_on_each_other():
    rows = np.linspace(40.0, 80.0, 81)
    log_hz = np.linspace(math.log10(20), 4, 600)
    shown = LevelMap(log_hz, rows, np.zeros((rows.size, log_hz.size)), True, True)
    lines = (marked_line(202.0), marked_line(640.0, 72.0), marked_line(650.0, 72.0))
    first, second, third = label_places([line.points(shown) for line in lines], shown)
    assert second != third
    assert abs(second[1] - third[1]) > 2.0
    assert first[1] == 80.0
