"""A plot as a page of its own for a report: title, sentence, plot, legend, and what it rests on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPoint, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QRegion
from PySide6.QtWidgets import QWidget

from app.parts.fonts import FontRole, font
from app.parts.style_sheet import palette
from app.parts.theme import Theme, current_theme

#: As wide as a page of text wants it: 11 pt here are 9 pt on 170 mm.
_LEAST_WIDTH_PX = 800
_MARGIN_PX, _GAP_PX, _WIDE_GAP_PX = 24, 8, 16
_KEY_GAP_PX, _KEY_ROW_PX = 20.0, 24.0
_ANY_HEIGHT_PX = 1e6
#: Asked of every report of a laboratory (ISO/IEC 17025:2017, 7.8.2.1 l, from memory).
_RELATES = "Relates only to the sets tested."


@dataclass(frozen=True, slots=True)
class LegendKey:
    """One entry of a legend.

    Attributes
    ----------
    draw
        Draws what stands in the plot around a middle.
    width_px
        Room for it.
    """

    words: str
    draw: Callable[[QPainter, QPointF], None]
    width_px: float = 36.0


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """What a picture consists of, in the colours of the theme in force.

    Attributes
    ----------
    title
        What is shown, or the question that the plot answers.
    sentence
        What it says, in plain words.
    facts
        Condition, channel and n, whichever apply.
    caption
        How it was made: what is left out, what intervals are.
    source
        The study that it was made from.
    plot
        A widget of its own, never shown: no larger than its least size needs.
    """

    title: str
    sentence: str
    facts: Sequence[str]
    keys: Sequence[LegendKey]
    caption: str
    source: str
    plot: QWidget


class PicturePage:
    """Lays a picture out and draws it.

    Attributes
    ----------
    size
        In pixels of the screen.
    """

    def __init__(self, picture: Picture) -> None:
        self._picture = picture
        plot = picture.plot
        least = max(plot.minimumWidth(), plot.minimumSizeHint().width())
        inner = max(_LEAST_WIDTH_PX - 2 * _MARGIN_PX, least)
        self._inner = float(inner)
        # Each for itself: what fills its ground does so in the colours of the window.
        for part in (plot, *plot.findChildren(QWidget)):
            part.setPalette(palette(current_theme()))
        plot.resize(inner, plot.minimumHeight() or 1)
        # Asked at this width: what is narrow may be higher.
        plot.resize(inner, max(plot.minimumHeight(), plot.minimumSizeHint().height()))
        self.size = QSize(inner + 2 * _MARGIN_PX, round(self._lay_out(None)))

    def paint(self, painter: QPainter) -> None:
        """Draw the page from the origin on; the painter begins on an empty device."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(QRectF(QPointF(), self.size), QColor(current_theme().panel))
        self._lay_out(painter)

    def _lay_out(self, painter: QPainter | None) -> float:
        """Go down the page, drawing where there is a painter; return where it ends."""
        picture, theme = self._picture, current_theme()
        y = float(_MARGIN_PX)
        facts = "; ".join(fact for fact in picture.facts if fact)
        y = self._write(painter, y, picture.title, "heading", theme.text)
        y = self._write(painter, y, facts, "body", theme.soft_text) + _GAP_PX
        y = self._write(painter, y, picture.sentence, "body", theme.text) + _GAP_PX
        y = self._draw_plot(painter, y)
        y = self._draw_keys(painter, y, theme)
        y = self._write(painter, y, picture.caption, "small", theme.soft_text)
        source = f"{picture.source}. {_RELATES}" if picture.source else _RELATES
        y = self._write(painter, y, source, "small", theme.soft_text)
        return y - _GAP_PX + _MARGIN_PX

    def _write(
        self, painter: QPainter | None, y: float, text: str, role: FontRole, colour: str
    ) -> float:
        if not text:
            return y
        chosen, wraps = font(role), Qt.TextFlag.TextWordWrap
        room = QRectF(_MARGIN_PX, y, self._inner, _ANY_HEIGHT_PX)
        box = QFontMetricsF(chosen).boundingRect(room, wraps, text)
        if painter is not None:
            painter.setFont(chosen)
            painter.setPen(QColor(colour))
            painter.drawText(QRectF(_MARGIN_PX, y, self._inner, box.height() + 1), wraps, text)
        return y + box.height() + _GAP_PX

    def _draw_plot(self, painter: QPainter | None, y: float) -> float:
        plot = self._picture.plot
        if painter is not None:
            # Without its background, which is the window's.
            only = QWidget.RenderFlag.DrawChildren
            plot.render(painter, QPoint(_MARGIN_PX, round(y)), QRegion(), only)
        return round(y) + plot.height() + _WIDE_GAP_PX

    def _draw_keys(self, painter: QPainter | None, y: float, theme: Theme) -> float:
        keys = self._picture.keys
        if not keys:
            return y
        metrics, x = QFontMetricsF(font("body")), float(_MARGIN_PX)
        for key in keys:
            wide = key.width_px + 8 + metrics.horizontalAdvance(key.words)
            if x > _MARGIN_PX and x + wide > _MARGIN_PX + self._inner:
                x, y = float(_MARGIN_PX), y + _KEY_ROW_PX
            if painter is not None:
                painter.save()
                key.draw(painter, QPointF(x + key.width_px / 2, y + _KEY_ROW_PX / 2))
                painter.restore()
                painter.setFont(font("body"))
                painter.setPen(QColor(theme.text))
                words = QRectF(x + key.width_px + 8, y, wide, _KEY_ROW_PX)
                painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, key.words)
            x += wide + _KEY_GAP_PX
        return y + _KEY_ROW_PX + _GAP_PX
