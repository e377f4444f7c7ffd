"""The road of a listening session: its pairs as posts, and the break on the way."""

from collections.abc import Collection

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.fonts import font
from app.parts.shapes import stroke
from app.parts.theme import current_theme
from ratings.reports.colours import Theme

_BREAK_WIDTH = 1.6  # in spaces between posts
_WIDEST_SPACE_PX = 96.0


class Road(QWidget):
    """Where the evaluator is on the way: pairs done, now and to come; it says so in words too."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pair = 0
        self._pair_count = 0
        self._breaks_after: frozenset[int] = frozenset()
        self._done: frozenset[int] = frozenset()
        self._aside: frozenset[int] = frozenset()
        self._minutes_left: float | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("the session")

    def show_way(
        self,
        pair: int,
        pair_count: int,
        breaks_after: Collection[int] = (),
        minutes_left: float | None = None,
        *,
        done: Collection[int] | None = None,
        aside: Collection[int] = (),
    ) -> None:
        """Show the state of the session.

        Parameters
        ----------
        pair
            The pair at hand, from 1; `pair_count` + 1 when all are done.
        pair_count
            How many pairs the session has.
        breaks_after
            Pairs after which a break is proposed, from 1.
        minutes_left
            Estimate in minutes, None when there is none yet.
        done
            Pairs that are closed, from 1; None for all before the one at hand.
        aside
            Pairs that were set aside and are still open, from 1.
        """
        self._pair, self._pair_count = pair, pair_count
        self._breaks_after = frozenset(breaks_after)
        self._minutes_left = minutes_left
        self._done = frozenset(range(1, pair)) if done is None else frozenset(done)
        self._aside = frozenset(aside)
        self.setAccessibleDescription(f"{self.pair_words()}, {self.time_words()}".strip(", "))
        self.update()

    def pair_words(self) -> str:
        """Say which pair of how many is at hand."""
        if self._pair > self._pair_count:
            return f"all {self._pair_count} pairs done"
        words = f"pair {self._pair} of {self._pair_count}"
        if self._aside:
            words += f", {len(self._aside)} set aside"
        return words

    def time_words(self) -> str:
        """Say how long it will take."""
        if self._minutes_left is None or self._pair > self._pair_count:
            return ""
        minutes = round(self._minutes_left)
        if minutes < 1:
            return "less than a minute left"
        if minutes == 1:
            return "about 1 minute left"
        return f"about {minutes} minutes left"

    def sizeHint(self) -> QSize:
        """Room for the tallest post and two lines of words."""
        return QSize(700, 48)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the road, its posts, and the words at its end."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = QFontMetricsF(font("body"))
        words_width = metrics.horizontalAdvance("pair 00 of 00, 00 set aside") + 8
        self._draw_words(painter, theme, words_width)
        if self._pair_count:
            self._draw_posts(painter, theme, self.width() - words_width - 32)
        painter.end()

    def _draw_words(self, painter: QPainter, theme: Theme, width: float) -> None:
        line = QFontMetricsF(font("body")).height() + 3
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        box = QRectF(self.width() - width, self.height() / 2 - line, width, line)
        painter.setFont(font("strong"))
        painter.setPen(QColor(theme.text))
        painter.drawText(box, right, self.pair_words())
        painter.setFont(font("body"))
        painter.setPen(QColor(theme.soft_text))
        painter.drawText(box.translated(0, line), right, self.time_words())

    def _draw_posts(self, painter: QPainter, theme: Theme, width: float) -> None:
        ground_y = self.height() - 9.0
        spaces = self._pair_count + len(self._breaks_after) * (_BREAK_WIDTH - 1)
        space = min(width / max(spaces, 1), _WIDEST_SPACE_PX)
        x, road_starts = space / 2, 0.0
        painter.setFont(font("small"))
        for pair in range(1, self._pair_count + 1):
            self._draw_post(painter, theme, QPointF(x, ground_y), pair)
            if pair not in self._breaks_after or pair == self._pair_count:
                x += space
                continue
            middle = x + space * _BREAK_WIDTH / 2
            half = self._draw_break(painter, theme, QPointF(middle, ground_y), pair)
            self._draw_road(painter, theme, road_starts, middle - half, ground_y)
            road_starts = middle + half
            x += space * _BREAK_WIDTH
        self._draw_road(painter, theme, road_starts, x - space / 2, ground_y)

    def _draw_post(self, painter: QPainter, theme: Theme, foot: QPointF, pair: int) -> None:
        if pair == self._pair:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.text))
            painter.drawRoundedRect(QRectF(foot.x() - 5, foot.y() - 33, 10, 33), 3, 3)
            return
        post = QRectF(foot.x() - 2.5, foot.y() - 17, 5, 17)
        if pair in self._done:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.done))
        elif pair in self._aside:
            # Beside the road, lying: neither done nor to come.
            post = QRectF(foot.x() - 8, foot.y() - 6, 16, 5)
            painter.setPen(stroke(theme.attention, 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
        else:
            painter.setPen(stroke(theme.rail, 1.2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            post.adjust(0.6, 0.6, -0.6, 0)
        painter.drawRoundedRect(post, 2, 2)

    def _draw_break(self, painter: QPainter, theme: Theme, middle: QPointF, pair: int) -> float:
        """Draw the word in a gap of the road; returns half of the gap's width."""
        word = "break"
        half = QFontMetricsF(font("small")).horizontalAdvance(word) / 2 + 7
        comes_next = pair == self._pair
        painter.setPen(QColor(theme.attention if comes_next else theme.soft_text))
        box = QRectF(middle.x() - half, middle.y() - 8, 2 * half, 16)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, word)
        return half

    def _draw_road(
        self, painter: QPainter, theme: Theme, left: float, right: float, y: float
    ) -> None:
        painter.setPen(stroke(theme.tick, 1.5))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
