"""A page on which nothing moves under the pointer, and from which nothing is lost by a press."""

from dataclasses import replace
from itertools import pairwise

import pytest
from draft_pages import LEFT, wait_until_read
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QApplication


@pytest.fixture
def page(show_page, presenter, recordings, qtbot):
    """A shown page with two sets on one condition."""
    page = show_page(presenter)
    presenter.put_files(recordings)
    wait_until_read(qtbot, presenter)
    return page


@pytest.mark.parametrize("size", [(960, 540), (1280, 720), (1920, 1080)])
def test_that_nothing_moves_under_the_pointer_whatever_the_heading_says(page, size):
    page.resize(*size)
    presenter = page.presenter
    place = None
    for change in (
        lambda: None,
        lambda: presenter.change(replace(presenter.draft, name="Week 31")),
        lambda: presenter.change(presenter.draft.with_control(2)),
        lambda: presenter.change(
            presenter.draft.with_set_name(1, "a set with a name that is long " * 4)
        ),
        lambda: presenter.change(presenter.draft.with_control(1)),
        lambda: presenter.change(presenter.draft.with_evaluator_names("Ann, ann")),
        lambda: presenter.empty_cell((1, 1)),
    ):
        change()
        QApplication.processEvents()
        fields, grid = page.fields, page.grid
        now = [widget.mapTo(page, QPoint(0, 0)) for widget in (fields, grid, page.foot)]
        assert now == (place or now), page.heading.text()
        place = now


def test_that_a_removed_condition_comes_back_by_the_button_or_by_keys(qtbot, page):
    whole = page.presenter.draft
    assert not page.foot.put_back.isVisible()
    page.grid.open_condition(1)
    qtbot.mouseClick(page.grid.drawer.out, LEFT)
    assert page.presenter.draft.files == ()
    assert page.foot.put_back.text() == "Undo: removed coarse, 80 km/h"
    qtbot.mouseClick(page.foot.put_back, LEFT)
    assert page.presenter.draft == whole
    assert not page.grid.is_open
    assert not page.foot.put_back.isVisible()
    qtbot.mouseClick(page.over, LEFT)
    assert not page.presenter.draft.is_begun
    assert not page.over.isVisible()
    qtbot.keyClick(page.grid_panel.choose, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert page.presenter.draft == whole


@pytest.mark.parametrize("size", [(960, 540), (1280, 720)])
def test_that_words_of_one_attribute_keep_apart_from_the_next(page, size):
    page.resize(*size)
    QApplication.processEvents()
    cards = [row._card for row in page.attributes.rows.values()]
    for above, below in pairwise(cards):
        gap_px = below.mapTo(page, QPoint(0, 0)).y() - above.mapTo(page, QPoint(0, 0)).y()
        high = above.fontMetrics().boundingRect(
            QRect(0, 0, above.width(), 999), Qt.TextFlag.TextWordWrap, above.text()
        )
        assert gap_px >= high.height() + 8
