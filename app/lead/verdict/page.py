"""The verdict page: the finding, what to know before it, and every set beside the control."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Signal
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QPushButton, QStackedLayout, QWidget

from app.background.jobs import fails
from app.lead.verdict.key_question import KeyQuestion
from app.lead.verdict.panels import (
    CautionPanel,
    DriftPanel,
    EarPanel,
    EnoughPanel,
    MatrixPanel,
    TablePanel,
)
from app.lead.verdict.presenter import VerdictPresenter
from app.lead.verdict.settings_panel import SettingsPanel
from app.lead.verdict.settling import Settling
from app.parts.empty_panel import EmptyPanel
from app.parts.file_asking import AskPath
from app.parts.flow_row import FlowRow
from app.parts.headings import FindingHeading, PlainLine, SoftLine
from app.parts.layouts import PAGE_MARGINS, Stretched, in_column, in_row
from app.parts.saving import Exporter
from app.parts.sheet import SheetScroll

_GAP = 16
#: Narrower than this, plots stand one below the other.
_WIDE_PX = 900
#: Lower than this, what the finding rests on has one line.
_LOW_PX = 640


class VerdictPage(QWidget):
    """Shows what the presenter holds and passes choices back to it.

    Signals
    -------
    panel_asked()
        The lead wants to see how far the panel has got.
    """

    panel_asked = Signal()

    def __init__(
        self,
        presenter: VerdictPresenter,
        settling: Settling,
        ask_path: AskPath,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._presenter, self._settling = presenter, settling
        self.exporter = Exporter(self)
        self._heading = FindingHeading()
        self._line = SoftLine()
        self._line.hold_lines(2)
        self._next_step = PlainLine()
        self.cautions = CautionPanel(presenter)
        self.enough = EnoughPanel(presenter, settling)
        self.rows = TablePanel(presenter)
        self.matrix = MatrixPanel(presenter)
        self.ears = EarPanel(presenter)
        self.drift = DriftPanel(presenter)
        self.settings = SettingsPanel(settling)
        for panel in (self.rows, self.ears, self.drift):
            panel.offer_saving(self.exporter, ask_path)
        self._failing = (self.rows, self.matrix, self.ears, self.drift, self.settings)
        self._empty = EmptyPanel(step="See who takes part")
        self._reading = QWidget()
        self._is_wide: bool | None = None
        self._build()
        self.key_question = KeyQuestion(self)
        self._connect()
        self.show_results()

    def showEvent(self, event: QShowEvent) -> None:
        """Keep the verdict up to date while it is in sight."""
        super().showEvent(event)
        self._presenter.reading.begin_looking(self)
        self._place_panels()

    def hideEvent(self, event: QHideEvent) -> None:
        """Work nothing out while nobody looks."""
        super().hideEvent(event)
        self._presenter.reading.end_looking(self)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave a low window to the table."""
        super().resizeEvent(event)
        self._line.hold_lines(1 if self.height() < _LOW_PX else 2)

    def close_open(self) -> bool:
        """Put the question away; tell whether it was open."""
        is_open = not self.key_question.isHidden()
        self.key_question.put_away()
        return is_open

    def take_focus(self) -> None:
        """Put the keys on the table, or on the first step while there is none."""
        if self._pages.currentWidget() is self._empty:
            self._empty.step.setFocus()
        elif self._pages.currentWidget() is self.sheet:
            self.rows.table.setFocus()

    def show_results(self) -> None:
        """Show the verdict and the choice as they are now."""
        presenter = self._presenter
        self._heading.setText(presenter.heading())
        self._line.setText(presenter.standing_line())
        self._line.setVisible(bool(self._line.text()))
        self._show_actions()
        emptiness = presenter.emptiness()
        if emptiness:
            self._line.hide()
            self._empty.show_words(emptiness, "See who takes part")
            self._pages.setCurrentWidget(self._empty)
            return
        if presenter.verdict is None:
            self._pages.setCurrentWidget(self._reading)
            return
        begins = self._pages.currentWidget() is not self.sheet
        self._next_step.setText(presenter.next_step())
        self._next_step.setVisible(bool(self._next_step.text()))
        for part in (self.cautions, self.enough):
            part.setVisible(not fails(part.show_results) and part.has_words)
        for panel in self._failing:
            panel.set_failed(has_failed=fails(panel.show_results))
        self._pages.setCurrentWidget(self.sheet)
        self._place_panels()
        if begins and self.isVisible() and self.window().focusWidget() in (None, self._reading):
            self.take_focus()

    def _build(self) -> None:
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 6, 0)
        self._grid.setSpacing(_GAP)
        for place, part in enumerate(
            (self._next_step, self.cautions, self.enough, self.rows, self.matrix)
        ):
            self._grid.addWidget(part, place, 0, 1, 2)
        self._grid.addWidget(self.settings, 8, 0, 1, 2)
        self.sheet = SheetScroll(self._grid)
        body = QWidget()
        self._pages = QStackedLayout(body)
        for page in (self.sheet, self._empty, self._reading):
            self._pages.addWidget(page)
        self._key = QPushButton("Open the key")
        self._copy = QPushButton("Copy the table")
        self._key_line = SoftLine()
        in_column(
            self._heading,
            self._line,
            Stretched(body),
            in_row(
                Stretched(FlowRow(self._key, self._copy), 2),
                Stretched(self._key_line, 1),
                gap_px=16,
            ),
            of=self,
            gap_px=8,
            margins_px=PAGE_MARGINS,
        )

    def _connect(self) -> None:
        presenter, settling = self._presenter, self._settling
        presenter.changed.connect(self.show_results)
        settling.changed.connect(self.show_results)
        settling.key_opened.connect(self.key_question.put_away)
        settling.key_refused.connect(self.key_question.tell)
        self.key_question.key_asked.connect(settling.open_key)
        self._key.clicked.connect(lambda: self.key_question.ask(settling.unfinished_words()))
        self._copy.clicked.connect(self.rows.table.copy)
        self._empty.asked.connect(self.panel_asked)
        self.sheet.resized.connect(self._place_panels)
        self.sheet.verticalScrollBar().valueChanged.connect(lambda _value: self._keep_heading())
        self.rows.table.came_in_sight.connect(self._bring_in_sight)

    def _show_actions(self) -> None:
        presenter = self._presenter
        is_there = presenter.verdict is not None and not presenter.emptiness()
        self._key.setVisible(presenter.reading.opening is None)
        self._key.setEnabled(self._settling.can_change and is_there)
        self._key_line.setText(self._settling.key_words())
        self._copy.setEnabled(is_there)

    def _place_panels(self) -> None:
        """Put plots side by side where both have room, else one below the other."""
        is_wide = self.sheet.viewport().width() >= _WIDE_PX
        if is_wide == self._is_wide:
            return
        self._is_wide = is_wide
        self.settings.set_wide(is_wide=is_wide)
        for panel in (self.ears, self.drift):
            self._grid.removeWidget(panel)
        if is_wide:
            self._grid.addWidget(self.ears, 6, 0)
            self._grid.addWidget(self.drift, 6, 1)
        else:
            self._grid.addWidget(self.ears, 6, 0, 1, 2)
            self._grid.addWidget(self.drift, 7, 0, 1, 2)

    def _keep_heading(self) -> None:
        table = self.rows.table
        self.rows.table.keep_heading(-table.mapTo(self.sheet.viewport(), QPoint(0, 0)).y())

    def _bring_in_sight(self, top_px: int, high_px: int) -> None:
        view, bar = self.sheet.viewport(), self.sheet.verticalScrollBar()
        top = self.rows.table.mapTo(view, QPoint(0, top_px)).y() + bar.value()
        room = view.height()
        if top < bar.value():
            bar.setValue(top)
        elif top + high_px > bar.value() + room:
            bar.setValue(min(top, top + high_px - room + 8))
