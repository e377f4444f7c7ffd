import pytest
from PySide6.QtCore import QMargins, QRect, Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from app.parts.icons import IconButton
from app.parts.message_bar import MessageBar

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def bar(qtbot, light):
    bar = MessageBar()
    qtbot.addWidget(bar)
    bar.resize(1000, 64)
    return bar


def shown_words(bar):
    return [label.text() for label in bar.findChildren(QLabel) if not label.isHidden()]


def test_that_the_bar_is_away_until_there_is_something_to_say(bar):
    assert bar.isHidden()
    bar.tell("The headphones were unplugged.", "Plug them in again.", "attention")
    assert not bar.isHidden()
    assert shown_words(bar) == ["The headphones were unplugged.", "Plug them in again."]
    bar.clear()
    assert bar.isHidden()


def test_that_a_message_takes_the_place_of_the_one_before(bar):
    bar.tell("The headphones were unplugged.", "Plug them in again.", action="Choose a device")
    bar.tell("The headphones are back.")
    assert shown_words(bar) == ["The headphones are back."]
    assert bar.findChild(QPushButton).isHidden()


def test_that_the_offered_step_and_the_dismissal_are_told(qtbot, bar):
    bar.tell("The headphones were unplugged.", "Plug them in again.", action="Choose a device")
    with qtbot.waitSignal(bar.action_asked):
        qtbot.mouseClick(bar.findChild(QPushButton), LEFT)
    with qtbot.waitSignal(bar.dismissed):
        qtbot.mouseClick(bar.findChild(IconButton), LEFT)
    assert bar.isHidden()


def test_that_a_message_is_text_and_never_markup(bar, picture):
    bar.tell("<b>a.wav</b> is no sound file.")
    assert all(label.textFormat() == Qt.TextFormat.PlainText for label in bar.findChildren(QLabel))


def test_that_screen_readers_get_the_message_as_the_name_of_the_bar(bar):
    bar.tell("The headphones were unplugged.", "Plug them in again.", "attention")
    assert bar.accessibleName() == "The headphones were unplugged. Plug them in again."


@pytest.mark.parametrize("kind", ["note", "attention"])
def test_that_messages_read_from_pixels(qtbot, theme, picture, kind):
    bar = MessageBar()
    qtbot.addWidget(bar)
    bar.tell("The headphones were unplugged.", "Plug them in again.", kind)
    bar.resize(800, 64)
    contrasts = picture(bar).row_contrasts(QRect(60, 4, 500, 56))
    assert len(contrasts) >= 2
    assert min(contrasts) >= 4.5


def test_that_kinds_differ_by_sign_and_not_by_colour_alone(bar, picture):
    sign = QRect(14, 16, 34, 34)
    shapes = []
    for kind in ("note", "attention"):
        bar.tell("Something happened.", kind=kind)
        shown = picture(bar)
        surface = shown.image.pixelColor(14, 32)
        shapes.append(
            {
                (x, y)
                for x in range(sign.left(), sign.right())
                for y in range(sign.top(), sign.bottom())
                if shown.image.pixelColor(x, y) != surface
            }
        )
    assert len(shapes[0] ^ shapes[1]) > 60


def test_that_a_note_over_a_heading_goes_by_itself_and_what_cannot_wait_stays(
    qtbot, light, monkeypatch
):
    monkeypatch.setattr("app.parts.message_bar._NOTE_STAYS_MS", 1)
    page = QWidget()
    area = QWidget(page)
    area.setGeometry(0, 0, 600, 300)
    bar = MessageBar()
    bar.hang_in(area, QMargins(20, 10, 20, 0))
    qtbot.addWidget(page)
    page.show()
    bar.tell("20 runs measured.")
    assert bar.geometry().top() == 10
    qtbot.waitUntil(bar.isHidden)
    bar.tell("Add 12 scores?", action="Add")
    bar.tell("The disk is full.", "Free some space.", "attention")
    qtbot.wait(20)
    assert bar.isVisible()
