"""Pixels of a widget, and how well its words stand out from what is behind them."""

from collections import Counter

import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage

from app.parts.theme import apply_theme, contrast_ratio, current_theme


def _colour_at(image: QImage, x: int, y: int) -> str:
    return image.pixelColor(x, y).name().upper()


class Picture:
    """What a widget looks like now."""

    def __init__(self, widget):
        self.image = widget.grab().toImage()
        self.whole = self.image.rect()

    def count(self, colour: str, box: QRect | None = None) -> int:
        """Pixels of exactly this colour."""
        box = self.whole if box is None else box.intersected(self.whole)
        return sum(
            _colour_at(self.image, x, y) == colour
            for y in range(box.top(), box.bottom() + 1)
            for x in range(box.left(), box.right() + 1)
        )

    def row_contrasts(self, box: QRect | None = None) -> list[float]:
        """Contrast of each row of words in a box: its strongest pixel against the surface."""
        box = self.whole if box is None else box.intersected(self.whole)
        rows = [
            [_colour_at(self.image, x, y) for x in range(box.left(), box.right() + 1)]
            for y in range(box.top(), box.bottom() + 1)
        ]
        surface = Counter(colour for row in rows for colour in row).most_common(1)[0][0]
        contrasts: list[float] = []
        strongest = 0.0
        for row in [*rows, [surface]]:
            inks = set(row) - {surface}
            if inks:
                strongest = max(strongest, *(contrast_ratio(ink, surface) for ink in inks))
            elif strongest:
                contrasts.append(strongest)
                strongest = 0.0
        return contrasts


@pytest.fixture
def picture():
    """Take the picture of a widget."""
    return Picture


@pytest.fixture(params=["light", "dark"])
def theme(request, qapp):
    """Each theme in turn, put on the program."""
    apply_theme(qapp, request.param)
    yield current_theme()
    apply_theme(qapp, "light")


@pytest.fixture
def light(qapp):
    """The light theme, put on the program."""
    apply_theme(qapp, "light")
    return current_theme()
