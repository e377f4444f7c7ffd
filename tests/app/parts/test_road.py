import pytest
from PySide6.QtCore import QRect

from app.parts.road import Road


@pytest.fixture
def road(qtbot, light):
    road = Road()
    qtbot.addWidget(road)
    road.resize(1200, 48)
    return road


@pytest.mark.parametrize(
    ("pair", "minutes", "words"),
    [
        (5, 11.2, "pair 5 of 12, about 11 minutes left"),
        (12, 1.3, "pair 12 of 12, about 1 minute left"),
        (12, 0.2, "pair 12 of 12, less than a minute left"),
        (1, None, "pair 1 of 12"),
        (13, 0.0, "all 12 pairs done"),
    ],
)
def test_that_the_road_says_where_the_evaluator_is(road, pair, minutes, words):
    road.show_way(pair, 12, (6,), minutes)
    assert road.accessibleDescription() == words


def posts(road, picture, colour):
    """Runs of a colour along a line through the posts."""
    shown = picture(road)
    line = [shown.count(colour, QRect(x, 33, 1, 3)) > 0 for x in range(1000)]
    return sum(is_post and not was for was, is_post in zip([False, *line], line, strict=False))


@pytest.mark.parametrize("count", [4, 12, 24])
def test_that_done_now_and_to_come_are_told_apart(road, picture, light, count):
    road.show_way(3, count, (), 9)
    assert posts(road, picture, light.done) == 2
    assert posts(road, picture, light.text) == 1


def test_that_the_post_at_hand_is_taller_and_not_only_of_another_colour(road, picture, light):
    road.show_way(3, 12, (), 9)
    shown = picture(road)
    above = QRect(0, 8, 1000, 10)
    assert shown.count(light.text, above) > 50
    assert shown.count(light.done, above) == 0


def test_that_a_break_that_comes_next_asks_for_attention(road, picture, light):
    road.show_way(5, 12, (6,), 9)
    assert picture(road).count(light.attention) == 0
    road.show_way(6, 12, (6,), 9)
    assert picture(road).count(light.attention) > 0


def test_that_the_words_of_the_road_read_from_pixels(qtbot, theme, picture):
    road = Road()
    qtbot.addWidget(road)
    road.resize(1200, 48)
    road.show_way(6, 12, (6,), 11)
    contrasts = picture(road).row_contrasts(QRect(1040, 0, 160, 48))
    assert len(contrasts) == 2
    assert min(contrasts) >= 4.5


def test_that_an_empty_session_draws_no_posts(road, picture, light):
    road.show_way(1, 0)
    assert posts(road, picture, light.text) == 0


def test_that_a_pair_set_aside_looks_neither_done_nor_to_come(road, picture, light):
    road.show_way(4, 6, (), 9, done=[1, 3], aside=[2])
    assert posts(road, picture, light.done) == 2
    shown = picture(road)
    assert shown.count(light.attention, QRect(0, 30, 1000, 12)) > 10
    # It lies: nothing of it stands as high as a post.
    assert shown.count(light.attention, QRect(0, 0, 1000, 30)) == 0
    assert road.pair_words() == "pair 4 of 6, 1 set aside"
    road.show_way(4, 6, (), 9, done=[1, 2, 3])
    assert picture(road).count(light.attention) == 0
