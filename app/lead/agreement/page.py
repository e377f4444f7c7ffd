"""The agreement page: does the panel agree, who stands apart, is each evaluator fit."""

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QPushButton,
    QStackedLayout,
    QWidget,
)

from app.background.jobs import fails
from app.lead.agreement.notes_panel import NotesPanel
from app.lead.agreement.panels import (
    ApartPanel,
    FitnessPanel,
    MatrixPanel,
    NumbersPanel,
    OrderPanel,
)
from app.lead.agreement.pictured_panel import PicturedPanel, order_table
from app.lead.agreement.presenter import AgreementPresenter
from app.lead.agreement.transfers import Transfers
from app.parts.empty_panel import EmptyPanel
from app.parts.fields import Choice
from app.parts.file_asking import AskPath, FilePurpose
from app.parts.flow_row import FlowRow
from app.parts.headings import FindingHeading, PlainLine, SoftLine
from app.parts.layouts import PAGE_MARGINS, Stretched, in_column, in_row
from app.parts.saving import Exporter
from app.parts.sheet import SheetScroll
from ratings.storage.blind_study import utc_now
from ratings.study.file_names import safe_name

_CONDITION_LETTERS = 18
_GAP = 16


class AgreementPage(QWidget):
    """Shows what the presenter holds and passes choices back to it.

    Signals
    -------
    panel_asked()
        The lead wants to see how far the panel has got.
    """

    panel_asked = Signal()

    def __init__(
        self,
        presenter: AgreementPresenter,
        transfers: Transfers,
        ask_path: AskPath,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._transfers = transfers
        self._ask_path = ask_path
        self._is_wide = True
        self._heading = FindingHeading()
        self._beside = PlainLine()
        self._line = SoftLine()
        self._conditions = Choice("condition", least_letters=_CONDITION_LETTERS)
        self.panels = (
            OrderPanel(presenter),
            ApartPanel(presenter),
            NumbersPanel(presenter),
            FitnessPanel(presenter),
            NotesPanel(presenter),
            MatrixPanel(presenter),
        )
        self.exporter = Exporter(self)
        self.exporter.told.connect(transfers.told)
        self.exporter.problem_raised.connect(transfers.problem_raised)
        for panel in self.panels:
            if isinstance(panel, PicturedPanel):
                panel.offer_saving(self.exporter, ask_path)
        self._empty = EmptyPanel(step="See who takes part")
        #: While there is nothing yet: axes without data look like a result of nothing.
        self._reading = QWidget()
        self._build()
        presenter.changed.connect(self.show_results)
        transfers.busy_changed.connect(lambda _busy: self._enable_actions())
        self._conditions.activated.connect(self._choose_condition)
        self._empty.asked.connect(self.panel_asked)
        self.show_results()

    def show_results(self) -> None:
        """Show the results and the choice as they are now."""
        presenter = self._presenter
        emptiness = presenter.emptiness()
        self._enable_actions()
        if emptiness is not None:
            self._heading.setText(emptiness[0])
            self._line.hide()
            self._beside.hide()
            self._empty.show_words(emptiness[1], "See who takes part")
            self._pages.setCurrentWidget(self._empty)
            self._conditions.hide()
            return
        self._heading.setText(presenter.heading())
        self._beside.setText(presenter.beside_line())
        self._beside.setVisible(bool(presenter.beside_line()))
        self._line.setText(presenter.standing_line())
        self._line.show()
        if presenter.judged is None:
            self._pages.setCurrentWidget(self._reading)
            self._conditions.hide()
            return
        begins = self._pages.currentWidget() is self._reading
        self._pages.setCurrentWidget(self.sheet)
        self._show_conditions()
        for panel in self.panels:
            panel.set_failed(has_failed=fails(panel.show_results))
        self._place_panels()
        if begins and self.isVisible() and self.window().focusWidget() in (None, self._reading):
            self.take_focus()

    def take_focus(self) -> None:
        """Put the keys on the first plot, or on the first step while there is none."""
        if self._pages.currentWidget() is self._empty:
            self._empty.step.setFocus()
        elif self._pages.currentWidget() is self._reading:
            self._reading.setFocus()
        else:
            self.panels[0].plot.setFocus()

    def _build(self) -> None:
        self.sheet = SheetScroll(self._build_grid())
        self.sheet.resized.connect(self._place_panels)
        body = QWidget()
        self._pages = QStackedLayout(body)
        self._pages.addWidget(self.sheet)
        self._pages.addWidget(self._empty)
        self._pages.addWidget(self._reading)
        in_column(
            self._heading,
            in_row(
                Stretched(in_column(self._beside, self._line, gap_px=4)),
                self._conditions,
                gap_px=16,
            ),
            Stretched(body),
            self._build_actions(),
            of=self,
            gap_px=8,
            margins_px=PAGE_MARGINS,
        )

    def _build_grid(self) -> QGridLayout:
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(_GAP)
        self._grid.setColumnStretch(0, 11)
        self._grid.setColumnStretch(1, 9)
        self._grid.setRowStretch(0, 1)
        order, apart, numbers, fitness, notes, matrix = self.panels
        self._grid.addWidget(order, 0, 0)
        self._grid.addWidget(apart, 0, 1)
        for row, panel in enumerate((matrix, numbers, fitness, notes), 2):
            self._grid.addWidget(panel, row, 0, 1, 2)
        return self._grid

    def _place_panels(self) -> None:
        # Side by side where both have room, else one below the other.
        order, apart, *_ = self.panels
        needed = order.least_width() + _GAP + apart.least_width()
        is_wide = needed <= self.sheet.viewport().width()
        if is_wide == self._is_wide:
            return
        self._is_wide = is_wide
        for panel in (order, apart):
            self._grid.removeWidget(panel)
        if is_wide:
            self._grid.addWidget(order, 0, 0)
            self._grid.addWidget(apart, 0, 1)
        else:
            self._grid.addWidget(order, 0, 0, 1, 2)
            self._grid.addWidget(apart, 1, 0, 1, 2)

    def _build_actions(self) -> FlowRow:
        self._save_scores = QPushButton("Save the score table (CSV)")
        self._bring_scores = QPushButton("Import scores (CSV)")
        self._save_page = QPushButton("Save the agreement report (HTML)")
        self._save_scores.clicked.connect(self._ask_scores_place)
        self._bring_scores.clicked.connect(self._ask_scores_file)
        self._save_page.clicked.connect(self._ask_page_place)
        self.panels[-1].save.clicked.connect(self._ask_matrix_place)
        return FlowRow(self._save_scores, self._bring_scores, self._save_page)

    def _enable_actions(self) -> None:
        judged, is_free = self._presenter.judged, not self._transfers.is_busy
        has_scores = judged is not None and judged.score_count > 0
        self._save_scores.setEnabled(is_free and has_scores)
        self._save_page.setEnabled(is_free and has_scores)
        self._bring_scores.setEnabled(is_free and not self._presenter.study.is_read_only)

    def _show_conditions(self) -> None:
        titles = self._presenter.conditions
        words = ["all conditions", *titles] if titles else []
        if [self._conditions.itemText(n) for n in range(self._conditions.count())] != words:
            self._conditions.clear()
            for text, title in zip(words, (None, *titles), strict=False):
                self._conditions.addItem(text, title)
            listed = self._conditions.view()
            listed.setMinimumWidth(listed.sizeHintForColumn(0) + 32)
        self._conditions.setVisible(bool(titles))
        self._conditions.setCurrentIndex(self._conditions.findData(self._presenter.condition))

    def _choose_condition(self, place: int) -> None:
        title = self._conditions.itemData(place)
        self._presenter.choose_condition(title if isinstance(title, str) else None)

    def _ask_scores_place(self) -> None:
        purpose = self._saving("Save the score table", "table", "scores", "csv")
        path = self._ask_path(self, purpose)
        if path is not None:
            self._transfers.save_scores(path)

    def _ask_scores_file(self) -> None:
        purpose = FilePurpose("Import scores", "table", "csv", folder=self._beside_the_study())
        path = self._ask_path(self, purpose)
        if path is not None:
            self._transfers.preview_scores(path)

    def _ask_page_place(self) -> None:
        purpose = self._saving("Save the agreement report", "report", "agreement", "html")
        path = self._ask_path(self, purpose)
        judged = self._presenter.judged
        if path is not None and judged is not None:
            self._transfers.save_page(judged, path)

    def _ask_matrix_place(self) -> None:
        purpose = self._saving("Save the table of agreement", "table", "agreement", "csv")
        path = self._ask_path(self, purpose)
        judged = self._presenter.judged
        if path is not None and judged is not None:
            table = order_table(judged.blocks, self._presenter.attribute_name)
            self.exporter.write_table(table, path)

    def _saving(self, title: str, kind: str, what: str, suffix: str) -> FilePurpose:
        name = safe_name(self._presenter.study.facts.name)
        return FilePurpose(
            title,
            kind,
            suffix,
            f"{name} {what} {utc_now():%Y-%m-%d}.{suffix}",
            is_saving=True,
            folder=self._beside_the_study(),
        )

    def _beside_the_study(self) -> Path:
        return self._presenter.study.folder.path.absolute().parent
