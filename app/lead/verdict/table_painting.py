"""How a row of the verdict's table looks: every mark has a shape and a word beside its colour."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from app.lead.verdict.axes import Axis, tick_words
from app.lead.verdict.table_layout import (
    EDGE_PX,
    Columns,
    Place,
    heading_height,
    row_height,
    sentence_width,
)
from app.parts.fonts import FontRole, font
from app.parts.shapes import draw_focus_ring, draw_line, square_around
from app.parts.theme import Theme, current_theme
from ratings.findings.verdict.cells import Cell
from ratings.reports.verdict_lines import VerdictLine

_HALF = 6.0
_TICK_ROOM_PX = 40.0
_SAYS_SIGNS = {"the same": "=", "otherwise": "≠", "cannot tell": "?"}

LEGEND = (
    "● better, clear.  □ worse, clear.  ○ not certain.  ◆ too small to matter.  ◇ by condition.  "
    "= the measurement says the same, ≠ says otherwise, ? cannot tell."
)


def draw_heading(painter: QPainter, width: float, axis: Axis, *, is_floating: bool) -> None:
    """Draw what the columns are, and the axis of points."""
    theme, columns = current_theme(), Columns.of(width)
    high = QFontMetricsF(font("small")).height()
    box = QRectF(0, 0, width, heading_height())
    painter.fillRect(box, QColor(theme.panel))
    for (left, right), words in (
        (columns.plot, "worse  ◂  points  ▸  better"),
        (columns.measured, "measured change"),
        (columns.word, "in words"),
    ):
        is_plot = left == columns.plot[0]
        place = QRectF(left, 2, right - left - EDGE_PX, high)
        if is_plot:
            painter.setFont(font("small"))
            painter.setPen(QColor(theme.soft_text))
            shown = QFontMetricsF(font("small")).elidedText(
                words, Qt.TextElideMode.ElideRight, right - left
            )
            painter.drawText(QRectF(left, 2, right - left, high), _CENTRE, shown)
        else:
            draw_line(painter, place, words, "small", theme.soft_text)
    painter.setFont(font("small"))
    painter.setPen(QColor(theme.soft_text))
    n_left, n_right = columns.n
    painter.drawText(QRectF(n_left, 2, n_right - n_left, high), _RIGHT, "n")
    for value in axis.ticks(_TICK_ROOM_PX):
        words = "control" if abs(value) < 1e-9 else f"{'+' if value > 0 else ''}{tick_words(value)}"
        place = QRectF(axis.at(value) - 40, high + 4, 80, high)
        painter.drawText(place, _CENTRE, words)
    painter.setPen(QPen(QColor(theme.tick if is_floating else theme.line), 1))
    painter.drawLine(QPointF(0, box.bottom() - 0.5), QPointF(width, box.bottom() - 0.5))


_CENTRE = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def draw_group(painter: QPainter, place: Place) -> None:
    """Draw the heading of rows, and what is measured beside them."""
    theme, box = current_theme(), place.box
    painter.setPen(QPen(QColor(theme.line), 1))
    painter.drawLine(QPointF(0, box.top() + 0.5), QPointF(box.right(), box.top() + 0.5))
    columns = Columns.of(box.width())
    name = QRectF(EDGE_PX, box.top() + 4, columns.plot[1] - EDGE_PX, box.height() - 4)
    draw_line(painter, name, place.group.heading, "strong", theme.text)
    aside = QRectF(
        columns.measured[0], name.top(), columns.n[0] - columns.measured[0], name.height()
    )
    draw_line(painter, aside, place.group.aside, "small", theme.soft_text)


def draw_row(
    painter: QPainter,
    place: Place,
    axis: Axis,
    matters: float,
    *,
    is_chosen: bool,
    has_focus: bool,
) -> None:
    """Draw one row; a chosen one with its sentence."""
    theme, line = current_theme(), place.line
    if line is None:
        return
    whole = place.box
    box = QRectF(whole.left(), whole.top(), whole.width(), row_height())
    if is_chosen:
        _draw_choice(painter, whole, has_focus=has_focus)
    _draw_scale(painter, box, axis, matters)
    columns = Columns.of(box.width())
    left, right = columns.name
    name = QRectF(left + EDGE_PX, box.top(), right - left - EDGE_PX, box.height())
    draw_line(painter, name, place.name, "strong" if is_chosen else "body", theme.text)
    if line.cell.difference is not None:
        draw_point(painter, axis, box.center().y(), line.cell)
    _draw_measured(painter, columns.measured, box, line)
    _draw_words(painter, columns.word, box, line)
    painter.setFont(font("small"))
    painter.setPen(QColor(theme.soft_text))
    left, right = columns.n
    painter.drawText(
        QRectF(left, box.top(), right - left, box.height()), _RIGHT, str(line.cell.evaluators)
    )
    if is_chosen:
        painter.setFont(font("body"))
        painter.setPen(QColor(theme.text))
        below = QRectF(
            2 * EDGE_PX, box.bottom(), sentence_width(box.width()), whole.bottom() - box.bottom()
        )
        painter.drawText(below, int(Qt.TextFlag.TextWordWrap), line.sentence)


def _draw_choice(painter: QPainter, box: QRectF, *, has_focus: bool) -> None:
    theme = current_theme()
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(theme.ground))
    painter.drawRoundedRect(box, 6, 6)
    painter.setBrush(QColor(theme.accent))
    painter.drawRoundedRect(QRectF(0, box.top() + 5, 4, box.height() - 10), 2, 2)
    if has_focus:
        draw_focus_ring(painter, box, 6, theme.text)


def _draw_scale(painter: QPainter, box: QRectF, axis: Axis, matters: float) -> None:
    """Draw the band that is too small to matter, and the control's line."""
    theme = current_theme()
    band = QRectF(axis.at(-matters), box.top(), axis.at(matters) - axis.at(-matters), box.height())
    shade = QColor(theme.tick)
    shade.setAlphaF(0.28)
    painter.fillRect(band, shade)
    for value in axis.ticks(_TICK_ROOM_PX):
        is_control = abs(value) < 1e-9
        painter.setPen(QPen(QColor(theme.rail if is_control else theme.line), 1.5))
        x = axis.at(value)
        painter.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom()))


def _colour(theme: Theme, cell: Cell) -> str:
    if cell.way:
        return theme.higher if cell.way == "better" else theme.lower
    return theme.attention if cell.word == "by condition" else theme.soft_text


def draw_point(painter: QPainter, axis: Axis, y: float, cell: Cell) -> None:
    """Draw a difference with its interval; shape and filling say its word."""
    theme = current_theme()
    colour, value = QColor(_colour(theme, cell)), cell.difference or 0.0
    painter.setPen(QPen(colour, 3, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    if cell.lower is not None and cell.upper is not None:
        painter.drawLine(QPointF(axis.at(cell.lower), y), QPointF(axis.at(cell.upper), y))
    centre = QPointF(axis.at(value), y)
    is_filled = cell.way == "better" or cell.word == "too small to matter"
    painter.setPen(QPen(colour, 2.2))
    painter.setBrush(colour if is_filled else QColor(theme.panel))
    if cell.way == "worse":
        painter.drawRect(square_around(centre, _HALF - 0.5))
    elif cell.word in ("too small to matter", "by condition"):
        painter.drawPolygon(_diamond(centre))
    else:
        painter.drawEllipse(centre, _HALF, _HALF)


def _diamond(centre: QPointF) -> QPolygonF:
    far = _HALF + 1
    return QPolygonF(
        [centre + QPointF(dx, dy) for dx, dy in ((0, -far), (far, 0), (0, far), (-far, 0))]
    )


def _draw_measured(
    painter: QPainter, column: tuple[float, float], box: QRectF, line: VerdictLine
) -> None:
    theme, each = current_theme(), line.beside
    has_value = each.difference is not None
    upper, lower = _two_lines(column, box)
    if not has_value:
        middle = QRectF(column[0], box.top(), column[1] - column[0] - EDGE_PX, box.height())
        draw_line(painter, middle, line.measured, "small", theme.soft_text)
        return
    draw_line(painter, upper, line.measured, "body", theme.text)
    colour = theme.attention if each.says == "otherwise" else theme.soft_text
    draw_line(painter, lower, f"{_SAYS_SIGNS[each.says]} {line.says}", "small", colour)


def _draw_words(
    painter: QPainter, column: tuple[float, float], box: QRectF, line: VerdictLine
) -> None:
    theme, cell = current_theme(), line.cell
    colour = theme.text
    if cell.way:
        colour = theme.side_text("A" if cell.way == "better" else "B")
    role: FontRole = "strong" if cell.way else "body"
    if not line.remarks:
        middle = QRectF(column[0], box.top(), column[1] - column[0] - EDGE_PX, box.height())
        draw_line(painter, middle, line.told, role, colour)
        return
    upper, lower = _two_lines(column, box)
    draw_line(painter, upper, line.told, role, colour)
    is_marked = line.is_apart or cell.without_flagged is not None
    words = ("! " if is_marked else "") + "; ".join(line.remarks)
    draw_line(painter, lower, words, "small", theme.attention if is_marked else theme.soft_text)


def _two_lines(column: tuple[float, float], box: QRectF) -> tuple[QRectF, QRectF]:
    big, small = (QFontMetricsF(font(role)).height() for role in ("body", "small"))
    top = box.top() + (box.height() - big - small) / 2
    wide = column[1] - column[0] - EDGE_PX
    return QRectF(column[0], top, wide, big), QRectF(column[0], top + big, wide, small)
