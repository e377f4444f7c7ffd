"""Rows and columns of parts in one call, and taking everything out of a layout again."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QLayout, QVBoxLayout, QWidget

Box = TypeVar("Box", bound=QBoxLayout)


@dataclass(frozen=True, slots=True)
class Stretched:
    """A part that takes this share of the room that is left."""

    part: QWidget | QLayout
    share: int = 1


@dataclass(frozen=True, slots=True)
class Aligned:
    """A widget at its own size, at one side of its place."""

    part: QWidget
    where: Qt.AlignmentFlag


@dataclass(frozen=True, slots=True)
class Air:
    """An empty place: so many pixels, or a share of the room that is left."""

    px: int = 0
    share: int = 0


Part = QWidget | QLayout | Stretched | Aligned | Air
Margins = tuple[int, int, int, int]
NO_MARGINS: Margins = (0, 0, 0, 0)
#: Of a page beside a rail of stations.
PAGE_MARGINS: Margins = (28, 20, 20, 16)


def in_row(
    *parts: Part,
    of: QWidget | None = None,
    gap_px: int | None = None,
    margins_px: Margins = NO_MARGINS,
) -> QHBoxLayout:
    """Return a layout of parts side by side.

    Parameters
    ----------
    of
        The widget that the layout belongs to.
    gap_px
        Between two parts; None for what is usual.
    margins_px
        Left, above, right, below.
    """
    row = QHBoxLayout() if of is None else QHBoxLayout(of)
    return _filled(row, parts, gap_px, margins_px)


def in_column(
    *parts: Part,
    of: QWidget | None = None,
    gap_px: int | None = None,
    margins_px: Margins = NO_MARGINS,
) -> QVBoxLayout:
    """Return a layout of parts one below the other; see `in_row`."""
    column = QVBoxLayout() if of is None else QVBoxLayout(of)
    return _filled(column, parts, gap_px, margins_px)


def clear_layout(layout: QLayout) -> None:
    """Take every widget out of a layout and let go of it; it is out of sight at once."""
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()


def _filled(box: Box, parts: Iterable[Part], gap_px: int | None, margins_px: Margins) -> Box:
    box.setContentsMargins(*margins_px)
    if gap_px is not None:
        box.setSpacing(gap_px)
    for part in parts:
        match part:
            case QWidget():
                box.addWidget(part)
            case QLayout():
                box.addLayout(part)
            case Stretched(QWidget() as widget, share):
                box.addWidget(widget, share)
            case Stretched(QLayout() as layout, share):
                box.addLayout(layout, share)
            case Aligned(widget, where):
                box.addWidget(widget, 0, where)
            case Air(0, share):
                box.addStretch(share)
            case Air(px, _):
                box.addSpacing(px)
    return box
