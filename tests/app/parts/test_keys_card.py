import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from app.parts.keys_card import KeysCard

KEYS = [("Space", "hear the other side"), ("=", "no difference")]


@pytest.fixture
def screen(qtbot, light):
    screen = QWidget()
    qtbot.addWidget(screen)
    screen.resize(800, 600)
    screen.button = QPushButton("Next pair", screen)
    screen.card = KeysCard(screen)
    screen.card.set_keys(KEYS)
    with qtbot.waitExposed(screen):
        screen.show()
    screen.activateWindow()
    screen.button.setFocus()
    qtbot.waitUntil(screen.button.hasFocus)
    screen.card.open()
    qtbot.waitUntil(screen.card.hasFocus)
    return screen


def test_that_the_card_shows_each_key_and_what_it_does(screen):
    words = [label.text() for label in screen.card.findChildren(QLabel)]
    for key, what in KEYS:
        assert key in words
        assert what in words
    assert screen.card.accessibleDescription() == ("Space: hear the other side. =: no difference")


@pytest.mark.parametrize("key", [Qt.Key.Key_Escape, "?"])
def test_that_esc_and_question_mark_close_the_card_and_give_the_keys_back(qtbot, screen, key):
    with qtbot.waitSignal(screen.card.closed):
        qtbot.keyClick(screen.card, key)
    assert screen.card.isHidden()
    assert screen.button.hasFocus()


def test_that_a_click_closes_the_card(qtbot, screen):
    with qtbot.waitSignal(screen.card.closed):
        qtbot.mouseClick(screen.card, Qt.MouseButton.LeftButton, pos=QPoint(5, 5))


def test_that_a_click_on_the_card_itself_closes_it_too(qtbot, screen):
    label = screen.card.findChildren(QLabel)[0]
    with qtbot.waitSignal(screen.card.closed):
        qtbot.mouseClick(label, Qt.MouseButton.LeftButton)


def test_that_other_keys_do_nothing_while_the_card_is_open(qtbot, screen):
    pressed = []
    screen.button.clicked.connect(lambda: pressed.append("button"))
    qtbot.keyClicks(screen.card, "7 ")
    assert not screen.card.isHidden()
    assert pressed == []


def test_that_the_card_covers_its_screen_after_a_change_of_size(qtbot, screen):
    screen.resize(1000, 700)
    qtbot.waitUntil(lambda: screen.card.size() == screen.size())


def test_that_new_keys_take_the_place_of_the_old(qtbot, screen):
    screen.card.set_keys([("Tab", "next ladder")])
    qtbot.waitUntil(
        lambda: "Space" not in [label.text() for label in screen.card.findChildren(QLabel)]
    )
    assert "Tab" in [label.text() for label in screen.card.findChildren(QLabel)]


def test_that_the_card_reads_from_pixels(qtbot, theme, picture):
    screen = QWidget()
    qtbot.addWidget(screen)
    screen.resize(800, 600)
    card = KeysCard(screen)
    card.set_keys(KEYS)
    screen.show()
    card.open()
    qtbot.waitUntil(card.isVisible)
    for label in card.findChildren(QLabel):
        place = label.rect().adjusted(3, 3, -3, -3)
        contrasts = picture(label).row_contrasts(place)
        assert contrasts
        assert min(contrasts) >= 4.5
