"""The plots of agreement, saved for a report."""

import csv

import numpy as np
import pytest
from lead_pages import LEFT
from saved_pictures import assert_light_drawing, assert_light_picture, told_in_drawing

from app.parts.theme import apply_theme

LEGENDS = [
    ["above chance", "not above chance", "chance alone explains it"],
    ["scores it higher", "scores it lower"],
    ["ICC with its 95 % interval"],
]


@pytest.fixture
def open_page(open_screen, study, qapp):
    """Open the page in the dark; what is saved goes to these places."""

    def open_(*places):
        apply_theme(qapp, "dark")
        return open_screen(study, places).agreement_page

    yield open_
    apply_theme(qapp, "light")


@pytest.mark.parametrize(("place", "legend"), list(enumerate(LEGENDS)))
def test_that_a_picture_is_light_and_says_condition_panel_sets_and_finding(
    qtbot, open_page, tmp_path, place, legend
):
    page = open_page(tmp_path / "x.png", tmp_path / "x.svg")
    panel = page.panels[place]
    for save in panel.saving.buttons[:2]:
        with qtbot.waitSignal(page.exporter.told):
            qtbot.mouseClick(save, LEFT)
    said = told_in_drawing(tmp_path / "x.svg")
    assert panel.accessibleName() in said
    assert "all 2 conditions; 5 evaluators, 3 sets" in said
    assert " ".join(panel.said().split()) in said
    assert " ".join(panel.picture_caption().split()) in said
    assert "below." not in said
    for words in legend:
        assert words in said
    assert_light_picture(tmp_path / "x.png")
    assert_light_drawing(tmp_path / "x.svg")


def test_that_the_table_of_w_carries_what_the_page_marks_and_says(qtbot, open_page, tmp_path):
    panel = open_page(tmp_path / "w.csv").panels[0]
    qtbot.mouseClick(panel.saving.buttons[2], LEFT)
    rows = list(csv.DictReader((tmp_path / "w.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["attribute"] for row in rows] == ["Boom", "Rumble"]
    for row, block in zip(rows, panel.shown_blocks(), strict=True):
        assert float(row["W"]) == pytest.approx(block.kendall.w, abs=5e-4)
        assert row["above chance"] == ("yes" if block.agrees else "no")
        assert float(row["p adjusted (Holm)"]) == pytest.approx(block.p_holm, abs=5e-5)
        assert row["in words"] == block.sentence
        assert (row["evaluators"], row["sets"]) == ("5", "3")
    assert {row["above chance"] for row in rows} == {"yes", "no"}


def test_that_the_table_of_deviations_is_the_map_on_show(open_page):
    panel = open_page().panels[1]
    panel.presenter.choose_attribute("rumble")
    panel.presenter.set_level_free(True)
    head, *rows = panel.table()
    block = panel.presenter.chosen
    assert head == ["evaluator", *block.sets, "flagged"]
    shown = [[float(cell.replace("−", "-")) for cell in row[1:-1]] for row in rows]
    assert np.ptp(block.level_free_deviations) > 0.1
    np.testing.assert_allclose(shown, block.level_free_deviations, atol=5e-4)
