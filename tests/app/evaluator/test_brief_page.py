import dataclasses

import pytest
from brief_player import BriefPlayer
from PySide6.QtCore import QSettings, Qt, QThreadPool
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QLabel, QPushButton
from studies import noon_today, small_plan, small_study

from app.evaluator.brief_page import BriefPage
from app.evaluator.brief_presenter import BriefPresenter
from app.parts.buttons import QuietButton
from app.parts.keys_card import KeysCard
from app.parts.message_bar import MessageBar
from app.parts.sheet import SheetScroll
from app.parts.theme import apply_theme
from app.settings import Settings
from ratings.errors import PlaybackError
from ratings.intake.making import make_study
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.attributes import DEFAULT_ATTRIBUTES


@pytest.fixture
def settings(tmp_path):
    return Settings(QSettings(str(tmp_path / "s.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def page_of(qtbot, settings):
    def make(study, player):
        desk = ListeningDesk(study, session_seats(study)[0].session_id)
        page = BriefPage(BriefPresenter(desk, player, settings))
        qtbot.addWidget(page)
        page.show()
        return page

    return make


def words(page):
    return [label.text() for label in page.findChildren(QLabel)]


def test_that_every_attribute_is_shown_with_its_card(tmp_path, page_of):
    page = page_of(small_study(tmp_path, attributes=DEFAULT_ATTRIBUTES), BriefPlayer())
    for attribute in DEFAULT_ATTRIBUTES:
        assert attribute.name in words(page)
    assert "pressure on the ears, 20-100 Hz" in words(page)
    assert "falls with speed, no peaks; in a coast-down only" in words(page)


def test_that_a_chosen_device_is_used_and_remembered(tmp_path, page_of, settings):
    player = BriefPlayer()
    page = page_of(small_study(tmp_path), player)
    box = page.findChild(QComboBox)
    assert [box.itemText(i) for i in range(box.count())][1:] == ["headphones", "monitor"]
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Down)
    assert player.used == [None, "headphones"]
    assert settings.device_name == "headphones"


def test_that_a_remembered_device_that_is_away_stays_chosen(tmp_path, page_of, settings):
    settings.device_name = "gone away"
    player = BriefPlayer()
    page = page_of(small_study(tmp_path), player)
    assert page.findChild(QComboBox).currentText() == "gone away (not connected)"
    assert player.used == ["gone away"]


@pytest.fixture
def calibrated_study(tmp_path):
    plan = small_plan(tmp_path / "in")
    recordings = tuple(dataclasses.replace(r, pa_per_full_scale=2.0) for r in plan.recordings)
    study = make_study(tmp_path / "cal", dataclasses.replace(plan, recordings=recordings))
    yield study
    QThreadPool.globalInstance().waitForDone()
    study.close()


def button(page, text):
    return next(b for b in page.findChildren(QPushButton) if b.text() == text)


def press(page, text):
    QTest.mouseClick(button(page, text), Qt.MouseButton.LeftButton)


def test_that_the_level_is_the_recorded_one_only_after_the_tone_was_checked(
    calibrated_study, page_of, settings
):
    player = BriefPlayer()
    page = page_of(calibrated_study, player)
    unknown = "same gain for both sides, 20 dB below full output; true level unknown."
    assert f"The output is not calibrated: {unknown}" in words(page)
    field = page.findChild(QDoubleSpinBox)
    assert not field.isEnabled()
    press(page, "Change")
    QTest.keyClicks(field, "117")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert f"The output's level is not checked yet: {unknown}" in words(page)
    assert not button(page, "It has this level").isEnabled()
    press(page, "Play the tone")
    player.hear("A", 1.0)
    player.moved.emit()
    press(page, "It has this level")
    assert "At recorded level." in words(page)
    assert not player.is_playing
    assert settings.full_scale_sine_db("ALSA: default") == 117.0


@pytest.mark.parametrize("typed", ["50", "1000", "-5", "79.9", "135.1"])
def test_that_every_level_that_cannot_be_gets_the_same_sentence(calibrated_study, page_of, typed):
    page = page_of(calibrated_study, BriefPlayer())
    press(page, "Change")
    field = page.findChild(QDoubleSpinBox)
    QTest.keyClicks(field, typed)
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert field.refusal.startswith(f"{typed} dB at the ear is not what headphones give")
    assert "80 to 135 dB are possible." in field.refusal
    # Said in a line of its own, over nothing.
    assert field.line.isVisible()
    assert page._presenter.level_db is None


def test_that_escape_gives_up_a_typed_level_and_stays(calibrated_study, page_of, settings, qtbot):
    settings.set_full_scale_sine_db("ALSA: default", 104.0)
    page = page_of(calibrated_study, BriefPlayer())
    field = page.findChild(QDoubleSpinBox)
    for typed in ("95.5", "4000"):
        press(page, "Change")
        QTest.keyClicks(field, typed)
        with qtbot.assertNotEmitted(page.left):
            QTest.keyClick(field, Qt.Key.Key_Escape)
        assert field.value() == 104.0
        assert field.text().startswith("104.0")
        assert not field.isEnabled()
        assert field.refusal == ""
    assert settings.full_scale_sine_db("ALSA: default") == 104.0
    with qtbot.waitSignal(page.left):
        QTest.keyClick(page.focusWidget(), Qt.Key.Key_Escape)


@pytest.mark.parametrize("way", ["escape", "button"])
def test_that_a_brief_opened_from_a_pair_leads_back_to_it(tmp_path, settings, qtbot, way):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    page = BriefPage(BriefPresenter(desk, BriefPlayer(), settings), is_from_pair=True)
    qtbot.addWidget(page)
    page.show()
    assert button(page, "Go on").isVisible()
    with qtbot.waitSignal(page.begun), qtbot.assertNotEmitted(page.left):
        if way == "escape":
            QTest.keyClick(page, Qt.Key.Key_Escape)
        else:
            back = next(b for b in page.findChildren(QuietButton) if b.text() == "Back to the pair")
            QTest.mouseClick(back, Qt.MouseButton.LeftButton)


def test_that_the_brief_of_all_attributes_does_not_scroll_at_the_usual_size(
    tmp_path, page_of, qapp, qtbot
):
    apply_theme(qapp, "light")
    page = page_of(small_study(tmp_path, attributes=DEFAULT_ATTRIBUTES), BriefPlayer())
    page.resize(1280, 720)
    qtbot.waitExposed(page)
    scroll = page.findChild(SheetScroll)
    assert scroll.verticalScrollBar().maximum() == 0
    # No Tab stop without a frame that shows it.
    assert scroll.focusPolicy() == Qt.FocusPolicy.NoFocus


def test_that_the_question_mark_shows_the_keys_of_the_brief(tmp_path, page_of, qtbot):
    page = page_of(small_study(tmp_path), BriefPlayer())
    QTest.keyClicks(page, "?")
    card = page.findChild(KeysCard)
    assert card.isVisible()
    with qtbot.assertNotEmitted(page.left):
        QTest.keyClick(card, Qt.Key.Key_Escape)
    assert not card.isVisible()


def test_that_50_db_typed_is_told_in_the_brief(calibrated_study, page_of, settings):
    page = page_of(calibrated_study, BriefPlayer())
    press(page, "Change")
    field = page.findChild(QDoubleSpinBox)
    QTest.keyClicks(field, "50")
    QTest.keyClick(field, Qt.Key.Key_Return)
    said = " ".join(text for text in words(page) if text)
    assert "50 dB at the ear is not what headphones give for a full-scale sine." in said
    assert said.count("80 to 135 dB are possible.") == 1
    assert "is taken here" not in said
    assert settings.full_scale_sine_db("ALSA: default") is None


def test_that_uncalibrated_recordings_are_never_called_at_recorded_level(
    tmp_path, page_of, settings
):
    settings.set_full_scale_sine_db("ALSA: default", 117.0)
    page = page_of(small_study(tmp_path), BriefPlayer())
    said = (
        "The recordings are not calibrated: same gain for both sides, 20 dB below full output; "
        "true level unknown."
    )
    assert said in words(page)
    assert not button(page, "Play the tone").isVisible()


def test_that_a_missing_device_is_told_and_does_not_hold_the_evaluator_up(tmp_path, page_of, qtbot):
    player = BriefPlayer()
    player.trouble = PlaybackError("No sound device was found.", "Plug one in.")
    page = page_of(small_study(tmp_path), player)
    assert "No sound device was found." in page.findChild(MessageBar).accessibleName()
    qtbot.waitUntil(lambda: button(page, "Start listening").isEnabled())
    with qtbot.waitSignal(page.begun):
        press(page, "Start listening")
    assert player.is_held


def test_that_the_hearing_caution_is_there(tmp_path, page_of):
    page = page_of(small_study(tmp_path), BriefPlayer())
    assert any("Set the volume low" in text and "site" in text for text in words(page))


def test_that_another_device_starts_as_not_measured(tmp_path, page_of, settings):
    settings.device_name = "headphones"
    settings.set_full_scale_sine_db("ALSA: headphones", 104.0)
    page = page_of(small_study(tmp_path), BriefPlayer())
    field = page.findChild(QDoubleSpinBox)
    assert field.value() == 104.0
    box = page.findChild(QComboBox)
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.currentText() == "monitor"
    assert field.text() == "not measured"
    assert settings.full_scale_sine_db("ALSA: headphones") == 104.0


def test_that_markup_in_an_attribute_is_shown_as_it_is_written(tmp_path, page_of):
    from ratings.study.attributes import Attribute

    odd = Attribute("odd", "<h1>odd</h1>", "<img src=file:///x>")
    page = page_of(small_study(tmp_path, attributes=(odd,)), BriefPlayer())
    label = next(w for w in page.findChildren(QLabel) if w.text() == "<h1>odd</h1>")
    assert label.textFormat() == Qt.TextFormat.PlainText


def test_that_the_brief_says_what_was_played_today_and_what_is_to_come(tmp_path, page_of):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, noon_today)
    desk.note_exposure(1500.0, None)
    said = " ".join(words(page_of(study, BriefPlayer())))
    assert "Today: 25 min played; level not known, so no dose." in said
    assert "more, at a level that is not known." in said


def test_that_a_checked_level_gives_the_dose_of_the_session(calibrated_study, page_of, qtbot):
    player = BriefPlayer()
    page = page_of(calibrated_study, player)
    qtbot.waitUntil(lambda: button(page, "Start listening").isEnabled())
    assert "at the level of this session" not in " ".join(words(page))
    page.findChild(QDoubleSpinBox).setValue(117.0)
    press(page, "Play the tone")
    player.hear("A", 1.0)
    player.moved.emit()
    press(page, "It has this level")
    assert "more at the level of this session," in " ".join(words(page))


def test_that_clips_too_loud_for_the_output_are_lowered_alike_by_one_press(
    calibrated_study, page_of, qtbot
):
    player = BriefPlayer()
    page = page_of(calibrated_study, player)
    qtbot.waitUntil(lambda: button(page, "Start listening").isEnabled())
    # Full scale of the clips is 100 dB, that of the output 3.01 dB above the sine's 80.
    page.findChild(QDoubleSpinBox).setValue(80.0)
    press(page, "Play the tone")
    player.hear("A", 1.0)
    player.moved.emit()
    press(page, "It has this level")
    assert not button(page, "Start listening").isEnabled()
    bar = page.findChild(MessageBar)
    assert bar.accessibleName().startswith("At the recorded level clips would be too loud")
    lower = next(b for b in bar.findChildren(QPushButton) if b.text().startswith("Play all clips"))
    lowered_db = lower.text().split()[3]
    # The button that was pressed is gone; the keys are at the step that is offered.
    assert page.focusWidget() is lower
    QTest.keyClick(lower, Qt.Key.Key_Space)
    assert page.focusWidget() is button(page, "Start listening")
    assert f"{lowered_db} dB below the recorded level." in words(page)
    assert button(page, "Start listening").isEnabled()
    assert not bar.isVisible()
