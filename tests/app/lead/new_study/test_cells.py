"""Files in the cells of the grid."""

from dataclasses import replace

import pytest
from draft_pages import LEFT, button, drop, wait_until_read
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QFontMetricsF
from studies import write_noise

from app.lead.new_study.cell import CELL_HEIGHT_PX, first_line
from app.parts.buttons import QuietButton
from app.parts.fonts import font


def test_that_files_dropped_on_the_page_are_spread_by_their_names(qtbot, page, recordings):
    assert drop(page, recordings)
    assert [s.name.text() for s in page.grid.sets.values()] == ["maple", "birch"]
    wait_until_read(qtbot, page.presenter)
    assert page.grid.cells[1, 1].accessibleName() == (
        "maple on coarse, 80 km/h: maple_coarse_80.wav 8 kHz stereo 2.5 s"
    )


def test_that_a_file_dropped_on_a_cell_goes_there_whatever_its_name(qtbot, page, recordings):
    drop(page, recordings)
    page.presenter.change(replace(page.presenter.draft, name="Week 31"))
    page.presenter.change(page.presenter.draft.with_control(1))
    assert drop(page.grid.cells[1, 1], [recordings[1]])
    assert page.presenter.draft.file_in((1, 1)) == recordings[1]
    wait_until_read(qtbot, page.presenter)
    assert "holds the same recording" in page.heading.text()


def test_that_words_dragged_onto_a_cell_are_not_taken(page, recordings):
    drop(page, recordings)
    assert not drop(page.grid.cells[1, 1], [])
    assert page.presenter.draft.file_in((1, 1)) == recordings[0]


def test_that_delete_and_the_close_button_empty_a_cell(qtbot, page, recordings):
    drop(page, recordings)
    cells = page.grid.cells
    qtbot.keyClick(cells[1, 1], Qt.Key.Key_Delete)
    assert page.presenter.draft.file_in((1, 1)) is None
    qtbot.mouseMove(cells[2, 1])
    close = cells[2, 1]._close
    qtbot.waitUntil(close.isVisible)
    qtbot.mouseClick(close, LEFT)
    assert page.presenter.draft.file_in((2, 1)) is None
    assert cells[2, 1].height() == CELL_HEIGHT_PX


def test_that_a_bad_file_is_told_in_words_on_the_page(qtbot, page, recordings):
    recordings[1].write_text("Dear colleague")
    drop(page, recordings)
    wait_until_read(qtbot, page.presenter)
    page.fields.name.setFocus()
    qtbot.keyClicks(page.fields.name, "Week 31")
    assert "no header" in page.grid.cells[2, 1].accessibleName()
    assert page.heading.text() == "birch_coarse_80.wav cannot be used."
    assert "has no header" in page.advice.text()
    assert "has no header" in page.grid.cells[2, 1].accessibleDescription()
    assert not page.foot.make.isEnabled()


def test_that_the_condition_is_described_in_its_drawer(qtbot, page, recordings):
    drop(page, recordings)
    qtbot.mouseClick(page.grid.heads[1], LEFT)
    drawer = page.grid.drawer
    qtbot.keyClicks(drawer.surface, "smooth concrete")
    drawer.manoeuvre.setFocus()
    qtbot.keyClick(drawer.manoeuvre, Qt.Key.Key_Down)
    drawer.end_speed.setFocus()
    drawer.end_speed.selectAll()
    qtbot.keyClicks(drawer.end_speed, "40")
    qtbot.keyClick(drawer.end_speed, Qt.Key.Key_Return)
    titles = [c.title for c in page.presenter.draft.conditions]
    assert titles == ["smooth concrete, coast-down, 80 to 40 km/h"]
    qtbot.mouseClick(button(page, "Remove", QuietButton), LEFT)
    assert page.presenter.draft.conditions == ()
    assert page.presenter.draft.files == ()


def test_that_taking_the_control_out_leaves_no_other_marked(qtbot, page, recordings):
    drop(page, recordings)
    control = page.grid.sets[1].control
    qtbot.mouseClick(control, LEFT, pos=QPoint(16, control.height() // 2))
    assert control.isChecked()
    qtbot.mouseClick(page.grid.sets[1]._out, LEFT)
    assert list(page.grid.sets) == [2]
    assert not page.grid.sets[2].control.isChecked()
    assert list(page.grid.cells) == [(2, 1)]


def test_that_a_reason_is_parted_into_two_lines_between_its_words(light):
    small = QFontMetricsF(font("small"))
    words = "is named like a sound file, but has no header of one"
    first, rest = first_line(words, small, small.horizontalAdvance("is named like a sound"))
    assert (first, rest) == ("is named like a sound", "file, but has no header of one")
    assert first_line("silent", small, 1.0) == ("silent", "")


@pytest.mark.slow
def test_that_a_file_that_cannot_be_used_is_brought_into_sight(qtbot, page, recordings, tmp_path):
    more = [write_noise(tmp_path / f"{n}_coarse_80.wav", 20 + k) for k, n in enumerate("pqrst")]
    drop(page, [*recordings, *more])
    wait_until_read(qtbot, page.presenter)
    bad = tmp_path / "zeta_coarse_80.wav"
    bad.write_text("Dear colleague")
    drop(page, [bad])
    cell = page.grid.cells[8, 1]
    qtbot.waitUntil(lambda: cell.is_refused)
    view = page.grid._scroll.viewport()
    top = cell.mapTo(view, QPoint(0, 0)).y()
    assert top >= 0
    assert top + cell.height() <= view.height()
