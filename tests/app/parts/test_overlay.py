import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton, QWidget

from app.parts.overlay import Overlay, is_covered

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def screen(qtbot, light):
    screen = QWidget()
    qtbot.addWidget(screen)
    screen.resize(800, 600)
    screen.behind = QPushButton("Next pair", screen)
    screen.pressed = []
    screen.behind.clicked.connect(lambda: screen.pressed.append("behind"))
    shortcut = QShortcut(QKeySequence("Ctrl+1"), screen)
    shortcut.activated.connect(lambda: screen.pressed.append("shortcut"))
    screen.overlay = Overlay(screen)
    screen.first, screen.second = (QPushButton(text, screen.overlay) for text in ("one", "two"))
    with qtbot.waitExposed(screen):
        screen.show()
    screen.activateWindow()
    screen.behind.setFocus()
    qtbot.waitUntil(screen.behind.hasFocus)
    screen.overlay.open()
    qtbot.waitUntil(screen.first.hasFocus)
    return screen


def keys(screen, *wanted, modifier=Qt.KeyboardModifier.NoModifier):
    for key in wanted:
        QTest.keyClick(screen.window().windowHandle(), key, modifier)


def test_that_tab_goes_round_inside_and_never_behind(screen):
    seen = []
    for _ in range(3):
        keys(screen, Qt.Key.Key_Tab)
        seen.append(screen.focusWidget())
    assert seen == [screen.second, screen.first, screen.second]
    keys(screen, Qt.Key.Key_Tab, modifier=Qt.KeyboardModifier.ShiftModifier)
    assert screen.focusWidget() is screen.first


def test_that_a_focus_taken_behind_comes_back_inside(screen, qtbot):
    screen.behind.setFocus()
    qtbot.waitUntil(screen.first.hasFocus)


def test_that_shortcuts_of_the_window_rest_while_it_is_open(screen):
    keys(screen, Qt.Key.Key_1, modifier=Qt.KeyboardModifier.ControlModifier)
    assert screen.pressed == []
    keys(screen, Qt.Key.Key_Escape)
    keys(screen, Qt.Key.Key_1, modifier=Qt.KeyboardModifier.ControlModifier)
    assert screen.pressed == ["shortcut"]


def test_that_esc_closes_it_only_and_gives_the_keys_back(screen, qtbot):
    assert is_covered(screen.behind)
    with qtbot.waitSignal(screen.overlay.closed):
        keys(screen, Qt.Key.Key_Escape)
    assert screen.overlay.isHidden()
    assert screen.behind.hasFocus()
    assert not is_covered(screen.behind)


def test_that_a_press_beside_closes_it_and_reaches_nothing_behind(screen):
    assert screen.childAt(screen.behind.geometry().center()) is not screen.behind
    QTest.mouseClick(screen.windowHandle(), LEFT, pos=QPoint(400, 500))
    assert screen.overlay.isHidden()
    assert screen.pressed == []
