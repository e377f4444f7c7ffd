"""How a ladder is drawn: rail, marks, figures and words."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter

from app.parts.fonts import font
from app.parts.ladder_layout import LadderLayout
from app.parts.score_rail import BORDERLINE, HIGHEST, LOWEST, Marks, TickKind, score_text
from app.parts.shapes import draw_side_shape, square_around, stroke
from ratings.reports.colours import Theme
from ratings.study.listening import Side

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_CENTRE = Qt.AlignmentFlag.AlignCenter
_TICK_REACH_PX: dict[TickKind, float] = {"step": 2.0, "half": 4.5, "borderline": 12.0, "end": 7.0}


@dataclass(frozen=True, slots=True)
class Pointer:
    """The place under the mouse: a score, and the side that would take it."""

    side: Side
    score: float
    is_held: bool = False


@dataclass(frozen=True, slots=True)
class Typed:
    """A number that is being typed: its side, its text, and the score that it would be, if any."""

    side: Side
    text: str
    score: float | None


def draw_rail(painter: QPainter, layout: LadderLayout, theme: Theme, *, is_locked: bool) -> None:
    """Draw the rail with light ticks, the borderline marked once, and light figures."""
    rail_colour = theme.tick if is_locked else theme.rail
    painter.setPen(stroke(rail_colour, 1.5))
    painter.drawLine(layout.rail_point(LOWEST), layout.rail_point(HIGHEST))
    for score, kind in layout.rail.ticks():
        point, reach = layout.rail_point(score), _TICK_REACH_PX[kind]
        heavy = kind in {"borderline", "end"}
        painter.setPen(stroke(rail_colour if heavy else theme.tick, 1.5 if heavy else 1.0))
        painter.drawLine(
            QPointF(point.x(), point.y() - reach), QPointF(point.x(), point.y() + reach)
        )
    painter.setFont(font("small"))
    painter.setPen(QColor(theme.soft_text))
    for score in range(int(LOWEST), int(HIGHEST) + 1):
        painter.drawText(_beside_rail(layout, score, 1), _CENTRE, score_text(score, 1))


def draw_rail_words(
    painter: QPainter, layout: LadderLayout, words: tuple[str, str, str], theme: Theme
) -> None:
    """Draw the words for 1, 5 and 10 above the rail."""
    painter.setFont(font("small"))
    painter.setPen(QColor(theme.soft_text))
    box = QRectF(layout.rail.left_px, 0, layout.rail.right_px - layout.rail.left_px, 1)
    box.setHeight(_line_height())
    box.moveCenter(QPointF(box.center().x(), _beside_rail(layout, BORDERLINE, -1).center().y()))
    painter.drawText(box, _LEFT, words[0])
    painter.drawText(_beside_rail(layout, BORDERLINE, -1), _CENTRE, words[1])
    painter.drawText(box, _RIGHT, words[2])


def draw_marks(
    painter: QPainter, layout: LadderLayout, marks: Marks, theme: Theme, surface: str
) -> None:
    """Draw both marks and the bar from the worse to the better; equal marks sit in each other."""
    half = 8.5 if layout.is_compact else 9.0
    square_half = half + 3 if marks.difference == 0 else half
    disc_half = half
    if marks.a is not None and marks.b is not None:
        apart = abs(layout.rail.position_px(marks.a) - layout.rail.position_px(marks.b))
        # Marks that touch: a smaller disc leaves the square in sight.
        disc_half = half - 3 if apart < 2 * half else half
        if marks.better is not None:
            painter.setPen(stroke(theme.side(marks.better), 5.0))
            painter.drawLine(layout.rail_point(marks.a), layout.rail_point(marks.b))
    if marks.b is not None:
        centre = layout.rail_point(marks.b)
        painter.fillRect(square_around(centre, square_half), QColor(surface))
        draw_side_shape(painter, "B", centre, square_half, theme)
    if marks.a is not None:
        centre = layout.rail_point(marks.a)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(surface))
        painter.drawEllipse(centre, disc_half + 1.5, disc_half + 1.5)
        draw_side_shape(painter, "A", centre, disc_half, theme)


def draw_pointer(
    painter: QPainter, layout: LadderLayout, pointer: Pointer, theme: Theme, surface: str
) -> None:
    """Draw the score under the mouse, with a hair line where no mark stands yet."""
    point = layout.rail_point(pointer.score)
    colour = theme.side_text(pointer.side)
    if not pointer.is_held:
        painter.setPen(stroke(colour, 1.5))
        painter.drawLine(QPointF(point.x(), point.y() - 12), QPointF(point.x(), point.y() + 12))
    text = score_text(pointer.score, layout.rail.step)
    width = QFontMetricsF(font("small")).horizontalAdvance(text) + 12
    row = _beside_rail(layout, pointer.score, 1)
    box = QRectF(row.center().x() - width / 2, row.top(), width, row.height())
    # The score covers the 1, 5 or 10 that it would run into.
    painter.fillRect(box, QColor(surface))
    painter.setFont(font("small"))
    painter.setPen(QColor(colour))
    painter.drawText(box, _CENTRE, text)


def draw_name(
    painter: QPainter, layout: LadderLayout, name: str, definition: str, theme: Theme
) -> None:
    """Draw what is judged, and under it what that means."""
    name_metrics = QFontMetricsF(font("name"))
    width = layout.name.width()
    name_height = name_metrics.height()
    lines = _definition_lines(definition, width, 1 if layout.is_compact else 2)
    block = name_height + _line_height() * len(lines) + (3 if lines else 0)
    top = (layout.name.height() - block) / 2
    painter.setFont(font("name"))
    painter.setPen(QColor(theme.text))
    elide = Qt.TextElideMode.ElideRight
    box = QRectF(layout.name.left(), top, width, name_height)
    painter.drawText(box, _LEFT, name_metrics.elidedText(name, elide, width))
    painter.setFont(font("small"))
    painter.setPen(QColor(theme.soft_text))
    under = QRectF(box.left(), box.bottom() + 3, width, _line_height())
    for line in lines:
        painter.drawText(under, _LEFT, line)
        under.translate(0, _line_height())


def draw_figures(
    painter: QPainter, layout: LadderLayout, marks: Marks, theme: Theme, typed: Typed | None = None
) -> None:
    """Draw both scores with the shapes of their sides, A above B; nothing for what is not rated.

    What is being typed stands with a caret in the place of its score.
    """
    high = _figure_row(layout)
    middle = layout.figures.height() / 2
    painter.setFont(font("body"))
    rows: tuple[tuple[Side, float], ...] = (("A", middle - high / 2), ("B", middle + high / 2))
    for side, y in rows:
        score = marks.of(side)
        is_typed = typed is not None and typed.side == side
        if score is None and not is_typed:
            continue
        draw_side_shape(painter, side, QPointF(layout.figures.left() + 6, y), 5.5, theme)
        box = QRectF(layout.figures.left(), y - high / 2, layout.figures.width(), high)
        if typed is not None and is_typed:
            painter.setPen(QColor(theme.side_text(side)))
            painter.drawText(box, _RIGHT, f"{typed.text}_")
        elif score is not None:
            painter.setPen(QColor(theme.text))
            painter.drawText(box, _RIGHT, score_text(score, layout.rail.step))


def draw_sentence(painter: QPainter, layout: LadderLayout, sentence: str, theme: Theme) -> None:
    """Draw what the marks say, level with A's figure, so that a button has room below."""
    painter.setFont(font("body"))
    painter.setPen(QColor(theme.soft_text))
    high = _figure_row(layout)
    # A low ladder has little room for the button below.
    middle = layout.sentence.height() / 2 - (3 if layout.is_compact else 0)
    box = QRectF(layout.sentence.left(), middle - high, layout.sentence.width(), high)
    elide = Qt.TextElideMode.ElideRight
    fitting = QFontMetricsF(font("body")).elidedText(sentence, elide, box.width())
    painter.drawText(box, _RIGHT, fitting)


def _definition_lines(definition: str, width: float, most: int) -> list[str]:
    """Break a definition between words; what does not fit ends in dots."""
    metrics = QFontMetricsF(font("small"))
    lines: list[str] = []
    words = definition.split()
    while words and len(lines) < most:
        count = len(words)
        while count > 1 and metrics.horizontalAdvance(" ".join(words[:count])) > width:
            count -= 1
        is_last = len(lines) == most - 1
        line = " ".join(words if is_last else words[:count])
        lines.append(metrics.elidedText(line, Qt.TextElideMode.ElideRight, width))
        words = [] if is_last else words[count:]
    return lines


def _figure_row(layout: LadderLayout) -> float:
    return QFontMetricsF(font("body")).height() + (1 if layout.is_compact else 4)


def _line_height() -> float:
    return QFontMetricsF(font("small")).height()


def _beside_rail(layout: LadderLayout, score: float, direction: int) -> QRectF:
    """Box for a small word at a score, above (-1) or below (1) the rail."""
    offset = (14.0 if layout.is_compact else 18.0) + _line_height() / 2 - 3
    centre = layout.rail_point(score) + QPointF(0, direction * offset)
    return QRectF(centre.x() - 60, centre.y() - _line_height() / 2, 120, _line_height())
