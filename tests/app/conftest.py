"""The first seat of a test's study, a player that makes no sound, and the session's screen."""

import pytest
from PySide6.QtTest import QTest
from quiet_player import QuietPlayer
from shiboken6 import isValid
from studies import Clock

from app.evaluator.session_presenter import SessionPresenter
from app.evaluator.session_screen import SessionScreen
from app.parts.theme import apply_theme
from ratings.errors import RatingsError
from ratings.storage.listening_desk import ListeningDesk, session_seats


def ask_at_once(owner, work, then, refused, ended=lambda: None):
    """Stand in for `database.ask`: the same, done here and now."""
    try:
        result = work()
    except RatingsError as problem:
        refused(problem)
    else:
        then(result)
    finally:
        if isValid(owner):
            ended()


@pytest.fixture(autouse=True)
def worker(request):
    """Let tests look at results only, unless marked `real_worker`."""
    with pytest.MonkeyPatch.context() as patch:
        if request.node.get_closest_marker("real_worker") is None:
            patch.setattr("app.background.database.ask", ask_at_once)
        yield


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
