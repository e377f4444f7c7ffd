"""Where the parts of a ladder stand, from its size and its type."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from app.parts.fonts import font
from app.parts.icons import TOUCH_PX
from app.parts.score_rail import Rail

COMPACT_PX = 48
REGULAR_PX = 72

_SIDE_MARGIN_PX = 20.0
_GAP_PX = 24.0


@dataclass(frozen=True, slots=True)
class LadderLayout:
    """Boxes of one ladder in pixels; `is_compact` means one line of text instead of two."""

    name: QRectF
    rail: Rail
    rail_y: float
    figures: QRectF
    sentence: QRectF
    is_compact: bool

    def rail_point(self, score: float) -> QPointF:
        """Point on the rail at a score."""
        return QPointF(self.rail.position_px(score), self.rail_y)

    @property
    def touch(self) -> QRectF:
        """Box in which a press speaks to the rail."""
        reach = TOUCH_PX / 2
        width = self.rail.right_px - self.rail.left_px
        return QRectF(
            self.rail.left_px - reach, self.rail_y - reach, width + TOUCH_PX, float(TOUCH_PX)
        )


def lay_out(width: float, height: float, step: float, sentence_width: float) -> LadderLayout:
    """Lay out a ladder of this size.

    The columns depend on the width and the type alone, so that ladders under each other line up.
    """
    small, name = QFontMetricsF(font("small")), QFontMetricsF(font("name"))
    is_compact = height < REGULAR_PX - 8
    name_width = min(max(small.averageCharWidth() * 33, name.averageCharWidth() * 22), width * 0.25)
    figures_width = QFontMetricsF(font("body")).horizontalAdvance("10.00") + 22
    right = width - _SIDE_MARGIN_PX
    sentence = QRectF(right - sentence_width, 0, sentence_width, height)
    figures = QRectF(sentence.left() - 20 - figures_width, 0, figures_width, height)
    rail_left = _SIDE_MARGIN_PX + name_width + _GAP_PX
    rail_right = max(figures.left() - _GAP_PX, rail_left + 60)
    return LadderLayout(
        name=QRectF(_SIDE_MARGIN_PX, 0, name_width, height),
        rail=Rail(rail_left, rail_right, step),
        rail_y=round(height * (0.38 if is_compact else 0.5)) + 0.5,
        figures=figures,
        sentence=sentence,
        is_compact=is_compact,
    )
