"""The recordings page in the lead's screen, with real files and clicks."""

import csv
import math
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lead_pages import LEFT, all_words, button, shown_words
from lead_recordings import LINE_DB, keep, set_names, study_with_runs
from PySide6.QtCore import QEvent, QMimeData, QObject, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QFontMetricsF, QGuiApplication, QImage
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLineEdit, QPushButton, QWidget
from saved_pictures import assert_light_drawing, assert_light_picture, told_in_drawing
from studies import small_study, write_noise

from app.lead.lead_screen import LeadScreen
from app.lead.recordings.looks.plot_frame import DrawnCurve, PlotFrame
from app.parts.fonts import font
from app.parts.theme import LIGHT, apply_theme, current_theme
from ratings.findings.measured_axes import Axis
from ratings.intake.run_draft import CalibrationDraft, SpeedDraft
from ratings.reports.set_marks import set_marks
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.figures import Remark

STEADY = "coarse asphalt, 80 km/h"
COASTING = "smooth asphalt, coast-down, 80 to 40 km/h"
VIEWS = ("runs", "spectrum", "bands", "map", "speed", "figures")


@pytest.fixture
def study(tmp_path):
    study = study_with_runs(tmp_path / "s", is_measured=True)
    desk = RecordingDesk(study)
    void = Remark("void", "Channel 1 is clipped 14 times.", 1)
    keep(desk, desk.runs()[0], remarks=(void,))
    yield study
    study.close()


@pytest.fixture
def opened(qtbot, qapp, light):
    """Open the lead's screen on the station of recordings."""
    screens = []

    def open_(study, answers=(), files=()):
        waiting = iter(answers)
        screen = LeadScreen(
            study,
            ask_path=lambda _parent, _purpose: next(waiting),
            ask_files=lambda _parent: list(files),
        )
        qtbot.addWidget(screen)
        screen.resize(1280, 720)
        with qtbot.waitExposed(screen):
            screen.show()
        screen.activateWindow()
        screen.rail.choose("recordings")
        presenter = screen.recordings.presenter
        qtbot.waitUntil(
            lambda: presenter.reading is not None and presenter._job is None, timeout=20000
        )
        # Qt shows what a page in sight was given only with the next events.
        qapp.processEvents()
        screens.append(screen)
        return screen

    yield open_
    for screen in screens:
        screen.recordings.presenter.stop()


def look(qtbot, screen, view, condition=None):
    page, presenter = screen.recordings.page, screen.recordings.presenter
    qtbot.mouseClick(page.views.buttons[view], LEFT)
    if condition is not None:
        presenter.choose_condition(condition)
    if view in {"spectrum", "map", "speed"}:
        qtbot.waitUntil(lambda: presenter.curves is not None, timeout=20000)
    return page.looks.get(view)


@pytest.mark.slow
def test_that_the_station_stands_between_study_and_panel(opened, study):
    screen = opened(study)
    assert list(screen.rail._buttons)[:3] == ["study", "recordings", "panel"]
    assert "18 runs, 1 to check" in screen.rail._buttons["recordings"].accessibleDescription()


def test_that_the_page_is_headed_by_the_finding_and_says_what_quality_control_says(opened, study):
    screen = opened(study)
    words = shown_words(screen)
    assert any("dB quieter than the control in the cavity line" in each for each in words)
    assert "Which runs are there, and are they sound?" in words
    assert {"1 void", "void", "Channel 1 is clipped 14 times."} <= set(words)
    assert words.count("3 runs") == 6


@pytest.mark.slow
def test_that_no_name_of_a_set_and_no_file_name_is_on_the_page(qtbot, opened, study):
    screen = opened(study)
    page = screen.recordings.page
    for view in VIEWS:
        look(qtbot, screen, view, COASTING)
        said = " ".join(all_words(page._own))
        assert not any(name in said for name in LINE_DB)
        assert ".wav" not in said
    table = page.looks["figures"].table()
    assert not any(name in cell for row in table for cell in row for name in LINE_DB)


@pytest.mark.slow
@pytest.mark.parametrize("size", [(960, 540), (1280, 720), (1920, 1080)])
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_that_nothing_is_cut_off_at_the_side(qtbot, qapp, opened, study, size, theme):
    apply_theme(qapp, theme)
    screen = opened(study)
    screen.resize(*size)
    page = screen.recordings.page
    for view in VIEWS:
        look(qtbot, screen, view, COASTING)
        qtbot.wait(1)
        assert (screen.width(), screen.height()) == size
        viewport = page._scroll.viewport()
        assert page._own.width() <= viewport.width()
        for widget in page._own.findChildren(QAbstractButton):
            if widget.isVisible():
                right = widget.mapTo(page._own, QPoint(widget.width(), 0)).x()
                assert right <= page._own.width(), (view, widget.text())


def test_that_a_view_needs_no_scrolling_at_1280_by_720(qtbot, opened, study):
    screen = opened(study)
    page = screen.recordings.page
    for view in ("runs", "spectrum", "bands", "speed", "figures"):
        look(qtbot, screen, view, COASTING)
        qtbot.waitUntil(
            lambda: page._own.height() <= page._scroll.viewport().height(), timeout=2000
        )


@pytest.mark.slow
def test_that_every_control_has_a_name_and_a_touch_target(qtbot, opened, study):
    screen = opened(study)
    page = screen.recordings.page
    for view in VIEWS:
        look(qtbot, screen, view, COASTING)
        for widget in page._own.findChildren(QWidget):
            if not widget.isVisible() or widget.focusPolicy() == Qt.FocusPolicy.NoFocus:
                continue
            if isinstance(widget, QAbstractButton | QComboBox):
                name = widget.accessibleName() or getattr(widget, "text", str)()
                assert name, widget
                assert widget.height() >= 40, (view, name, widget.height())


@pytest.mark.slow
def test_that_the_spectrum_is_read_with_the_keys(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "spectrum", STEADY)
    frame = panel.frame
    frame.setFocus()
    qtbot.keyClick(frame, Qt.Key.Key_Right)
    first = panel.reading.text()
    assert first.count(" dB") == 3
    frame.read_at(math.log10(212.0))
    assert panel.reading.text().startswith("212 Hz:  ")
    levels = dict(part.split()[:2] for part in panel.reading.text()[9:].split(",  "))
    quietest = min(levels, key=lambda code: float(levels[code]))
    assert set_names(RecordingDesk(study))[quietest] == "Birch"


def test_that_third_octaves_are_read_by_their_names(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "spectrum", STEADY)
    panel.thirds.click()
    panel.frame.read_at(math.log10(205.0))
    assert panel.reading.text().startswith("third octave 200 Hz:  ")
    assert [row[0] for row in panel.table()[1:4]] == ["19.9526", "25.1189", "31.6228"]


@pytest.mark.slow
def test_that_the_axis_is_the_same_for_every_condition_and_channel(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "spectrum", STEADY)
    ranges = [panel.frame.plot.viewRange()]
    screen.recordings.presenter.choose_channel("1")
    ranges.append(panel.frame.plot.viewRange())
    look(qtbot, screen, "spectrum", COASTING)
    ranges.append(panel.frame.plot.viewRange())
    assert ranges[0] == ranges[1] == ranges[2]


def test_that_a_set_can_be_hidden_and_shown(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "spectrum", STEADY)
    control = screen.recordings.presenter.control
    qtbot.mouseClick(panel.keys.key(control), LEFT)
    assert control not in " ".join(panel.table()[0])
    qtbot.mouseClick(panel.keys.key(control), LEFT)
    assert control in " ".join(panel.table()[0])


@pytest.mark.slow
def test_that_lines_are_marked_on_the_map(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "map", COASTING)
    panel.hz.setValue(212)
    qtbot.mouseClick(panel.mark_constant, LEFT)
    panel._take_point(math.log10(738.0), 80.0)
    qtbot.mouseClick(panel.mark_order, LEFT)
    constant, order = panel.lines
    assert (constant.at(40), constant.at(80)) == (212, 212)
    assert order.at(80) == pytest.approx(738.0)
    assert order.at(40) == pytest.approx(369.0)
    assert (constant.words, order.words) == ("212 Hz", "922 Hz at 100 km/h")
    panel._read(math.log10(212.0), 60.0)
    assert panel.reading.text().startswith("212 Hz at 60.0 km/h:  ")
    qtbot.mouseClick(panel.clear_marks, LEFT)
    assert panel.lines == ()


@pytest.mark.slow
def test_that_a_steady_condition_has_a_map_over_time(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "map", STEADY)
    assert panel.frame.plot.getAxis("left").labelText == "Time in s"
    assert not panel.mark_order.isVisible()
    panel._read(math.log10(212.0), 1.0)
    assert " Hz at 0.8 s:  " in panel.reading.text()
    assert panel.table()[0][0] == "time in s"


def test_that_a_steady_condition_says_why_there_is_nothing_over_speed(qtbot, opened, study):
    screen = opened(study)
    look(qtbot, screen, "speed", STEADY)
    page = screen.recordings.page
    assert page._shelf.shown is page.unmeasured
    said = " ".join(shown_words(page.unmeasured))
    assert "This condition is driven at one speed: choose a coast-down." in said
    assert not page.unmeasured.step.isVisible()


@pytest.mark.slow
def test_that_level_over_speed_is_read_bin_by_bin(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "speed", COASTING)
    panel.frame.read_at(62.0)
    assert panel.reading.text().startswith("60 to 65 km/h:  ")
    assert panel.bands.itemText(0) == "Overall, A-weighted"
    assert panel.bands.itemText(1) == "Boom, 20-100 Hz"


def test_that_bands_tell_difference_interval_and_what_is_clear(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "bands", STEADY)
    rows = panel.bars.in_words()
    assert len(rows) == 7 * 2
    assert sum(row.startswith("Cavity line, ") for row in rows) == 2
    filled = [row.words for row in panel.bars._rows if row.is_clear]
    assert any(words.startswith("−") for words in filled)
    assert "common practice" in panel.reading.text()
    assert "bands and cavity line unweighted" in panel.bars.axis_words()


def test_that_why_a_band_has_no_number_is_read_whole(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "bands", STEADY)
    bars, (row, *_) = panel.bars, panel.bars._rows
    for words in ("in the control: line not found", "the control is not calibrated"):
        missing = replace(row, difference=None, low=None, high=None, words=words, is_clear=False)
        bars.show_rows([missing], bars._axis, "862")
        for width in (640, 1200):
            bars.resize(width, bars.height())
            assert bars.room_for_words() >= QFontMetricsF(font("body")).horizontalAdvance(words)
            assert bars.room_for_words() < width / 2


@pytest.mark.slow
def test_that_axes_of_level_name_unit_and_weighting(qtbot, opened, study):
    screen = opened(study)
    spectrum = look(qtbot, screen, "spectrum", COASTING)
    assert "dB re 20 µPa, unweighted" in spectrum.frame.plot.getAxis("left").labelText
    speed = look(qtbot, screen, "speed", COASTING)
    assert "dB re 20 µPa, A-weighted" in speed.frame.plot.getAxis("left").labelText
    speed.bands.setCurrentIndex(1)
    speed.show_results()
    assert "dB re 20 µPa, unweighted" in speed.frame.plot.getAxis("left").labelText


def test_that_figures_say_which_rows_are_compared(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "figures", STEADY)
    assert "Only these are compared: unweighted bands, cavity line level" in panel.caption.text()


@pytest.mark.slow
def test_that_figures_are_copied_for_a_spreadsheet_with_their_units(qtbot, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "figures", STEADY)
    panel.figures.setFocus()
    qtbot.keyClick(panel.figures, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    lines = QGuiApplication.clipboard().text().splitlines()
    head = lines[0].split("\t")
    assert head[2:6] == ["figure", "unit", "set", "mean"]
    rows = [dict(zip(head, line.split("\t"), strict=True)) for line in lines[1:]]
    loudness = [row for row in rows if row["figure"] == "Loudness N, diffuse field"]
    assert {row["unit"] for row in loudness} == {"sone"}
    assert len(loudness) == 3
    QGuiApplication.clipboard().clear()
    qtbot.mouseClick(panel.copy_button, LEFT)
    assert QGuiApplication.clipboard().text().splitlines() == lines


@pytest.mark.slow
@pytest.mark.parametrize("view", ["spectrum", "bands", "map", "speed", "figures"])
def test_that_a_view_is_saved_as_picture_drawing_and_table(qtbot, opened, study, tmp_path, view):
    paths = [tmp_path / f"{view}.{suffix}" for suffix in ("png", "svg", "csv")]
    screen = opened(study, paths)
    panel = look(qtbot, screen, view, COASTING)
    for save, path in zip(panel.saving.buttons, paths, strict=True):
        with qtbot.waitSignal(screen.recordings.told) as told:
            qtbot.mouseClick(save, LEFT)
        assert told.args == [f"{path.name} has been written."]
    picture = QImage(str(paths[0]))
    down = {picture.pixel(picture.width() // 2, y) for y in range(picture.height())}
    assert len(down) > 2
    rows = list(csv.reader(paths[2].read_text(encoding="utf-8").splitlines()))
    assert len(rows) > 5
    assert len({len(row) for row in rows}) == 1


class PaintWatch(QObject):
    """Keeps the themes in which widgets of a window were painted."""

    def __init__(self, window):
        super().__init__()
        self._window, self.themes = window, set()

    def eventFilter(self, watched, event):
        is_painted = event.type() == QEvent.Type.Paint and isinstance(watched, QWidget)
        if is_painted and watched.window() is self._window:
            self.themes.add(current_theme().name)
        return False


#: What the legend of each view names beside the sets; None where no sets are drawn.
LEGENDS = {
    "spectrum": [],
    "bands": ["clear, 95 % interval", "not clear"],
    "map": None,
    "speed": [],
    "figures": [],
}


@pytest.mark.slow
@pytest.mark.parametrize(("view", "legend"), LEGENDS.items())
def test_that_a_picture_from_a_dark_window_is_light_and_says_what_it_shows(
    qtbot, opened, study, tmp_path, qapp, view, legend
):
    apply_theme(qapp, "dark")
    paths = [tmp_path / "x.png", tmp_path / "x.svg"]
    screen = opened(study, paths)
    presenter = screen.recordings.presenter
    panel = look(qtbot, screen, view, STEADY if view != "speed" else COASTING)
    watch = PaintWatch(screen)
    qapp.installEventFilter(watch)
    for save in panel.saving.buttons[:2]:
        qtbot.mouseClick(save, LEFT)
    qapp.processEvents()
    qapp.removeEventFilter(watch)
    assert watch.themes == {"dark"}
    said = told_in_drawing(paths[1])
    assert panel.question in said
    assert presenter.condition.title in said
    assert "mean of the ears" in said
    # A run of the steady condition is marked void.
    void = RecordingDesk(study).runs()[0]
    assert void.condition.title == STEADY
    n = "3 runs of each set"
    if view == "map":
        n = "run 1"
    elif view != "speed":
        n = f"{void.set_code}: 2 runs"
        assert f"1 run marked void is left out: {void.set_code}" in said
    assert n in said
    assert plain(panel.sentence() or presenter.condition_line()) in said
    assert "Relates only to the sets tested." in said
    for words in () if legend is None else (*presenter.all_codes, *legend):
        assert words in said
    assert_light_picture(paths[0])
    assert_light_drawing(paths[1])


@pytest.mark.slow
def test_that_a_picture_says_which_sets_and_runs_it_leaves_out_and_that_it_is_a_part(
    qtbot, opened, study, tmp_path
):
    screen = opened(study, [tmp_path / "x.svg"])
    panel = look(qtbot, screen, "spectrum", STEADY)
    code = screen.recordings.presenter.all_codes[-1]
    qtbot.mouseClick(panel.keys.key(code), LEFT)
    panel.frame.plot.setRange(xRange=(2.0, 3.0), padding=0.0)
    made = panel.plot_copy()
    qtbot.addWidget(made)
    wanted = np.round(panel.frame.plot.getViewBox().viewRange(), 9)
    assert np.round(made.plot.getViewBox().viewRange(), 9).tolist() == wanted.tolist()
    qtbot.mouseClick(panel.saving.buttons[1], LEFT)
    said = told_in_drawing(tmp_path / "x.svg")
    assert f"Switched off: {code}. A part of the axes. 1 run marked void is left out:" in said


def plain(words):
    return " ".join(words.split())


def test_that_a_place_that_cannot_be_written_to_is_told(qtbot, opened, study, tmp_path):
    nowhere = tmp_path / "missing" / "x.csv"
    screen = opened(study, [nowhere.with_suffix(".png"), nowhere.with_suffix(".svg"), nowhere])
    panel = look(qtbot, screen, "figures", STEADY)
    for save in panel.saving.buttons:
        with qtbot.waitSignal(screen.recordings.problem_raised) as told:
            qtbot.mouseClick(save, LEFT)
        assert "cannot be written" in told.args[0].what_happened


@pytest.mark.slow
def test_that_an_empty_study_says_what_the_page_is_for_and_offers_the_first_step(
    qtbot, opened, tmp_path
):
    study = small_study(tmp_path / "none", sets=2, conditions=1)
    screen = opened(study)
    presenter, page = screen.recordings.presenter, screen.recordings.page
    # A study is made with a run of each set; one without is shown in its place.
    presenter.reading = replace(presenter.reading, runs=())
    presenter.changed.emit()
    assert "No run has been imported yet." in shown_words(screen)
    assert "What comes here?" in shown_words(screen)
    qtbot.mouseClick(page.empty.step, LEFT)
    assert "Which runs are to be imported?" in shown_words(screen)
    study.close()


def test_that_runs_are_brought_in_by_form_and_come_onto_the_page(qtbot, opened, study, tmp_path):
    files = [write_noise(tmp_path / f"take {n}.wav", 300 + n) for n in range(2)]
    screen = opened(study, files=files)
    page, bringing = screen.recordings.page, screen.recordings.bringing
    qtbot.mouseClick(button(page._own, "Import runs"), LEFT)
    qtbot.mouseClick(page.bring_page.add, LEFT)
    qtbot.waitUntil(lambda: all(draft.roles for draft in bringing.files))
    form = page.bring_page.form

    def choose_set_and_condition():
        for chooser, row in ((form.sets, 2), (form.conditions, 1)):
            chooser.setFocus()
            for _ in range(row):
                qtbot.keyClick(chooser, Qt.Key.Key_Down)

    choose_set_and_condition()
    form.settings.calibration.ways["factor"].click()
    form.settings.calibration.factor.setValue(20.0)
    form.settings.note.numbers["air_c"].setValue(18.5)
    qtbot.keyClicks(form.settings.note.remark, "calm")
    assert page.bring_page.heading.text() == "1 of 2 files ready to import."
    qtbot.mouseClick(page.bring_page.take_over, LEFT)
    bringing.choose(bringing.files[1].path)
    choose_set_and_condition()
    assert page.bring_page.heading.text() == "2 files ready to import."
    assert [draft.note.air_c for draft in bringing.files] == [18.5, 18.5]
    assert [draft.note.remark for draft in bringing.files] == ["calm", ""]
    page.bring_page.bring.setFocus()
    qtbot.mouseClick(page.bring_page.bring, LEFT)
    assert page.bring_page.stop.hasFocus()
    qtbot.waitUntil(lambda: "4 runs" in shown_words(screen) or "5 runs" in shown_words(screen))
    assert page._pages.currentWidget() is page._scroll
    # The page reads the study anew on another thread.
    qtbot.waitUntil(
        lambda: "Measure 2 runs" in [b.text() for b in page.findChildren(QPushButton)],
        timeout=20000,
    )


@pytest.mark.slow
def test_that_dropped_files_open_the_form(qtbot, opened, study, tmp_path):
    screen = opened(study)
    page = screen.recordings.page
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(write_noise(tmp_path / "dropped.wav", 310)))])
    event = QDropEvent(
        QPointF(9, 9),
        Qt.DropAction.CopyAction,
        data,
        LEFT,
        Qt.KeyboardModifier.NoModifier,
    )
    page.dropEvent(event)
    assert page._pages.currentWidget() is page.bring_page
    assert [draft.path.name for draft in page.bringing.files] == ["dropped.wav"]
    qtbot.waitUntil(lambda: page.bringing.files[0].roles != ())


@pytest.mark.slow
def test_that_bands_are_edited_and_kept(qtbot, opened, study):
    screen = opened(study)
    page = screen.recordings.page
    panel = look(qtbot, screen, "bands", STEADY)
    qtbot.mouseClick(panel.edit, LEFT)
    assert page._pages.currentWidget() is page.editor
    qtbot.mouseClick(page.editor.add, LEFT)
    name = page.editor.names[-1]
    assert isinstance(name, QLineEdit)
    qtbot.keyClicks(name, "Whine")
    with qtbot.waitSignal(screen.recordings.told) as told:
        qtbot.mouseClick(page.editor.keep, LEFT)
    assert told.args[0].startswith("Bands are now version 3.")
    qtbot.waitUntil(lambda: "Bands version 3" in page.looks["bands"].caption.text())
    assert RecordingDesk(study).band_table().bands[-1].name == "Whine"


def test_that_what_was_told_of_bands_goes_with_them_and_names_them(qtbot, opened, study):
    screen = opened(study)
    page = screen.recordings.page
    page.show_bands()
    first = page.bands.drafts[0]
    page.bands.change(0, replace(first, name="Growl", high_hz=first.low_hz))
    page.bands.keep()
    assert screen.messages.isVisible()
    assert screen.messages.accessibleName().startswith("The band Growl from ")
    page.bands.forget()
    page.editor.go_back()
    assert page._pages.currentWidget() is not page.editor
    assert not screen.messages.isVisible()


@pytest.mark.slow
@pytest.mark.parametrize("size", [(960, 540), (1280, 720)])
def test_that_the_forms_are_not_cut_off_at_the_side(qtbot, opened, study, tmp_path, size):
    screen = opened(study)
    screen.resize(*size)
    page = screen.recordings.page
    page.show_bringing()
    page.bringing.add_files([write_noise(tmp_path / "x.wav", 320)])
    qtbot.waitUntil(lambda: page.bringing.files[0].roles != ())
    for kind in ("tones", "factor"):
        page.bring_page.form.settings.calibration.ways[kind].click()
    for kind in ("file", "channel", "pulses"):
        page.bring_page.form.settings.speed.ways[kind].click()
    page.show_settings()
    # What was said before may be as long as it likes, and so may the names of files.
    words = "tone of 94 dB before and after, up to 0.09 dB apart; " * 3
    page.run_settings.kept_words = (words, words)
    name = Path(f"/{'a recording of the calibrator ' * 5}94 dB.wav")
    for presenter in (page.run_settings, page.bringing):
        draft = presenter.draft if presenter is page.run_settings else presenter.chosen
        presenter.change(
            replace(
                draft,
                calibration=CalibrationDraft("tones", tone_before=name, tone_after=name),
                speed=SpeedDraft("file", name),
            )
        )
    assert page.settings_page.form.calibration.kept.text() == words
    for form in (page.bring_page.form, page.settings_page.form):
        qtbot.wait(1)
        assert form.minimumSizeHint().width() <= form.parentWidget().width()
    assert (screen.width(), screen.height()) == size


@pytest.mark.slow
def test_that_more_is_said_of_a_run_and_it_is_measured_again(qtbot, opened, study):
    measured = []
    screen = opened(study)
    page, presenter = screen.recordings.page, screen.recordings.presenter
    presenter.measuring._measure_one = lambda _desk, number, _progress: measured.append(number)
    qtbot.mouseClick(page.describe, LEFT)
    assert page._pages.currentWidget() is page.settings_page
    said = " ".join(all_words(page.settings_page))
    assert not any(name in said for name in LINE_DB)
    qtbot.keyClick(page.settings_page.runs, Qt.Key.Key_Down)
    run = page.run_settings.run
    assert run == page.run_settings.runs[1]
    page.settings_page.form.note.numbers["air_c"].setValue(11.5)
    with qtbot.waitSignal(page.run_settings.kept):
        qtbot.mouseClick(page.settings_page.keep, LEFT)
    qtbot.waitUntil(lambda: measured == [run.recording_id])
    assert RecordingDesk(study).note(run.recording_id).air_c == 11.5
    qtbot.keyClick(page.settings_page.runs, Qt.Key.Key_Escape)
    assert page._pages.currentWidget() is page._scroll


@pytest.mark.slow
def test_that_a_real_run_is_measured_in_the_background_and_shown(qtbot, opened, tmp_path):
    study = small_study(tmp_path / "real", sets=2, conditions=1)
    screen = opened(study)
    page, presenter = screen.recordings.page, screen.recordings.presenter
    assert "No run has been measured yet." in shown_words(screen)
    with qtbot.waitSignal(screen.recordings.told, timeout=120_000) as told:
        qtbot.mouseClick(page.measure, LEFT)
    assert told.args == ["2 runs measured."]
    qtbot.waitUntil(lambda: not presenter.waiting)
    assert "One run of each set: differences cannot be told from run-to-run scatter." in (
        shown_words(screen)
    )
    panel = look(qtbot, screen, "spectrum", STEADY)
    panel.frame.read_at(math.log10(500.0))
    assert panel.reading.text().count(" dB") == 2
    assert "not calibrated" in panel.table()[0][1]
    study.close()


def test_that_a_look_without_anything_measured_says_what_comes_and_offers_to_measure(
    qtbot, opened, tmp_path
):
    study = study_with_runs(tmp_path / "unmeasured", runs=1)
    screen = opened(study)
    page, presenter = screen.recordings.page, screen.recordings.presenter
    measured = []
    presenter.measuring._measure_one = lambda _desk, number, _progress: measured.append(number)
    for view in VIEWS[1:]:
        qtbot.mouseClick(page.views.buttons[view], LEFT)
        assert page._shelf.shown is page.unmeasured
        assert "has been measured yet" in " ".join(shown_words(page.unmeasured)) or view == "speed"
    assert page.looks == {}
    count = len(presenter.waiting)
    assert page.unmeasured.step.text() == f"Measure {count} runs"
    qtbot.mouseClick(page.unmeasured.step, LEFT)
    assert presenter.view == "runs"
    qtbot.waitUntil(lambda: len(measured) == count)
    qtbot.waitUntil(lambda: presenter.measuring.state is None)
    study.close()


@pytest.mark.slow
def test_that_the_colours_follow_the_theme(qtbot, qapp, opened, study):
    screen = opened(study)
    panel = look(qtbot, screen, "spectrum", STEADY)
    light = panel.frame.grab().toImage().pixelColor(40, 10).lightness()
    apply_theme(qapp, "dark")
    dark = panel.frame.grab().toImage().pixelColor(40, 10).lightness()
    assert light > 230
    assert dark < 70


def test_that_a_plot_of_many_points_draws_no_more_than_it_has_pixels(qtbot, light):
    frame = PlotFrame("a plot")
    qtbot.addWidget(frame)
    frame.resize(900, 400)
    x = np.linspace(0.0, 1.0, 200_000)
    frame.set_axes(Axis(0, 1), Axis(-1, 1), ("x", "y"))
    frame.show_curves([DrawnCurve(set_marks(["1"], "1", LIGHT)["1"], x, np.sin(900 * x))])
    with qtbot.waitExposed(frame):
        frame.show()
    drawn = frame._items[0].curve.getData()[0]
    assert drawn.size < 20_000


def test_that_home_shows_the_whole_axes_again(qtbot, light):
    frame = PlotFrame("a plot")
    qtbot.addWidget(frame)
    frame.set_axes(Axis(0, 10), Axis(0, 100), ("x", "y"))
    with qtbot.waitExposed(frame):
        frame.show()
    frame.plot.setRange(xRange=(2, 3), yRange=(5, 6), padding=0)
    frame.setFocus()
    qtbot.keyClick(frame, Qt.Key.Key_Home)
    (low, high), _ = frame.plot.viewRange()
    assert (low, high) == pytest.approx((0, 10))


def test_that_the_keys_stay_where_measuring_began_and_where_it_ends(qtbot, opened, tmp_path):
    study = study_with_runs(tmp_path / "unmeasured", runs=1)
    screen = opened(study)
    page, presenter = screen.recordings.page, screen.recordings.presenter
    may_end = threading.Event()
    presenter.measuring._measure_one = lambda _desk, _number, _progress: may_end.wait(20)
    page.measure.setFocus()
    qtbot.waitUntil(page.measure.hasFocus)
    qtbot.keyClick(page.measure, Qt.Key.Key_Space)
    assert page.measuring.stop.hasFocus()
    may_end.set()
    # Nothing was measured, so that the step is offered again.
    qtbot.waitUntil(page.measure.hasFocus)
    study.close()


def test_that_a_coast_down_without_a_speed_says_so_instead_of_empty_axes(qtbot, opened, study):
    screen = opened(study)
    page, presenter = screen.recordings.page, screen.recordings.presenter
    look(qtbot, screen, "speed", COASTING)
    assert presenter.emptiness() == ""
    assert page._shelf.shown is page.looks["speed"]
    presenter.curves = tuple(
        replace(each, arrays={"channels": each.arrays["channels"]}) for each in presenter.curves
    )
    presenter.curves_changed.emit()
    assert page._shelf.shown is page.unmeasured
    assert f"No measured run of {COASTING} knows its speed" in presenter.emptiness()
