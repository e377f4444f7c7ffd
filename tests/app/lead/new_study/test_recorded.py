"""How a new study was recorded, read and shown on its panel."""

from dataclasses import replace

import numpy as np
import pytest
from draft_pages import LEFT
from drafts import write_channels, write_tone, write_trace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel
from studies import raw_database

from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.storage.blind_study import StudyFolder


@pytest.fixture
def begun(begin, tmp_path):
    """A named study of two recordings of four channels."""
    names = ("maple_coarse_80.wav", "birch_coarse_80.wav")
    return begin([write_channels(tmp_path / name, 4, n) for n, name in enumerate(names)])


@pytest.fixture
def page(show_page, begun):
    return show_page(begun)


def shown(page):
    return [label.text() for label in page.recorded.findChildren(QLabel) if label.isVisible()]


def makes(qtbot, presenter):
    """Make the study and return its folder."""
    qtbot.waitUntil(lambda: presenter.shortcoming() is None)
    with qtbot.waitSignal(presenter.study_made, timeout=20_000) as made:
        presenter.make()
    return made.args[0]


def asked(folder, question):
    connection = raw_database(StudyFolder(folder))
    rows = connection.execute(question).fetchall()
    connection.close()
    return rows


def test_that_a_tone_that_is_none_keeps_the_study_from_being_made(qtbot, begun, tmp_path):
    noise = write_channels(tmp_path / "noise.wav", 4, 3)
    begun.change_recorded(HowRecorded(calibration=CalibrationDraft("tones", tone_before=noise)))
    qtbot.waitUntil(lambda: begun.heading() != "The tone is being read.")
    assert begun.heading() == "There is no tone of 2 s or more on channel 1 of 'noise.wav'."
    write_tone(noise, [0.05] * 4)
    begun.change_recorded(begun.draft.recorded)
    qtbot.waitUntil(lambda: begun.shortcoming() is None)


def test_that_dropped_traces_go_to_the_recordings_of_their_names(qtbot, begun, tmp_path):
    traces = [write_trace(tmp_path / f"{n}_coarse_80.csv") for n in ("maple", "birch")]
    begun.put_files(traces)
    assert len(begun.draft.files) == 2
    folder = makes(qtbot, begun)
    remarks = [remark for (remark,) in asked(folder, "SELECT remarks FROM clip_source")]
    assert all("window by speed: within 1 km/h of 80 km/h" in remark for remark in remarks)


def test_that_one_file_chosen_as_equaliser_and_as_speed_trace_is_told_for_what_it_is_not(
    qtbot, begun, tmp_path
):
    trace = write_trace(tmp_path / "maple_coarse_80.csv")
    begun.change_recorded(HowRecorded(speeds=(trace,)))
    qtbot.waitUntil(lambda: begun.shortcoming() is None)
    begun.change_recorded(HowRecorded(equaliser=trace, speeds=(trace,)))
    qtbot.waitUntil(lambda: "equaliser 'maple_coarse_80.csv'" in begun.heading())


def test_that_the_panel_stands_in_place_of_the_grid_until_it_is_done(qtbot, page):
    qtbot.mouseClick(page.fields.recorded, LEFT)
    assert page.recorded.isVisible()
    assert not page.grid.isVisible()
    assert QApplication.focusWidget() is page.recorded.left
    qtbot.mouseClick(page.recorded.done, LEFT)
    assert page.grid.isVisible()
    qtbot.mouseClick(page.fields.recorded, LEFT)
    qtbot.keyClick(page.recorded.left, Qt.Key.Key_Escape)
    assert page.grid.isVisible()


def test_that_ears_are_chosen_with_the_keys(qtbot, page):
    qtbot.mouseClick(page.fields.recorded, LEFT)
    left = page.recorded.left
    assert [left.itemText(n) for n in range(left.count())] == [
        "channel 1",
        "channel 2",
        "channel 3",
        "channel 4",
    ]
    for _ in range(2):
        qtbot.keyClick(left, Qt.Key.Key_Down)
    qtbot.keyClick(page.recorded.right, Qt.Key.Key_Down)
    assert page.presenter.draft.recorded.ears == (2,)
    assert "Channel 3 in both ears." in shown(page)
    assert page.fields.recorded.accessibleDescription() == "ear 3, level unknown"


def test_that_level_equaliser_and_speed_are_chosen_on_the_panel(qtbot, page, dialogs, tmp_path):
    qtbot.mouseClick(page.fields.recorded, LEFT)
    panel, presenter = page.recorded, page.presenter
    panel.level.ways["tones"].click()
    dialogs.path = write_tone(tmp_path / "tone.wav", [0.05] * 4)
    qtbot.mouseClick(panel.level.before, LEFT)
    dialogs.path = tmp_path / "phones.csv"
    np.savetxt(dialogs.path, np.hanning(9))
    qtbot.mouseClick(panel.equaliser, LEFT)
    dialogs.traces = [write_trace(tmp_path / "maple_coarse_80.csv")]
    qtbot.mouseClick(panel.speed, LEFT)
    qtbot.waitUntil(lambda: presenter.shortcoming() is None)
    words = shown(page)
    assert "20.05 Pa per full scale: tone of 94 dB, before only." in words
    assert "9 taps at the rate of the clips, for all clips alike." in words
    assert "Known for 1 of 2 recordings." in words
    qtbot.mouseClick(panel.no_equaliser, LEFT)
    qtbot.mouseClick(panel.no_speed, LEFT)
    assert presenter.draft.recorded == replace(presenter.draft.recorded, equaliser=None, speeds=())
    dialogs.path = None
    qtbot.mouseClick(panel.equaliser, LEFT)
    assert presenter.draft.recorded.equaliser is None
