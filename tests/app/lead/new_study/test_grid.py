"""The grid of a new study when it is larger than its place."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication

from app.lead.new_study.grid import StudyGrid
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.theme import apply_theme

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def grid(qtbot, qapp, tmp_path):
    """Twelve sets on six conditions."""
    apply_theme(qapp, "light")
    presenter = NewStudyPresenter(tmp_path)
    grid = StudyGrid(presenter)
    qtbot.addWidget(grid)
    grid.resize(600, 300)
    grid.show()
    qtbot.waitExposed(grid)
    for _ in range(12):
        presenter.change(presenter.draft.with_set())
    for _ in range(6):
        presenter.change(presenter.draft.with_condition())
    grid.close_drawer()
    grid.presenter = presenter
    qtbot.wait(1)
    return grid


def place_of(grid, widget):
    return widget.mapTo(grid, QPoint(0, 0))


def test_that_the_names_of_sets_and_conditions_stay_in_sight_when_the_grid_scrolls(qtbot, grid):
    head, row = grid.heads[1], grid.sets[1]
    head_y, row_x = place_of(grid, head).y(), place_of(grid, row).x()
    down, across = grid._scroll.verticalScrollBar(), grid._scroll.horizontalScrollBar()
    down.setValue(down.maximum())
    across.setValue(across.maximum())
    assert down.value() > 0
    assert across.value() > 0
    assert place_of(grid, head).y() == head_y
    assert place_of(grid, row).x() == row_x
    # Also after something made the table lay itself out anew.
    grid.presenter.change(
        grid.presenter.draft.with_set_name(1, "a much longer name than there was before")
    )
    grid._table.invalidate()
    grid._table.activate()
    assert head.y() == 0
    qtbot.waitUntil(lambda: place_of(grid, head).y() == head_y)


def test_that_nothing_that_scrolls_shows_between_the_heads(qtbot, grid):
    grid.presenter.change(grid.presenter.draft.with_evaluator_names("Ada"))
    grid._remarks.setText("48 kHz, of 3 channels 1 and 2 are heard. " * 20)
    grid._remarks.show()
    qtbot.wait(1)
    down, across = grid._scroll.verticalScrollBar(), grid._scroll.horizontalScrollBar()
    for part in (0.3, 0.6, 1.0):
        down.setValue(round(part * down.maximum()))
        across.setValue(round(part * across.maximum()))
        image = grid._scroll.viewport().grab().toImage()
        heads = [place_of(grid, head) for head in grid.heads.values()]
        beside = [QPoint(at.x() - 4, at.y() + 10) for at in heads]
        rows = [place_of(grid, row) for row in grid.sets.values()]
        between = [QPoint(at.x() + 60, at.y() - 4) for at in rows]
        inside = grid.rect().adjusted(200, 0, -4, -4)
        gaps = [at for at in beside if inside.contains(at)]
        below_heads = grid.rect().adjusted(0, 70, 0, -4)
        gaps += [at for at in between if below_heads.contains(at)]
        assert len(gaps) > 2
        for at in gaps:
            for step in range(-3, 4):
                assert image.pixelColor(at + QPoint(0, 2 * step // 2)).name() == "#ffffff", at


def test_that_removing_a_set_keeps_the_place_and_the_keys(qtbot, grid):
    down = grid._scroll.verticalScrollBar()
    down.setValue(down.maximum() // 2)
    before = down.value()
    out = grid.sets[6].stops[-1]
    out.setFocus()
    qtbot.mouseClick(out, LEFT)
    assert 6 not in grid.sets
    assert down.value() == before
    assert QApplication.focusWidget() is grid.sets[7].stops[-1]
