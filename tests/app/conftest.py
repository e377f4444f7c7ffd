"""The first seat of a test's study, a player that makes no sound, and the session's screen."""

import pytest
from PySide6.QtTest import QTest
from quiet_player import QuietPlayer
from studies import Clock

from app.evaluator.session_presenter import SessionPresenter
from app.evaluator.session_screen import SessionScreen
from app.parts.theme import apply_theme
from ratings.storage.listening_desk import ListeningDesk, session_seats


@pytest.fixture
def desk(study):
    return ListeningDesk(study, session_seats(study)[0].session_id, Clock())


@pytest.fixture
def player(qapp):
    return QuietPlayer()


@pytest.fixture
def screen(study, qtbot, qapp):
    apply_theme(qapp, "light")
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    presenter = SessionPresenter(desk, QuietPlayer())
    screen = SessionScreen(presenter)
    screen.presenter = presenter
    screen.player = presenter.player
    qtbot.addWidget(screen)
    screen.resize(1280, 720)
    screen.show()
    qtbot.waitExposed(screen)
    screen.activateWindow()
    screen.setFocus()
    screen.begin()
    return screen


@pytest.fixture
def press(screen):
    """Press keys, each where the keys go."""

    def press(*keys):
        for key in keys:
            QTest.keyClick(screen.focusWidget() or screen, key)

    return press
