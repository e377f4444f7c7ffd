import pytest
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from app.parts.buttons import QuietButton
from app.parts.ladder import ScoreLadder

LEFT = Qt.MouseButton.LeftButton
SIDES = ("A", "B")


class Page(QWidget):
    """A page with two ladders that remembers the keys which reach it."""

    def __init__(self):
        super().__init__()
        self.keys = []
        column = QVBoxLayout(self)
        self.first = ScoreLadder("Cavity ring", "rings after edges, 100-300 Hz")
        self.second = ScoreLadder("Hiss", "air rush, 1-4 kHz")
        column.addWidget(self.first)
        column.addWidget(self.second)
        self.resize(1200, 200)

    def keyPressEvent(self, event):
        self.keys.append(event.text())


@pytest.fixture
def page(qtbot, light):
    page = Page()
    qtbot.addWidget(page)
    with qtbot.waitExposed(page):
        page.show()
    page.activateWindow()
    return page


@pytest.fixture
def ladder(page):
    page.first.sounding_side = "A"
    return page.first


def at(ladder, score, down=0):
    return QPoint(ladder.rail_x(score), ladder.rail_y() + down)


def drag(ladder, start, stop):
    QTest.mousePress(ladder, LEFT, Qt.KeyboardModifier.NoModifier, start)
    QTest.mouseMove(ladder, QPoint((start.x() + stop.x()) // 2, start.y()))
    QTest.mouseMove(ladder, stop)
    QTest.mouseRelease(ladder, LEFT, Qt.KeyboardModifier.NoModifier, stop)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("score", [1.0, 3.25, 5.0, 7.75, 10.0])
def test_that_a_click_on_the_rail_asks_for_the_score_under_it(qtbot, ladder, side, score):
    ladder.sounding_side = side
    with qtbot.waitSignal(ladder.mark_asked) as asked:
        qtbot.mouseClick(ladder, LEFT, pos=at(ladder, score))
    assert asked.args == [side, score]


def test_that_the_ladder_shows_a_mark_only_once_its_owner_gives_it(qtbot, ladder):
    qtbot.mouseClick(ladder, LEFT, pos=at(ladder, 7.0))
    assert ladder.marks.a is None
    ladder.set_mark("A", 7.0)
    assert ladder.marks.a == 7.0
    ladder.set_mark("A", None)
    assert ladder.marks.a is None


@pytest.mark.parametrize("down", [-21, 21])
def test_that_the_rail_is_a_full_touch_target(qtbot, ladder, down):
    with qtbot.waitSignal(ladder.mark_asked) as asked:
        qtbot.mouseClick(ladder, LEFT, pos=at(ladder, 6.5, down))
    assert asked.args == ["A", 6.5]


def test_that_a_click_on_the_name_scores_nothing(qtbot, ladder):
    with qtbot.assertNotEmitted(ladder.mark_asked):
        qtbot.mouseClick(ladder, LEFT, pos=QPoint(60, ladder.rail_y()))
    assert ladder.mark_box("A") is None


def test_that_nothing_is_scored_while_nothing_sounds(qtbot, ladder):
    ladder.sounding_side = None
    with qtbot.assertNotEmitted(ladder.mark_asked):
        qtbot.mouseClick(ladder, LEFT, pos=at(ladder, 6.5))
    assert ladder.mark_box("A") is None


def test_that_a_drag_of_either_mark_asks_once_and_for_that_side(qtbot, ladder):
    ladder.set_mark("A", 8.0)
    ladder.set_mark("B", 6.0)
    asked = []
    ladder.mark_asked.connect(lambda side, score: asked.append((side, score)))
    drag(ladder, at(ladder, 6.0), at(ladder, 4.25))
    drag(ladder, at(ladder, 8.0), at(ladder, 9.5))
    assert asked == [("B", 4.25), ("A", 9.5)]


def test_that_a_drag_past_the_end_stays_on_the_scale(qtbot, ladder):
    ladder.set_mark("A", 8.0)
    with qtbot.waitSignal(ladder.mark_asked) as asked:
        drag(ladder, at(ladder, 8.0), QPoint(ladder.width() - 2, ladder.rail_y()))
    assert asked.args == ["A", 10.0]


def test_that_a_click_on_the_other_sides_mark_gives_the_sounding_side_the_same_score(qtbot, ladder):
    ladder.set_mark("B", 7.0)
    with qtbot.waitSignal(ladder.mark_asked) as asked:
        qtbot.mouseClick(ladder, LEFT, pos=at(ladder, 7.0))
    assert asked.args == ["A", 7.0]


def test_that_a_click_on_ones_own_mark_changes_nothing(qtbot, ladder):
    ladder.set_mark("A", 7.0)
    with qtbot.assertNotEmitted(ladder.mark_asked):
        qtbot.mouseClick(ladder, LEFT, pos=at(ladder, 7.0) + QPoint(11, 0))
    assert ladder.marks.of("A") == 7.0


def test_that_of_two_equal_marks_the_sounding_sides_is_dragged(qtbot, ladder):
    ladder.sounding_side = "B"
    ladder.set_mark("A", 7.0)
    ladder.set_mark("B", 7.0)
    with qtbot.waitSignal(ladder.mark_asked) as asked:
        drag(ladder, at(ladder, 7.0), at(ladder, 6.0))
    assert asked.args == ["B", 6.0]


def test_that_a_nudge_asks_for_the_next_step_and_never_makes_a_first_mark(qtbot, ladder):
    with qtbot.assertNotEmitted(ladder.mark_asked):
        ladder.nudge("A", 1)
    ladder.set_mark("A", 7.0)
    with qtbot.waitSignal(ladder.mark_asked) as asked:
        ladder.nudge("A", -2)
    assert asked.args == ["A", 6.5]
    ladder.set_mark("A", 10.0)
    with qtbot.assertNotEmitted(ladder.mark_asked):
        ladder.nudge("A", 1)


def test_that_a_locked_ladder_takes_no_marks_and_says_why(qtbot, ladder):
    ladder.set_locked(True, "listen to both sides first")
    assert ladder.sentence() == "listen to both sides first"
    assert "locked" in ladder.accessibleDescription()
    with qtbot.assertNotEmitted(ladder.mark_asked):
        qtbot.mouseClick(ladder, LEFT, pos=at(ladder, 7.0))
        ladder.nudge("A", 1)
    ladder.set_locked(False)
    assert ladder.sentence() == "not rated yet"


def test_that_no_difference_is_one_click_on_the_ladder_in_hand(qtbot, page, ladder):
    button = ladder.findChild(QuietButton)
    page.second.setFocus()
    QTest.mouseMove(page.second, QPoint(5, 5))
    ladder.setFocus()
    qtbot.waitUntil(button.isVisible)
    assert button.height() >= 44
    assert button.width() >= 44
    with qtbot.waitSignal(ladder.no_difference_asked):
        qtbot.mouseClick(button, LEFT)


def test_that_the_no_difference_button_stays_inside_the_ladder(qtbot, ladder):
    button = ladder.findChild(QuietButton)
    for is_compact in (False, True):
        ladder.set_compact(is_compact)
        ladder.resize(1200, ladder.minimumHeight())
        assert ladder.rect().contains(button.geometry())


def test_that_keys_are_left_to_the_page(qtbot, page, ladder):
    ladder.setFocus()
    qtbot.waitUntil(ladder.hasFocus)
    with qtbot.assertNotEmitted(ladder.mark_asked):
        qtbot.keyClicks(ladder, "7=")
    assert page.keys == ["7", "="]


def test_that_the_wheel_is_left_to_the_page(ladder):
    ladder.set_mark("A", 7.0)
    place = QPointF(at(ladder, 7.0))
    wheel = QWheelEvent(
        place,
        ladder.mapToGlobal(place),
        QPoint(0, 120),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    wheel.setAccepted(True)
    ladder.wheelEvent(wheel)
    assert not wheel.isAccepted()
    assert ladder.marks.a == 7.0


@pytest.mark.parametrize(
    ("a", "b", "sentence"),
    [
        (None, None, "not rated yet"),
        (7.0, None, "B not rated yet"),
        (None, 7.0, "A not rated yet"),
        (8.0, 6.75, "A quieter by 1.25"),
        (6.5, 7.0, "B quieter by 0.50"),
        (7.0, 7.0, "no difference"),
    ],
)
def test_that_the_sentence_says_what_the_marks_say(ladder, a, b, sentence):
    ladder.set_mark("A", a)
    ladder.set_mark("B", b)
    assert ladder.sentence() == sentence
    assert sentence in ladder.accessibleDescription()


def test_that_an_attribute_that_is_no_loudness_is_better_instead_of_quieter(qtbot):
    ladder = ScoreLadder("Evenness", step=0.5, comparison="better")
    qtbot.addWidget(ladder)
    ladder.set_mark("A", 6.0)
    ladder.set_mark("B", 7.5)
    assert ladder.sentence() == "B better by 1.5"


def test_that_screen_readers_hear_name_definition_and_scores(ladder):
    ladder.set_mark("A", 8.0)
    ladder.set_mark("B", 6.75)
    assert ladder.accessibleName() == "Cavity ring"
    assert ladder.accessibleDescription() == (
        "rings after edges, 100-300 Hz, A 8.00, B 6.75, A quieter by 1.25"
    )


def bare_ladder(qtbot, width=1200, height=74):
    ladder = ScoreLadder("Hiss", "air rush, 1-4 kHz")
    qtbot.addWidget(ladder)
    ladder.resize(width, height)
    return ladder


def test_that_an_untouched_ladder_shows_no_mark_at_all(qtbot, theme, picture):
    ladder = bare_ladder(qtbot)
    shown = picture(ladder)
    assert shown.count(theme.side_a) == 0
    assert shown.count(theme.side_b) == 0


@pytest.mark.slow
@pytest.mark.parametrize("height", [48, 74, 110])
@pytest.mark.parametrize("width", [760, 1200])
@pytest.mark.parametrize("apart", [0.0, 0.25, 0.5, 3.0])
def test_that_both_marks_are_seen_however_close(qtbot, theme, picture, width, height, apart):
    ladder = bare_ladder(qtbot, width, height)
    ladder.set_compact(height < 60)
    ladder.set_mark("A", 7.0)
    ladder.set_mark("B", 7.0 - apart)
    shown = picture(ladder)
    rail = QRect(QPoint(ladder.rail_x(1), 0), QPoint(ladder.rail_x(10), ladder.height()))
    assert shown.count(theme.side_a, rail) >= 50
    assert shown.count(theme.side_b, rail) >= 50


def test_that_the_bar_between_the_marks_has_the_better_sides_colour(qtbot, light, picture):
    ladder = bare_ladder(qtbot)
    ladder.set_mark("A", 8.0)
    ladder.set_mark("B", 5.5)
    between = QRect(QPoint(ladder.rail_x(6.5), 0), QPoint(ladder.rail_x(7.0), ladder.height()))
    assert picture(ladder).count(light.side_a, between) > 60
    ladder.set_mark("B", 9.5)
    ladder.set_mark("A", 5.5)
    assert picture(ladder).count(light.side_a, between) == 0
    assert picture(ladder).count(light.side_b, between) > 60


def test_that_the_focused_ladder_is_framed(qtbot, page, ladder, picture, light):
    page.second.setFocus()
    qtbot.waitUntil(page.second.hasFocus)
    without = picture(ladder).count(light.side_a)
    ladder.setFocus()
    qtbot.waitUntil(ladder.hasFocus)
    assert picture(ladder).count(light.side_a) - without > 1000


@pytest.mark.parametrize("height", [48, 74])
def test_that_all_words_of_a_ladder_read_from_pixels(qtbot, theme, picture, height):
    ladder = bare_ladder(qtbot, height=height)
    ladder.set_compact(height < 60)
    ladder.set_shows_words(True)
    ladder.set_mark("A", 8.0)
    ladder.set_mark("B", 6.75)
    shown = picture(ladder)
    left, right = ladder.rail_x(1), ladder.rail_x(10)
    names = shown.row_contrasts(QRect(0, 0, left - 30, height))
    sentence = shown.row_contrasts(QRect(right + 120, 0, ladder.width() - right - 120, height))
    anchors = shown.row_contrasts(QRect(left - 20, ladder.rail_y() + 8, 40, height))
    figures = shown.row_contrasts(QRect(right + 40, 0, 50, height))
    assert len(names) >= 2
    for contrasts in (names, sentence, anchors, figures):
        assert contrasts
        assert min(contrasts) >= 4.5


def test_that_the_held_mark_is_shown_where_it_would_land(qtbot, ladder, picture, light):
    ladder.set_mark("A", 3.0)
    QTest.mousePress(ladder, LEFT, Qt.KeyboardModifier.NoModifier, at(ladder, 3.0))
    QTest.mouseMove(ladder, at(ladder, 8.0))
    QApplication.processEvents()
    near = QRect(at(ladder, 8.0) - QPoint(10, 10), at(ladder, 8.0) + QPoint(10, 10))
    assert picture(ladder).count(light.side_a, near) > 100
    assert ladder.marks.a == 3.0
    QTest.mouseRelease(ladder, LEFT, Qt.KeyboardModifier.NoModifier, at(ladder, 8.0))


def test_that_the_score_under_the_mouse_is_shown_without_a_mark(qtbot, ladder, picture, light):
    below = QRect(at(ladder, 7.0, 12), at(ladder, 8.0, 34))
    without = picture(ladder)
    QTest.mouseMove(ladder, at(ladder, 7.5))
    shown = picture(ladder)
    assert without.count(light.side_a, below) == 0
    assert shown.count(light.side_a, below) > 5
    # A hair line and three small figures, far less than the disc of a mark.
    on_the_rail = QRect(at(ladder, 7.0, -11), at(ladder, 8.0, 10))
    assert shown.count(light.side_a, on_the_rail) < 60


def test_that_a_long_reason_for_a_lock_is_cut_inside_its_column(qtbot, theme, picture):
    ladder = bare_ladder(qtbot)
    ladder.set_locked(True, "listen to both sides first")
    box = QRect(ladder.rail_x(10) + 20, 0, 1200 - ladder.rail_x(10) - 20, 74)
    (fitting,) = picture(ladder).row_contrasts(box)
    assert fitting >= 4.5
    ladder.set_locked(True, "both sides must have been heard before a score is taken here")
    figures = QRect(ladder.rail_x(10) + 12, 0, 60, 74)
    assert picture(ladder).row_contrasts(figures) == []


def test_that_the_right_button_takes_a_mark_back_and_nothing_else(qtbot, ladder):
    ladder.set_mark("A", 8.0)
    ladder.set_mark("B", 4.0)
    with qtbot.waitSignal(ladder.take_back_asked) as asked:
        qtbot.mouseClick(ladder, Qt.MouseButton.RightButton, pos=at(ladder, 4.0))
    assert asked.args == ["B"]
    with qtbot.assertNotEmitted(ladder.take_back_asked):
        qtbot.mouseClick(ladder, Qt.MouseButton.RightButton, pos=at(ladder, 6.0))
    assert ladder.marks.of("B") == 4.0


def test_that_a_ladder_says_that_one_score_counts_for_both(ladder):
    ladder.set_asks_for_equal(True)
    assert ladder.sentence() == "alike: give one score"
    ladder.set_asks_for_equal(False)
    assert ladder.sentence() == "not rated yet"
