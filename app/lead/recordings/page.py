"""The recordings page: the finding, the runs, and ways to look at what was measured."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.lead.recordings.bands_editor import BandsEditor, BandsPresenter
from app.lead.recordings.bringing.page import AskFiles, BringPage
from app.lead.recordings.bringing.presenter import BringPresenter
from app.lead.recordings.bringing.run_settings import RunSettingsPresenter
from app.lead.recordings.bringing.run_settings_page import RunSettingsPage
from app.lead.recordings.form_page import scrolled
from app.lead.recordings.looks.bands_panel import BandsPanel
from app.lead.recordings.looks.figures_panel import FiguresPanel
from app.lead.recordings.looks.look_panel import LookPanel
from app.lead.recordings.measuring_row import MeasuringRow
from app.lead.recordings.presenter import RecordingsPresenter, View
from app.lead.recordings.runs_panel import RunsPanel
from app.lead.recordings.views import Shelf, ViewRow
from app.parts.buttons import PrimaryButton
from app.parts.empty_panel import EmptyPanel
from app.parts.fields import Choice
from app.parts.file_asking import AskPath, ask_recordings, dropped_files
from app.parts.flow_row import FlowRow
from app.parts.headings import FindingHeading, SoftLine
from app.parts.plain import plain_tooltip
from app.parts.saving import Exporter
from app.parts.theme import theme_keeper
from ratings.study.wording import counted

_WIDE_PX = 1300
#: Below this height the page scrolls, and nothing inside it.
_LOW_PX = 640
_NARROW_LETTERS, _WIDE_LETTERS = 15, 34


class RecordingsPage(QWidget):
    """Shows what the presenter holds; bringing in and the bands have pages of their own in it.

    Signals
    -------
    form_left()
        Back from one of those pages, and nothing that was told there holds any more.
    """

    form_left = Signal()

    def __init__(
        self,
        presenter: RecordingsPresenter,
        bringing: BringPresenter,
        ask_path: AskPath,
        ask_files: AskFiles = ask_recordings,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.presenter, self.bringing = presenter, bringing
        self._ask_path = ask_path
        self.exporter = Exporter(self)
        self.bands = BandsPresenter(self)
        self.run_settings = RunSettingsPresenter(presenter.desk, self)
        self.setAcceptDrops(not presenter.is_read_only)
        self.heading = FindingHeading()
        self.line = SoftLine()
        self.conditions = Choice("condition", least_letters=_NARROW_LETTERS)
        self.channels = Choice("channel", least_letters=12)
        self.views = ViewRow(
            {
                "runs": "Runs",
                "spectrum": "Spectrum",
                "bands": "Bands",
                "map": "Map",
                "speed": "Against speed",
                "figures": "Figures",
            }
        )
        self.runs = RunsPanel(presenter)
        self.empty = EmptyPanel(
            (
                "The recorded runs of every set: what quality control says of them, their "
                "levels, spectra and maps, and how far each set is from the control. Three "
                "runs of each set show how far runs scatter. First step: import the files, "
                "or drop them here."
            ),
            "Import runs",
        )
        self.unmeasured = EmptyPanel()
        #: Made when they are first looked at: plots take a while to load.
        self.looks: dict[View, LookPanel] = {}
        self._ask_files = ask_files
        self._bring_page: BringPage | None = None
        self.editor = BandsEditor(self.bands)
        self.settings_page = RunSettingsPage(self.run_settings, ask_path)
        self.describe = QPushButton("Edit run details")
        self.measuring = MeasuringRow(presenter)
        self.bring = QPushButton("Import runs")
        self.measure = PrimaryButton("")
        self._build()
        self._connect()
        self.show_results()

    def show_results(self) -> None:
        """Show results, choice and state as they are now."""
        presenter = self.presenter
        self.heading.setText(presenter.heading())
        self.line.setText(presenter.standing_line())
        has_runs = presenter.reading is not None and bool(presenter.reading.runs)
        self._show_choosers()
        self.views.setVisible(has_runs)
        self.views.show_view(presenter.view)
        self._show_actions()
        if presenter.reading is not None and not has_runs:
            self._shelf.show_panel(self.empty)
            return
        if presenter.view == "runs":
            self.runs.show_results()
            self._shelf.show_panel(self.runs)
            return
        emptiness = presenter.emptiness()
        if emptiness:
            # Axes without data look like a result of nothing.
            self.unmeasured.show_words(emptiness, self._step_words())
            self._shelf.show_panel(self.unmeasured)
            return
        panel = self._look(presenter.view)
        panel.show_results()
        self._shelf.show_panel(panel)

    def take_focus(self) -> None:
        """Put the keys where the page begins."""
        if self._shelf.shown is self.empty:
            self.empty.step.setFocus()
        else:
            self.views.buttons[self.presenter.view].setFocus()

    @property
    def bring_page(self) -> BringPage:
        """The page that brings runs in; sets are named there, so it is made when asked for."""
        if self._bring_page is None:
            self._bring_page = BringPage(self.bringing, self._ask_path, self._ask_files)
            self._bring_page.left.connect(self.show_runs)
            self._bring_page.left.connect(self.form_left)
            self._pages.addWidget(self._bring_page)
        return self._bring_page

    def show_bringing(self) -> None:
        """Show the page that brings runs in."""
        self._pages.setCurrentWidget(self.bring_page)
        self.bring_page.take_focus()

    def show_bands(self) -> None:
        """Show the editor of bands."""
        if self.presenter.reading is not None:
            self.bands.begin(self.presenter.reading.bands)
            self._pages.setCurrentWidget(self.editor)

    def show_settings(self) -> None:
        """Show what is said of the runs."""
        if self.presenter.reading is not None:
            self.run_settings.show_runs(self.presenter.reading.runs)
            self._pages.setCurrentWidget(self.settings_page)
            self.settings_page.runs.setFocus()

    def show_runs(self) -> None:
        """Go back to the page itself."""
        self._pages.setCurrentWidget(self._scroll)
        self.take_focus()

    def close_open(self) -> bool:
        """Close the page that is open over the runs; False when there is none."""
        shown = self._pages.currentWidget()
        if isinstance(shown, (BandsEditor, RunSettingsPage, BringPage)):
            shown.go_back()
            return True
        return False

    def at_stake(self) -> str:
        """Say what would be lost if the desk were left now; empty when nothing."""
        holders = (self.bands, self.run_settings, self.bringing, self.presenter.measuring)
        return " ".join(words for each in holders if (words := each.at_stake()))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Show that files can be dropped here."""
        if dropped_files(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the files to where runs are brought in."""
        event.acceptProposedAction()
        self.bringing.add_files(dropped_files(event.mimeData()))
        self.show_bringing()

    def _look(self, view: View) -> LookPanel:
        if view not in self.looks:
            panel = self._make(view)
            self.looks[view] = panel
        return self.looks[view]

    def _make(self, view: View) -> LookPanel:
        # Inside: pyqtgraph takes longer to load than the window to open. Never on a worker's
        # thread: what Qt makes while it loads would belong there, and die with a crash.
        from app.lead.recordings.looks.map_panel import MapPanel
        from app.lead.recordings.looks.spectrum_panel import SpectrumPanel
        from app.lead.recordings.looks.speed_panel import SpeedPanel

        kinds: dict[View, type[LookPanel]] = {
            "spectrum": SpectrumPanel,
            "bands": BandsPanel,
            "map": MapPanel,
            "speed": SpeedPanel,
            "figures": FiguresPanel,
        }
        panel = kinds[view](self.presenter, self.exporter, self._ask_path)
        panel.flatten(is_flat=self.height() < _LOW_PX)
        if isinstance(panel, BandsPanel):
            panel.edit.clicked.connect(self.show_bands)
            panel.edit.setEnabled(not self.presenter.is_read_only)
        return panel

    def _show_choosers(self) -> None:
        presenter = self.presenter
        is_looking = presenter.view != "runs"
        titles = [condition.title for condition in presenter.conditions]
        _offer(self.conditions, [(title, title) for title in titles])
        condition = presenter.condition
        if condition is not None:
            self.conditions.setCurrentIndex(self.conditions.findData(condition.title))
            self.conditions.setToolTip(plain_tooltip(condition.title))
        known = () if presenter.reading is None else presenter.reading.channels
        _offer(self.channels, [(presenter.channel_words(each), each) for each in known])
        self.channels.setCurrentIndex(self.channels.findData(presenter.channel))
        self.conditions.setVisible(is_looking and len(titles) > 1)
        self.channels.setVisible(is_looking and len(known) > 1)

    def _step_words(self) -> str:
        presenter = self.presenter
        waiting = len(presenter.waiting)
        is_free = presenter.measuring.state is None and not presenter.is_read_only
        if not waiting or not is_free:
            return ""
        return f"Measure {counted(waiting, 'run')}"

    def _measure_from_a_look(self) -> None:
        # How far it has got stands with the runs.
        self.presenter.choose_view("runs")
        self.presenter.measure()
        self.take_focus()

    def _show_actions(self) -> None:
        presenter = self.presenter
        waiting, is_runs = len(presenter.waiting), presenter.view == "runs"
        can_change = not presenter.is_read_only
        has_runs = presenter.reading is not None and bool(presenter.reading.runs)
        had_keys = self.measure.hasFocus() or self.measuring.stop.hasFocus()
        self.bring.setVisible(is_runs and has_runs and can_change)
        self.describe.setVisible(is_runs and has_runs and can_change)
        self.measure.setText(f"Measure {counted(waiting, 'run')}")
        self.measure.setVisible(
            is_runs and bool(waiting) and can_change and presenter.measuring.state is None
        )
        self.measuring.show_state()
        step = self.measure if self.measuring.isHidden() else self.measuring.stop
        if had_keys and not step.hasFocus():
            # The button that had the keys is gone; they go to what stands in its place.
            (self.views.buttons[presenter.view] if step.isHidden() else step).setFocus()

    def _build(self) -> None:
        top = FlowRow(self.views, self.conditions, self.channels)
        self._shelf = Shelf()
        self._shelf.show_panel(self.runs)
        foot = QHBoxLayout()
        foot.setSpacing(12)
        foot.addWidget(self.bring)
        foot.addWidget(self.describe)
        foot.addWidget(self.measuring, 1)
        foot.addStretch(0)
        foot.addWidget(self.measure)
        self._own = QWidget()
        column = QVBoxLayout(self._own)
        column.setContentsMargins(28, 20, 20, 16)
        column.setSpacing(8)
        column.addWidget(self.heading)
        column.addWidget(self.line)
        column.addWidget(top)
        column.addWidget(self._shelf, 1)
        column.addLayout(foot)
        self._scroll = scrolled(self._own)
        self._pages = QStackedLayout(self)
        for page in (self._scroll, self.editor, self.settings_page):
            self._pages.addWidget(page)

    def _connect(self) -> None:
        presenter = self.presenter
        presenter.changed.connect(self.show_results)
        presenter.curves_changed.connect(self._show_curves)
        self.views.view_chosen.connect(presenter.choose_view)
        self.conditions.activated.connect(
            lambda place: presenter.choose_condition(self.conditions.itemData(place))
        )
        self.channels.activated.connect(
            lambda place: presenter.choose_channel(self.channels.itemData(place))
        )
        self.bring.clicked.connect(self.show_bringing)
        self.empty.asked.connect(self.show_bringing)
        self.unmeasured.asked.connect(self._measure_from_a_look)
        self.measure.clicked.connect(presenter.measure)
        self.bringing.runs_brought.connect(presenter.look)
        self.bringing.runs_brought.connect(self._leave_when_all_are_in)
        for form in (self.editor, self.settings_page):
            form.left.connect(self.show_runs)
            form.left.connect(self.form_left)
        self.describe.clicked.connect(self.show_settings)
        self.run_settings.kept.connect(presenter.measure_again)
        self.bands.kept.connect(self._keep_bands)
        keeper = theme_keeper()
        if keeper is not None:
            keeper.theme_changed.connect(self._wear_theme)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take a smaller heading where there is little room."""
        super().resizeEvent(event)
        is_wide = self.width() >= _WIDE_PX
        is_low = self.height() < _LOW_PX
        self.runs.flatten(is_flat=is_low)
        for panel in self.looks.values():
            panel.flatten(is_flat=is_low)
        self.heading.be_small(is_small=not is_wide)
        self.conditions.setMinimumContentsLength(_WIDE_LETTERS if is_wide else _NARROW_LETTERS)

    def _show_curves(self) -> None:
        if self.presenter.emptiness():
            self.show_results()
        elif self.presenter.view in self.looks:
            self.looks[self.presenter.view].show_results()

    def _wear_theme(self, _name: str) -> None:
        for panel in self.looks.values():
            panel.show_results()

    def _keep_bands(self, bands: object) -> None:
        self.presenter.change_bands(bands)  # type: ignore[arg-type]  # as the signal says
        self.show_runs()

    def _leave_when_all_are_in(self) -> None:
        if not self.bringing.files:
            self.show_runs()


def _offer(chooser: Choice, choices: list[tuple[str, str]]) -> None:
    offered = [(chooser.itemText(n), chooser.itemData(n)) for n in range(chooser.count())]
    if offered == choices:
        return
    chooser.clear()
    for words, meaning in choices:
        chooser.addItem(words, meaning)
    if choices:
        listed = chooser.view()
        listed.setMinimumWidth(listed.sizeHintForColumn(0) + 32)
        listed.setTextElideMode(Qt.TextElideMode.ElideNone)
