from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, QRect, Qt

from app.parts.buttons import QuietButton
from app.parts.sides import SidePanel

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def panel(qtbot, light):
    panel = SidePanel("B")
    qtbot.addWidget(panel)
    panel.resize(590, 104)
    with qtbot.waitExposed(panel):
        panel.show()
    return panel


def test_that_a_click_anywhere_on_the_panel_chooses_the_side(qtbot, panel):
    for place in (QPoint(20, 20), panel.rect().center(), QPoint(300, 90)):
        with qtbot.waitSignal(panel.clicked):
            qtbot.mouseClick(panel, LEFT, pos=place)


def test_that_the_note_button_asks_for_the_note_and_does_not_choose_the_side(qtbot, panel):
    button = panel.findChild(QuietButton)
    with qtbot.waitSignal(panel.note_asked), qtbot.assertNotEmitted(panel.clicked):
        qtbot.mouseClick(button, LEFT)


def test_that_a_click_leaves_the_focus_where_it_was(qtbot, panel):
    panel.clearFocus()
    qtbot.mouseClick(panel, LEFT, pos=QPoint(20, 20))
    assert not panel.hasFocus()


@pytest.mark.parametrize(
    ("heard_s", "times", "words"),
    [
        (0.0, 0, "not heard yet"),
        (5.2, 0, "heard 5 s of 8 s"),
        (8.0, 1, "heard once"),
        (8.0, 2, "heard twice"),
        (8.0, 3, "heard 3 times"),
    ],
)
def test_that_the_panel_says_how_much_was_heard(panel, heard_s, times, words):
    panel.set_heard(heard_s, 8.0, times)
    assert panel.heard_words() == words
    assert words in panel.accessibleDescription()


@pytest.mark.parametrize(
    ("state", "words"),
    [("sounding", "playing"), ("paused", "paused here"), ("waiting", "silent")],
)
def test_that_the_panel_says_whether_it_sounds(panel, state, words):
    panel.set_state(state)
    assert panel.accessibleDescription() == f"{words}, not heard yet"
    assert panel.accessibleName() == "side B"


def test_that_notes_are_counted(panel):
    button = panel.findChild(QuietButton)
    assert button.text() == "note"
    panel.set_note_count(1)
    assert button.text() == "note (1)"
    assert button.accessibleName() == "note on side B"
    assert panel.rect().contains(button.geometry())


def test_that_the_ring_fills_with_what_was_heard(panel, picture, light):
    ring = QRect(25, 15, 78, 78)
    filled = []
    for heard_s, times in ((0.0, 0), (2.0, 0), (4.0, 0), (8.0, 1)):
        panel.set_heard(heard_s, 8.0, times)
        filled.append(picture(panel).count(light.side_b, ring))
    gained = [after - before for before, after in pairwise(filled)]
    assert all(gain > 0 for gain in gained)
    # A quarter, then a quarter, then a half of the ring; its soft edges leave a little slack.
    assert gained[1] == pytest.approx(gained[0], rel=0.2)
    assert gained[2] == pytest.approx(2 * gained[0], rel=0.2)


@pytest.mark.parametrize("state", ["sounding", "paused", "waiting"])
@pytest.mark.parametrize("side", ["A", "B"])
def test_that_the_words_of_a_side_read_from_pixels(qtbot, theme, picture, side, state):
    panel = SidePanel(side)
    qtbot.addWidget(panel)
    panel.resize(590, 104)
    panel.set_state(state)
    panel.set_heard(5, 8, 0)
    shown = picture(panel)
    button = panel.findChild(QuietButton).geometry()
    for box in (QRect(166, 34, 100, 44), button.adjusted(12, 14, -12, -14)):
        contrasts = shown.row_contrasts(box)
        assert contrasts
        assert min(contrasts) >= 4.5


def test_that_sides_differ_by_shape_and_not_by_colour_alone(qtbot, light, picture):
    inside = QRect(59, 48, 8, 8)
    filled = {}
    for side in ("A", "B"):
        panel = SidePanel(side)
        qtbot.addWidget(panel)
        panel.resize(590, 104)
        filled[side] = picture(panel).count(light.side(side), inside)
    assert filled == {"A": 64, "B": 0}
