"""What stands in a picture or a drawing that was saved."""

import xml.etree.ElementTree as ET
from pathlib import Path

from PySide6.QtGui import QColor, QImage

from ratings.reports.colours import DARK, LIGHT

LEAST_WIDTH_PX = 1600
_ONLY_DARK = (DARK.ground, DARK.panel, DARK.line, DARK.text, DARK.soft_text, DARK.accent)


def told_in_drawing(path: Path) -> str:
    """Return all that stands as text in an SVG file, one blank between words."""
    texts = ET.parse(path).iter("{http://www.w3.org/2000/svg}text")
    return " ".join(" ".join("".join(text.itertext()) for text in texts).split())


def assert_light_picture(path: Path) -> None:
    """Hold that a PNG file stands on the light theme's panel and is wide enough for a report."""
    picture = QImage(str(path))
    assert picture.width() >= LEAST_WIDTH_PX
    corners = [(0, 0), (picture.width() - 1, picture.height() - 1)]
    assert {QColor(picture.pixel(*at)).name().upper() for at in corners} == {LIGHT.panel}


def assert_light_drawing(path: Path) -> None:
    """Hold that an SVG file has the light theme's panel and no colour of the dark one."""
    drawing = path.read_text(encoding="utf-8").upper()
    assert LIGHT.panel in drawing
    assert not [colour for colour in _ONLY_DARK if colour in drawing]
