"""The grid of a new study: sets down, conditions across, a file in each cell."""

from PySide6.QtCore import QEvent, QObject, QRect, Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QApplication,
    QGridLayout,
    QWidget,
)

from app.lead.new_study.cell import FileCell
from app.lead.new_study.heads import (
    CONTROL_WIDTH_PX,
    ConditionDrawer,
    ConditionHead,
    SetHead,
    fill_with_panel,
)
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.headings import plain_label
from app.parts.layouts import Air, in_column, in_row
from app.parts.sheet import PlainScroll
from ratings.intake.study_draft import Cell

_HEAD_WIDTH_PX = 190
_GAP_PX = 8


class StudyGrid(QWidget):
    """Shows the draft's sets, conditions and files, and passes on what is done to them.

    Signals
    -------
    file_asked(tuple)
        The cell for which a file is to be chosen.
    rebuilt
        Rows or columns came or went.
    """

    file_asked = Signal(object)  # Cell
    rebuilt = Signal()

    def __init__(self, presenter: NewStudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._built_for: tuple[tuple[int, ...], tuple[int, ...]] | None = None
        self._open_condition = 0
        self.sets: dict[int, SetHead] = {}
        self.heads: dict[int, ConditionHead] = {}
        self.cells: dict[Cell, FileCell] = {}
        self._scroll = PlainScroll()
        # Without one, the style draws a corner of its own between the scroll bars.
        self._scroll.setCornerWidget(QWidget())
        for bar in (self._scroll.verticalScrollBar(), self._scroll.horizontalScrollBar()):
            bar.valueChanged.connect(self._pin_heads)
        in_column(self._scroll, of=self)
        self._put_in(self._new_table())
        presenter.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the draft; widgets are made anew only when rows or columns come or go."""
        draft, review = self._presenter.draft, self._presenter.review
        shape = (
            tuple(s.set_id for s in draft.sets),
            tuple(c.condition_id for c in draft.conditions),
        )
        if shape != self._built_for:
            self._build(shape)
            self.rebuilt.emit()
        for tyre_set in draft.sets:
            self.sets[tyre_set.set_id].show_set(tyre_set)
        for condition in draft.conditions:
            head = self.heads[condition.condition_id]
            head.show_condition(condition)
            head.setChecked(condition.condition_id == self._open_condition)
            if condition.condition_id == self._open_condition:
                self.drawer.show_condition(condition)
        self.drawer.setVisible(self._open_condition != 0)
        for cell, widget in self.cells.items():
            was_refused = widget.is_refused
            widget.show_view(self._where(cell), review.cell(cell))
            if widget.is_refused and not was_refused:
                self._scroll.ensureWidgetVisible(widget, 0, 8)
        for line, words in (
            # The page itself says what is wrong with the first one.
            (self._problems, review.problems()[1:]),
            (self._remarks, review.remarks()),
        ):
            line.setText("\n".join(words))
            line.setVisible(bool(words))

    def stops(self) -> list[QWidget]:
        """Give where Tab leads: heads, drawer, then row by row."""
        drawer = self.drawer
        stops: list[QWidget] = list(self.heads.values())
        stops += [drawer.surface, drawer.manoeuvre, drawer.speed, drawer.end_speed, drawer.out]
        for set_id, head in self.sets.items():
            stops += head.stops
            stops += [widget for cell, widget in self.cells.items() if cell[0] == set_id]
        return stops

    def open_condition(self, condition_id: int) -> None:
        """Open the drawer that describes a condition, ready to be typed over."""
        self._open_condition = condition_id
        self.refresh()
        self.drawer.surface.setFocus(Qt.FocusReason.OtherFocusReason)
        self.drawer.surface.selectAll()

    def close_drawer(self) -> None:
        """Close the drawer; the keys go back to the head that opened it."""
        head = self.heads.get(self._open_condition)
        self._open_condition = 0
        if head is not None:
            head.setFocus(Qt.FocusReason.OtherFocusReason)
        self.refresh()

    @property
    def is_open(self) -> bool:
        """Whether the drawer of a condition is open."""
        return self._open_condition != 0

    def _toggle(self, condition_id: int) -> None:
        if condition_id == self._open_condition:
            self.close_drawer()
        else:
            self.open_condition(condition_id)

    def _build(self, shape: tuple[tuple[int, ...], tuple[int, ...]]) -> None:
        known_sets, known_conditions = self._built_for or ((), ())
        self._built_for = shape
        set_ids, condition_ids = shape
        left_from = self._row_with_keys(known_sets)
        if self._open_condition not in condition_ids:
            self._open_condition = 0
        inside = self._new_table()
        # Behind the heads, so that nothing that scrolls shows between them.
        self._inside = inside
        self._behind = [QWidget(inside) for _ in range(2)]
        for behind in self._behind:
            fill_with_panel(behind)
        self._corner = self._caption()
        self._table.addWidget(self._corner, 0, 0)
        self._table.addWidget(self.drawer, 1, 0, 1, len(condition_ids) + 1)
        for column, condition in enumerate(self._presenter.draft.conditions, start=1):
            head = ConditionHead(condition)
            number = condition.condition_id
            head.clicked.connect(lambda _=False, number=number: self._toggle(number))
            self.heads[number] = head
            self._table.addWidget(head, 0, column)
            self._table.setColumnStretch(column, 3)
        for row, set_id in enumerate(set_ids, start=2):
            self._build_row(row, set_id, condition_ids)
        # Put in when complete, so that the keys can go to any of it at once.
        self._put_in(inside)
        self.drawer.hide()
        if left_from is not None and len(set_ids) < len(known_sets):
            # The row that had the keys was removed; they go to the one in its place.
            near = set_ids[min(left_from, len(set_ids) - 1) :]
            for set_id in near[:1]:
                self.sets[set_id].stops[-1].setFocus(Qt.FocusReason.OtherFocusReason)
        self._focus_added(
            [s for s in set_ids if s not in known_sets],
            [c for c in condition_ids if c not in known_conditions],
        )

    def _new_table(self) -> QWidget:
        presenter, self.sets, self.heads, self.cells = self._presenter, {}, {}, {}
        inside = QWidget()
        self._table = QGridLayout()
        self._table.setHorizontalSpacing(_GAP_PX)
        self._table.setVerticalSpacing(_GAP_PX)
        self._table.setColumnMinimumWidth(0, _HEAD_WIDTH_PX)
        self._table.setColumnStretch(0, 2)
        self.drawer = ConditionDrawer()
        self.drawer.condition_changed.connect(
            lambda condition: presenter.change(presenter.draft.with_changed_condition(condition))
        )
        self.drawer.taken_out.connect(presenter.take_out_condition)
        self.drawer.finished.connect(self.close_drawer)
        self._problems, self._remarks = (
            plain_label("", "small", look) for look in ("attention", "soft")
        )
        for line in (self._problems, self._remarks):
            line.setWordWrap(True)
        self._problems.setContentsMargins(10, 6, 10, 6)
        in_column(self._table, self._problems, self._remarks, Air(share=1), of=inside, gap_px=12)
        return inside

    def _put_in(self, inside: QWidget) -> None:
        bars = (self._scroll.verticalScrollBar(), self._scroll.horizontalScrollBar())
        places = [bar.value() for bar in bars]
        before = self._scroll.takeWidget()
        if before is not None:
            # Not at once: the signal that led here may come from a widget inside.
            before.hide()
            before.deleteLater()
        self._scroll.setWidget(inside)
        inside.installEventFilter(self)
        # What is under the pointer stays there when a row comes or goes.
        inside.adjustSize()
        for bar, place in zip(bars, places, strict=True):
            bar.setValue(place)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Pin the heads again whenever the table was laid out."""
        if event.type() in {QEvent.Type.Resize, QEvent.Type.LayoutRequest}:
            QTimer.singleShot(0, self, self._pin_heads)
        return super().eventFilter(watched, event)

    def _pin_heads(self) -> None:
        """Keep conditions at the upper edge and sets at the left one while the table scrolls."""
        down = self._scroll.verticalScrollBar().value()
        across = self._scroll.horizontalScrollBar().value()
        if not self.heads and not self.sets:
            return
        at_left, at_top = self._behind
        corner, rows = self._corner.geometry(), [row.geometry() for row in self.sets.values()]
        wide = corner.width() + _GAP_PX
        at_left.setGeometry(
            QRect(across, rows[0].top(), wide, rows[-1].bottom() - rows[0].top())
            if rows
            else QRect()
        )
        at_top.setGeometry(0, down, self._inside.width(), corner.height() + _GAP_PX)
        at_left.raise_()
        for row in self.sets.values():
            row.move(across, row.y())
            row.raise_()
        at_top.raise_()
        for head in self.heads.values():
            head.move(head.x(), down)
            head.raise_()
        self._corner.move(across, down)
        self._corner.raise_()

    def _row_with_keys(self, set_ids: tuple[int, ...]) -> int | None:
        focused = QApplication.focusWidget()
        if focused is None:
            return None
        rows = [self.sets[set_id] for set_id in set_ids]
        return next((n for n, row in enumerate(rows) if row.isAncestorOf(focused)), None)

    def _build_row(self, row: int, set_id: int, condition_ids: tuple[int, ...]) -> None:
        presenter = self._presenter
        head = SetHead(next(s for s in presenter.draft.sets if s.set_id == set_id))
        head.renamed.connect(
            lambda name: presenter.change(presenter.draft.with_set_name(set_id, name))
        )
        head.control_chosen.connect(lambda: presenter.change(presenter.draft.with_control(set_id)))
        head.taken_out.connect(lambda: presenter.take_out_set(set_id))
        self.sets[set_id] = head
        self._table.addWidget(head, row, 0)
        for column, condition_id in enumerate(condition_ids, start=1):
            cell = (set_id, condition_id)
            widget = FileCell(self._where(cell))
            widget.clicked.connect(lambda _=False, cell=cell: self.file_asked.emit(cell))
            widget.files_dropped.connect(lambda paths, cell=cell: presenter.put_files(paths, cell))
            widget.emptied.connect(lambda cell=cell: presenter.empty_cell(cell))
            self.cells[cell] = widget
            self._table.addWidget(widget, row, column)

    def _focus_added(self, set_ids: list[int], condition_ids: list[int]) -> None:
        # One that was added by hand is waiting for its name; files bring their names along.
        cells = [placed.cell for placed in self._presenter.draft.files]
        if any(cell[0] in set_ids or cell[1] in condition_ids for cell in cells):
            return
        if len(set_ids) == 1 and not condition_ids:
            name = self.sets[set_ids[0]].name
            name.setFocus(Qt.FocusReason.OtherFocusReason)
            name.selectAll()
        elif len(condition_ids) == 1 and not set_ids:
            self.open_condition(condition_ids[0])

    def _caption(self) -> QWidget:
        caption = QWidget()
        fill_with_panel(caption)
        control, name = (plain_label(words, "small", "soft") for words in ("control", "set"))
        control.setFixedWidth(CONTROL_WIDTH_PX + 4)
        name.setFixedWidth(60)
        in_row(control, name, Air(share=1), of=caption, gap_px=0, margins_px=(0, 0, 0, 4))
        return caption

    def _where(self, cell: Cell) -> str:
        draft = self._presenter.draft
        name = next(s.name for s in draft.sets if s.set_id == cell[0])
        title = next(c.title for c in draft.conditions if c.condition_id == cell[1])
        return f"{name} on {title}"
