import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QLabel, QPushButton
from quiet_player import QuietPlayer
from studies import noon_today, small_plan, small_study

from app.evaluator.brief_page import BriefPage
from app.parts.message_bar import MessageBar
from app.playback.keeper import OutputDevice
from app.settings import Settings
from ratings.errors import PlaybackError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.making import make_study
from ratings.study.attributes import DEFAULT_ATTRIBUTES


class DevicePlayer(QuietPlayer):
    def __init__(self):
        super().__init__()
        self.names = ["headphones", "monitor"]
        self.used = []

    def devices(self):
        return [OutputDevice(name, is_default=False) for name in self.names]

    def refresh_devices(self):
        self.devices_changed.emit()

    def use_device(self, name):
        self.used.append(name)


@pytest.fixture
def settings(tmp_path):
    return Settings(QSettings(str(tmp_path / "s.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def page_of(qtbot, settings):
    def make(study, player):
        desk = ListeningDesk(study, session_seats(study)[0].session_id)
        page = BriefPage(desk, player, settings)
        qtbot.addWidget(page)
        page.show()
        return page

    return make


def words(page):
    return [label.text() for label in page.findChildren(QLabel)]


def test_that_every_attribute_is_shown_with_its_card(tmp_path, page_of):
    page = page_of(small_study(tmp_path, attributes=DEFAULT_ATTRIBUTES), DevicePlayer())
    for attribute in DEFAULT_ATTRIBUTES:
        assert attribute.name in words(page)
    assert "pressure on the ears, 20-100 Hz" in words(page)
    assert "falls with speed, no peaks; in a coast-down only" in words(page)


def test_that_a_chosen_device_is_used_and_remembered(tmp_path, page_of, settings):
    player = DevicePlayer()
    page = page_of(small_study(tmp_path), player)
    box = page.findChild(QComboBox)
    assert [box.itemText(i) for i in range(box.count())][1:] == ["headphones", "monitor"]
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Down)
    assert player.used == [None, "headphones"]
    assert settings.device_name == "headphones"


def test_that_a_remembered_device_that_is_away_stays_chosen(tmp_path, page_of, settings):
    settings.device_name = "gone away"
    player = DevicePlayer()
    page = page_of(small_study(tmp_path), player)
    assert page.findChild(QComboBox).currentText() == "gone away (not connected)"
    assert player.used == ["gone away"]


def test_that_the_level_is_level_true_only_with_both_calibrations(tmp_path, page_of, settings):
    import dataclasses

    plan = small_plan(tmp_path / "in")
    calibrated = tuple(dataclasses.replace(r, pa_per_full_scale=20.0) for r in plan.recordings)
    study = make_study(tmp_path / "cal", dataclasses.replace(plan, recordings=calibrated))
    page = page_of(study, DevicePlayer())
    assert any(text.startswith("Not level-true") for text in words(page))
    field = page.findChild(QDoubleSpinBox)
    assert not field.isEnabled()
    change = next(b for b in page.findChildren(QPushButton) if b.text() == "Change")
    QTest.mouseClick(change, Qt.MouseButton.LeftButton)
    QTest.keyClicks(field, "117")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert any(text.startswith("Level-true") for text in words(page))
    assert settings.full_scale_sine_db(None) == 117.0


def test_that_uncalibrated_recordings_are_never_called_level_true(tmp_path, page_of, settings):
    settings.set_full_scale_sine_db(None, 117.0)
    page = page_of(small_study(tmp_path), DevicePlayer())
    assert "The recordings are not calibrated: levels are equal, not true." in words(page)


def test_that_a_missing_device_is_told_and_does_not_hold_the_evaluator_up(tmp_path, page_of, qtbot):
    player = DevicePlayer()
    player.trouble = PlaybackError("No sound device was found.", "Plug one in.")
    page = page_of(small_study(tmp_path), player)
    assert "No sound device was found." in page.findChild(MessageBar).accessibleName()
    start = next(b for b in page.findChildren(QPushButton) if b.text() == "Start listening")
    with qtbot.waitSignal(page.begun):
        QTest.mouseClick(start, Qt.MouseButton.LeftButton)


def test_that_the_hearing_caution_is_there(tmp_path, page_of):
    page = page_of(small_study(tmp_path), DevicePlayer())
    assert any("Set the volume low" in text and "site" in text for text in words(page))


def test_that_another_device_starts_as_not_measured(tmp_path, page_of, settings):
    settings.device_name = "headphones"
    settings.set_full_scale_sine_db("headphones", 104.0)
    page = page_of(small_study(tmp_path), DevicePlayer())
    field = page.findChild(QDoubleSpinBox)
    assert field.value() == 104.0
    box = page.findChild(QComboBox)
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.currentText() == "monitor"
    assert field.text() == "not measured"
    assert settings.full_scale_sine_db("headphones") == 104.0


def test_that_markup_in_an_attribute_is_shown_as_it_is_written(tmp_path, page_of):
    from ratings.study.attributes import Attribute

    odd = Attribute("odd", "<h1>odd</h1>", "<img src=file:///x>")
    page = page_of(small_study(tmp_path, attributes=(odd,)), DevicePlayer())
    label = next(w for w in page.findChildren(QLabel) if w.text() == "<h1>odd</h1>")
    assert label.textFormat() == Qt.TextFormat.PlainText


def test_that_the_brief_says_what_was_played_today_and_what_is_to_come(tmp_path, page_of):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, noon_today)
    desk.note_exposure(1500.0, None)
    said = " ".join(words(page_of(study, DevicePlayer())))
    assert "Today: 25 min played; level not known, so no dose." in said
    assert "more, at a level that is not known." in said


def test_that_a_measured_level_gives_the_dose_of_the_session(tmp_path, page_of, qtbot):
    import dataclasses

    plan = small_plan(tmp_path / "in")
    calibrated = tuple(dataclasses.replace(r, pa_per_full_scale=20.0) for r in plan.recordings)
    study = make_study(tmp_path / "cal", dataclasses.replace(plan, recordings=calibrated))
    page = page_of(study, DevicePlayer())
    assert "% in all" not in " ".join(words(page))
    page.findChild(QDoubleSpinBox).setValue(117.0)
    # The clips are read and measured in the background first.
    qtbot.waitUntil(lambda: "more at the level of this session:" in " ".join(words(page)))
