"""Axes and names of the verdict's plots."""

import itertools

import pytest
from PySide6.QtCore import QPointF, QRectF

from app.lead.verdict.axes import Axis, spanned, tick_words
from app.lead.verdict.ear_plot import free_place


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [(0.0, 10.0, [0, 5, 10]), (-1.5, 1.5, [-1, 0, 1]), (62.1, 62.9, [62.2, 62.4, 62.6, 62.8])],
)
def test_that_ticks_are_round_and_have_room(low, high, ticks):
    axis = Axis(low, high, 0.0, 250.0)
    assert axis.ticks() == pytest.approx(ticks)
    places = [axis.at(tick) for tick in axis.ticks()]
    assert all(b - a >= 60 for a, b in itertools.pairwise(places))


def test_that_a_value_beyond_the_ends_stays_at_the_end():
    axis = Axis(-1.0, 1.0, 100.0, 300.0)
    assert [axis.at(value) for value in (-9.0, 0.0, 9.0)] == [100.0, 200.0, 300.0]


def test_that_an_axis_of_one_value_has_a_width():
    low, high = spanned([5.0], 2.0)
    assert low < 5.0 < high
    assert high - low >= 2.0


def test_that_ticks_are_written_with_the_minus_of_windows():
    assert [tick_words(value) for value in (-0.5, 0.0, 2.0)] == ["−0.5", "0", "2"]


def test_that_the_names_of_forty_sets_in_one_place_cover_no_dot_and_no_name():
    inside = QRectF(0, 0, 600, 300)
    points = [QPointF(290 + 3 * (n % 7), 140 + 3 * (n // 7)) for n in range(40)]
    dots = [QRectF(p.x() - 5, p.y() - 5, 10, 10) for p in points]
    taken = list(dots)
    for point in points:
        box = free_place(QRectF(0, 0, 26, 15), point, taken, inside)
        assert box is not None
        assert inside.contains(box)
        taken.append(box)
    names = taken[len(dots) :]
    assert not any(a.intersects(b) for a, b in itertools.combinations(names, 2))
    assert not any(name.intersects(dot) for name in names for dot in dots)
