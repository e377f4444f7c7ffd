import pytest
from PySide6.QtGui import QTextLayout, QTextOption
from PySide6.QtWidgets import QLabel

from app.parts.headings import FindingHeading

SHORT = "Ready."
MIDDLE = "Ready: 3 candidates against control birch on 4 conditions, 20 pairs each, about an hour."
LONG = f"{MIDDLE} " * 6


def lines_of(label, text):
    """Break a text as Qt's own layout does, and count its lines."""
    layout = QTextLayout(text, label.font())
    option = QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WordWrap)
    layout.setTextOption(option)
    layout.beginLayout()
    lines = []
    while (line := layout.createLine()).isValid():
        line.setLineWidth(label.width())
        lines.append(line)
    layout.endLayout()
    return len(lines)


@pytest.fixture
def heading(qtbot):
    heading = FindingHeading("Which set is the control?")
    heading.hold_lines(2)
    qtbot.addWidget(heading)
    heading.resize(700, heading.height())
    heading.show()
    return heading


def test_that_a_held_heading_has_one_height_whatever_it_says(heading):
    high = heading.height()
    assert high >= 2 * heading.fontMetrics().height()
    for text in (SHORT, MIDDLE, LONG, "", SHORT):
        heading.setText(text)
        assert heading.height() == high
        assert heading.text() == text
        assert heading.accessibleName() == text


@pytest.mark.parametrize("width_px", [300, 700, 1200])
def test_that_what_does_not_fit_is_cut_at_the_last_line_and_told_by_the_tooltip(heading, width_px):
    heading.setText(LONG)
    heading.resize(width_px, heading.height())
    shown = QLabel.text(heading)
    assert shown.endswith("…")
    assert LONG.startswith(shown[:-1])
    assert lines_of(heading, shown) == 2
    assert lines_of(heading, f"{LONG[: len(shown) + 20]}…") == 3
    assert MIDDLE in heading.toolTip()
    heading.setText(SHORT)
    assert QLabel.text(heading) == SHORT
    assert heading.toolTip() == ""
