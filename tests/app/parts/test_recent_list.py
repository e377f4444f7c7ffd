"""The list of studies that were open lately."""

from pathlib import Path

from app.parts.recent_list import RecentList

LONG = Path("/somewhere/far/away/on/a/share/of/the/proving/ground/Alder & Birch")


def test_that_a_narrow_button_says_name_and_absence_before_the_place(qtbot, qapp):
    shown = RecentList()
    qtbot.addWidget(shown)
    shown.show_studies([LONG])
    shown.show_missing([LONG])
    shown.resize(700, 120)
    with qtbot.waitExposed(shown):
        shown.show()
    (button,) = shown.buttons
    assert button.text().startswith("Alder && Birch, not found")
    assert button.accessibleName() == f"Alder & Birch, not found in {LONG.parent}"
    assert str(LONG.parent) in button.toolTip()
    shown.show_missing([])
    assert "not found" not in button.text()
