"""The way from a pair to the level and back, in the real window."""

import dataclasses

import pytest
from pages import OpenedWindow
from PySide6.QtCore import Qt, QThreadPool
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton
from studies import small_plan

from app.evaluator.brief_page import BriefPage
from app.evaluator.session_screen import SessionScreen
from app.parts.message_bar import MessageBar
from app.parts.theme import apply_theme
from ratings.errors import PlaybackError
from ratings.intake.making import make_study
from ratings.storage.listening_desk import session_seats


@pytest.fixture
def window(qtbot, qapp, tmp_path):
    """Bring a calibrated seat to its first pair, at the confirmed level."""
    apply_theme(qapp, "light")
    plan = small_plan(tmp_path / "in")
    recordings = tuple(dataclasses.replace(r, pa_per_full_scale=1.0) for r in plan.recordings)
    study = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    study.close()
    window = OpenedWindow(study.folder.path, qtbot, tmp_path / "s.ini")
    window.evaluator.show_brief(session_seats(window.study)[0].session_id)
    brief = window.evaluator.brief
    qtbot.waitUntil(lambda: brief.progress is None)
    brief.set_level(110.0)
    brief.play_tone()
    window._quiet.hear("A", 1.0)
    brief.confirm()
    brief.begin()
    window.screen_in_use.begun.emit()
    yield window
    QThreadPool.globalInstance().waitForDone()


def button(window, words):
    buttons = window.screen_in_use.findChildren(QAbstractButton)
    return next(b for b in buttons if b.text() == words and b.isVisible())


def test_that_the_level_of_a_session_leads_back_to_its_pair(window):
    session = window.screen_in_use
    assert isinstance(session, SessionScreen)
    QTest.keyClick(session, Qt.Key.Key_D)
    assert isinstance(window.screen_in_use, BriefPage)
    assert button(window, "Back to the pair")
    QTest.keyClick(window.screen_in_use, Qt.Key.Key_Escape)
    assert isinstance(window.screen_in_use, SessionScreen)
    assert window.screen_in_use._presenter.form.pair.position == 1
    assert window._quiet.is_playing


def test_that_a_device_that_was_away_is_not_played_on_before_its_level_was_seen_to(window, qtbot):
    player = window._quiet
    gain = player.loaded[-1].gain_a
    player.trouble = PlaybackError("The sound device does not answer.", "Plug it in again.")
    player.trouble_raised.emit(player.trouble)
    assert isinstance(window.screen_in_use, SessionScreen)
    player.open(player.device_identity)
    qtbot.waitUntil(lambda: isinstance(window.screen_in_use, BriefPage))
    player.trouble = None
    player.trouble_cleared.emit()
    assert not player.is_playing
    assert "was away" in window.screen_in_use.findChild(MessageBar).accessibleName()
    QTest.keyClick(window.screen_in_use, Qt.Key.Key_Escape)
    # On without the tone: as quietly as an output that was never calibrated.
    assert player.is_playing
    assert player.loaded[-1].gain_a == pytest.approx(0.1)
    assert player.loaded[-1].gain_a != gain


def test_that_an_uncalibrated_session_just_plays_on_when_its_device_is_back(window, qtbot):
    player = window._quiet
    window.evaluator.brief.set_level(None)
    player.trouble = PlaybackError("The sound device does not answer.", "Plug it in again.")
    with qtbot.assertNotEmitted(window.evaluator.brief.level_lost):
        player.open(player.device_identity)
    assert isinstance(window.screen_in_use, SessionScreen)
