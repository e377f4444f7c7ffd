"""The table of the verdict: a row for each set and attribute on one axis of points."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QGuiApplication,
    QHelpEvent,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.lead.verdict.axes import Axis
from app.lead.verdict.table_layout import (
    Columns,
    Group,
    Place,
    heading_height,
    places,
    points_axis,
)
from app.lead.verdict.table_painting import draw_group, draw_heading, draw_row
from app.parts.plain import plain_tooltip
from ratings.reports.verdict_lines import VerdictLine

_PAGE_OF_ROWS = 8
_STEPS = {
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_PageUp: -_PAGE_OF_ROWS,
    Qt.Key.Key_PageDown: _PAGE_OF_ROWS,
}
#: Further than any table.
_ALL_ROWS = 1_000_000


class _Heading(QWidget):
    """Says what the columns are; stays in sight while the rows pass under it."""

    def __init__(self, table: VerdictTable) -> None:
        super().__init__(table)
        self._table = table
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw it."""
        painter = QPainter(self)
        draw_heading(painter, self.width(), self._table.axis, is_floating=self.y() > 0)
        painter.end()


class VerdictTable(QWidget):
    """Draws groups of rows; a click or the arrow keys choose one, whose sentence is shown whole.

    Signals
    -------
    line_chosen(str, str)
        Code of the set and key of the attribute of the row that was chosen.
    came_in_sight(int, int)
        Top and height in pixels of the row that the keys went to.
    """

    line_chosen = Signal(str, str)
    came_in_sight = Signal(int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._groups: tuple[Group, ...] = ()
        self._places: tuple[Place, ...] = ()
        self._chosen: tuple[str, str] | None = None
        self._matters, self._reach = 0.5, 1.5
        self._text = ""
        self.axis = Axis(-1.5, 1.5, 0.0, 1.0)
        self._heading = _Heading(self)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("verdict on each set, attribute by attribute")

    def show_groups(
        self,
        groups: Sequence[Group],
        chosen: tuple[str, str] | None,
        matters: float,
        reach: float,
        as_text: str = "",
    ) -> None:
        """Show rows.

        Parameters
        ----------
        chosen
            Code of the set and key of the attribute of the chosen row.
        matters
            Up to so many points a difference is too small to matter.
        reach
            Of the axis, in points to each side.
        as_text
            The same table as Ctrl+C copies it.
        """
        self._groups, self._chosen, self._matters = tuple(groups), chosen, matters
        self._reach, self._text = reach, as_text
        self._lay_out()
        line = self.chosen_line
        self.setAccessibleDescription("" if line is None else self._spoken(line))
        self.update()
        self._heading.update()

    @property
    def rows(self) -> tuple[Place, ...]:
        """The rows from the top, without headings."""
        return tuple(place for place in self._places if place.line is not None)

    @property
    def chosen_line(self) -> VerdictLine | None:
        """The row whose sentence is shown."""
        return next((p.line for p in self.rows if self._is_chosen(p)), None)

    def keep_heading(self, hidden_px: int) -> None:
        """Keep the columns' names in sight while the table's first pixels are out of it."""
        lowest = max(self.height() - self._heading.height(), 0)
        self._heading.move(0, min(max(hidden_px, 0), lowest))
        self._heading.update()

    def copy(self) -> None:
        """Put the table on the clipboard."""
        QGuiApplication.clipboard().setText(self._text)

    def minimumSizeHint(self) -> QSize:
        """Leave room for words in every column."""
        return QSize(520, self.height())

    def sizeHint(self) -> QSize:
        """Hold all rows: the page scrolls, not the table."""
        return QSize(900, self.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the sentence anew."""
        super().resizeEvent(event)
        if event.oldSize().width() != event.size().width():
            self._lay_out()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go up and down the rows, or copy them."""
        key = Qt.Key(event.key())
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif key in _STEPS:
            self._step(_STEPS[key])
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._step(-_ALL_ROWS if key == Qt.Key.Key_Home else _ALL_ROWS)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        for place in self.rows:
            if place.box.contains(event.position()):
                self._choose(place)
                return

    def event(self, event: QEvent) -> bool:
        """Tell a row's whole sentence where the pointer rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            place = next((p for p in self.rows if p.box.contains(event.pos())), None)
            words = "" if place is None or place.line is None else place.line.sentence
            QToolTip.showText(event.globalPos(), plain_tooltip(words) if words else "", self)
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw what is in sight: a table may have hundreds of rows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        seen = QRectF(event.rect())
        for place in self._places:
            if not place.box.intersects(seen):
                continue
            if place.line is None:
                draw_group(painter, place)
            else:
                draw_row(
                    painter,
                    place,
                    self.axis,
                    self._matters,
                    is_chosen=self._is_chosen(place),
                    has_focus=self.hasFocus(),
                )
        painter.end()

    def _lay_out(self) -> None:
        width = float(max(self.width(), 1))
        self._places = places(self._groups, width, self._chosen)
        self.axis = points_axis(self._reach, Columns.of(width).plot)
        bottom = self._places[-1].box.bottom() if self._places else heading_height()
        self.setFixedHeight(round(bottom) + 8)
        self._heading.resize(self.width(), round(heading_height()))
        self.keep_heading(self._heading.y())

    def _is_chosen(self, place: Place) -> bool:
        line = place.line
        return line is not None and (line.code, line.attribute) == self._chosen

    def _step(self, steps: int) -> None:
        rows = self.rows
        here = next((n for n, place in enumerate(rows) if self._is_chosen(place)), 0)
        if not rows:
            return
        self._choose(rows[min(max(here + steps, 0), len(rows) - 1)])
        place = next((place for place in self.rows if self._is_chosen(place)), None)
        if place is not None:
            # With what stands above it: the first row brings the columns' names back.
            is_first = place.line is rows[0].line
            top = 0 if is_first else round(place.box.top() - self._heading.height())
            self.came_in_sight.emit(top, round(place.box.bottom()) - top)

    def _choose(self, place: Place) -> None:
        if place.line is not None:
            self.line_chosen.emit(place.line.code, place.line.attribute)

    def _spoken(self, line: VerdictLine) -> str:
        return f"{line.set_name}, {line.attribute_name}: {line.word}. {line.sentence}"
