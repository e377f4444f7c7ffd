"""The marks by which sets are told apart in plots."""

import pytest

from ratings.reports.colours import DARK, LIGHT, contrast_ratio
from ratings.reports.set_marks import set_marks


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_that_every_set_has_its_own_shape_and_colour_readable_on_the_panel(theme):
    codes = [str(n) for n in range(100, 108)]
    marks = set_marks(codes, "103", theme).values()
    assert len({mark.shape for mark in marks}) == 8
    assert len({mark.colour for mark in marks}) == 8
    assert min(contrast_ratio(mark.colour, theme.panel) for mark in marks) >= 4.5
    assert [mark.words for mark in marks if mark.is_control] == ["103, control"]


def test_that_no_two_of_forty_sets_look_alike_without_their_codes():
    marks = set_marks([str(n) for n in range(100, 140)], "100", LIGHT).values()
    assert len({(mark.shape, mark.line, mark.colour) for mark in marks}) == 40
    assert len({(mark.shape, mark.line) for mark in list(marks)[:32]}) == 32


def test_that_a_set_keeps_its_mark_whatever_else_is_shown():
    marks = set_marks(["1", "2", "3"], "1", LIGHT)
    assert set_marks(["1", "2", "3"], "1", DARK)["3"].shape == marks["3"].shape
