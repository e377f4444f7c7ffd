import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.parts.position_bar import PositionBar

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def bar(qtbot, light):
    bar = PositionBar()
    qtbot.addWidget(bar)
    bar.resize(816, 44)
    bar.set_length(8.0)
    with qtbot.waitExposed(bar):
        bar.show()
    bar.activateWindow()
    return bar


@pytest.mark.parametrize(("x", "seconds"), [(8, 0.0), (408, 4.0), (608, 6.0), (808, 8.0)])
def test_that_a_press_asks_for_the_place_under_it(qtbot, bar, x, seconds):
    with qtbot.waitSignal(bar.seek_asked) as asked:
        QTest.mousePress(bar, LEFT, Qt.KeyboardModifier.NoModifier, QPoint(x, 13))
    assert asked.args == [pytest.approx(seconds)]
    QTest.mouseRelease(bar, LEFT, Qt.KeyboardModifier.NoModifier, QPoint(x, 13))


def test_that_a_drag_asks_where_it_began_and_where_it_ended(qtbot, bar):
    asked = []
    bar.seek_asked.connect(asked.append)
    QTest.mousePress(bar, LEFT, Qt.KeyboardModifier.NoModifier, QPoint(208, 13))
    QTest.mouseMove(bar, QPoint(500, 13))
    assert bar.position_s == pytest.approx(4.92)
    QTest.mouseMove(bar, QPoint(608, 13))
    QTest.mouseRelease(bar, LEFT, Qt.KeyboardModifier.NoModifier, QPoint(608, 13))
    assert asked == [pytest.approx(2.0), pytest.approx(6.0)]


def test_that_a_press_past_the_end_asks_for_the_end(qtbot, bar):
    with qtbot.waitSignal(bar.seek_asked) as asked:
        qtbot.mouseClick(bar, LEFT, pos=QPoint(815, 13))
    assert asked.args == [8.0]


@pytest.mark.parametrize(
    ("key", "seconds"), [(Qt.Key.Key_Left, 2.6), (Qt.Key.Key_Right, 3.6), (Qt.Key.Key_Home, 0.0)]
)
def test_that_the_bar_is_worked_with_keys(qtbot, bar, key, seconds):
    bar.set_position(3.1)
    bar.setFocus()
    qtbot.waitUntil(bar.hasFocus)
    with qtbot.waitSignal(bar.seek_asked) as asked:
        qtbot.keyClick(bar, key)
    assert asked.args == [pytest.approx(seconds)]


def test_that_without_a_clip_nothing_is_asked(qtbot, bar):
    bar.set_length(0.0)
    with qtbot.assertNotEmitted(bar.seek_asked):
        qtbot.mouseClick(bar, LEFT, pos=QPoint(400, 13))
        qtbot.keyClick(bar, Qt.Key.Key_Right)
    assert bar.position_s == 0.0


def test_that_screen_readers_hear_whole_seconds_only(bar):
    spoken = set()
    for tenth in range(80):
        bar.set_position(tenth / 10)
        spoken.add(bar.accessibleDescription())
    assert len(spoken) == 8
    assert bar.accessibleDescription() == "7 s of 8.0 s"


def test_that_the_times_read_from_pixels(qtbot, theme, picture):
    bar = PositionBar()
    qtbot.addWidget(bar)
    bar.resize(816, 44)
    bar.set_length(8.0)
    bar.set_position(3.1)
    bar.set_loop(0.0, 8.0)
    contrasts = picture(bar).row_contrasts(bar.rect().adjusted(0, 26, 0, 0))
    assert contrasts
    assert min(contrasts) >= 4.5


def test_that_the_loop_is_marked(bar, picture, light):
    without = picture(bar).count(light.soft_text)
    bar.set_loop(2.0, 6.0)
    looped = picture(bar).count(light.soft_text)
    bar.set_loop(None)
    assert looped > without
    assert picture(bar).count(light.soft_text) == without


def test_that_what_must_still_be_heard_is_underlined_and_told(bar, picture, light):
    assert picture(bar).count(light.side_b) == 0
    bar.set_unheard("B", [(6.0, 8.0)])
    assert picture(bar).count(light.side_b) > 2 * 190
    assert bar.accessibleDescription() == "0 s of 8.0 s; not heard of B: 6-8 s"
    bar.set_unheard(None)
    assert picture(bar).count(light.side_b) == 0
