"""Where rows, headings and columns of the verdict's table lie, in pixels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF

from app.lead.verdict.axes import Axis
from app.parts.fonts import font
from ratings.reports.verdict_lines import VerdictLine

EDGE_PX = 10.0
_LEAST_ROW_PX = 44.0
_GROUP_AIR_PX = 14.0
_SHARES = {"name": 13, "plot": 31, "measured": 27, "word": 26, "n": 3}


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under one heading.

    Attributes
    ----------
    heading, aside
        What the rows share, and what stands softly beside it.
    names
        What each row is called under this heading.
    """

    heading: str
    aside: str
    names: tuple[str, ...]
    lines: tuple[VerdictLine, ...]


@dataclass(frozen=True, slots=True)
class Columns:
    """Left and right end of each column."""

    name: tuple[float, float]
    plot: tuple[float, float]
    measured: tuple[float, float]
    word: tuple[float, float]
    n: tuple[float, float]

    @classmethod
    def of(cls, width: float) -> Columns:
        """Share a width out."""
        room, left, ends = width - 2 * EDGE_PX, EDGE_PX, []
        for share in _SHARES.values():
            right = left + room * share / sum(_SHARES.values())
            ends.append((left, right))
            left = right
        return cls(*ends)


@dataclass(frozen=True, slots=True)
class Place:
    """A heading or a row.

    Attributes
    ----------
    line
        None for a heading.
    box
        All of it; a chosen row's sentence is below its first `row_height` pixels.
    """

    group: Group
    line: VerdictLine | None
    name: str
    box: QRectF


def row_height() -> float:
    """Return the height of a row of two lines."""
    lines = QFontMetricsF(font("body")).height() + QFontMetricsF(font("small")).height()
    return max(_LEAST_ROW_PX, lines + 8)


def heading_height() -> float:
    """Return the height of the strip that says what the columns are."""
    return 2 * QFontMetricsF(font("small")).height() + 12


def sentence_box(width: float, sentence: str) -> QRectF:
    """Return the size of a sentence that is broken at a width, from (0, 0)."""
    room = QRect(0, 0, round(width), 10_000)
    metrics = QFontMetrics(font("body"))
    return QRectF(metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), sentence))


def sentence_width(width: float) -> float:
    """Return the room that a chosen row's sentence has: lines stay short enough to read."""
    return min(width - 4 * EDGE_PX, 760.0)


def places(
    groups: Sequence[Group], width: float, chosen: tuple[str, str] | None
) -> tuple[Place, ...]:
    """Return where everything lies, from the top."""
    top, found = heading_height(), []
    group_px = QFontMetricsF(font("strong")).height() + _GROUP_AIR_PX
    for group in groups:
        found.append(Place(group, None, group.heading, QRectF(0, top, width, group_px)))
        top += group_px
        for name, line in zip(group.names, group.lines, strict=True):
            high = row_height()
            if (line.code, line.attribute) == chosen:
                high += sentence_box(sentence_width(width), line.sentence).height() + 12
            found.append(Place(group, line, name, QRectF(0, top, width, high)))
            top += high
        top += _GROUP_AIR_PX / 2
    return tuple(found)


def points_axis(reach: float, ends: tuple[float, float]) -> Axis:
    """Return the axis of points: as far to the worse as to the better side."""
    return Axis(-reach, reach, ends[0] + EDGE_PX, ends[1] - EDGE_PX)
