"""Make a study of your own: files into the grid, words, people, place, and the study is made."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import QStackedLayout, QWidget

from app.lead.new_study.attributes import AttributeList
from app.lead.new_study.fields import StudyFields
from app.lead.new_study.foot import StudyFoot
from app.lead.new_study.grid_panel import GridPanel
from app.lead.new_study.presenter import NewStudyPresenter
from app.lead.new_study.recorded_panel import TRACE_SUFFIXES, RecordedPanel, ask_traces
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath, ask_folder, ask_path, ask_recordings, dropped_files
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine, plain_label
from app.parts.keys_card import KeysCard
from app.parts.layouts import Stretched, in_column, in_row
from app.parts.message_bar import MessageBar
from ratings.errors import RatingsError
from ratings.intake.study_draft import Cell

#: Asks for sound files, beginning in a folder; an empty list when none was chosen.
AskFiles = Callable[[QWidget, Path], list[Path]]
#: Asks for a folder, beginning in one; None when none was chosen.
AskFolder = Callable[[QWidget, Path], Path | None]


def ask_for_study(parent: QWidget, folder: Path) -> list[Path]:
    """Ask for recordings, and for traces of their speed, with the system's dialog."""
    return ask_recordings(parent, folder, others=TRACE_SUFFIXES)


def ask_place(parent: QWidget, folder: Path) -> Path | None:
    """Ask where the study goes, with the system's dialog."""
    return ask_folder(parent, "Choose where the study goes", folder)


#: Below this height the page keeps to what is needed.
_LOW_PX = 640


class NewStudyPage(QWidget):
    """Shows the draft that a presenter holds; the draft stays when the page goes.

    Signals
    -------
    study_made(Path)
        The folder of the study.
    left
        Back to where the lead came from.
    """

    study_made = Signal(object)  # Path
    left = Signal()

    def __init__(
        self,
        presenter: NewStudyPresenter,
        ask_files: AskFiles = ask_for_study,
        ask_folder: AskFolder = ask_place,
        ask_path: AskPath = ask_path,
        ask_traces: AskFiles = ask_traces,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.presenter = presenter
        self._ask_files = ask_files
        self._ask_folder = ask_folder
        self._told_of = presenter.draft
        self.setAcceptDrops(True)
        self.heading = FindingHeading()
        self.advice = SoftLine()
        for line in (self.heading, self.advice):
            line.hold_lines(2)
        # Beside what it rests on also while one line says it.
        self.heading.setAlignment(Qt.AlignmentFlag.AlignBottom)
        self.messages = MessageBar()
        self.fields = StudyFields(presenter)
        self.grid_panel = GridPanel(presenter)
        self.grid = self.grid_panel.grid
        self.attributes = AttributeList(presenter)
        self.recorded = RecordedPanel(presenter, ask_path, ask_traces)
        self.foot = StudyFoot(presenter)
        self._draft_area = self._build_draft_area()
        self._lay_out()
        self.keys: KeysCard | None = None
        self._connect()
        self._order_stops()
        self.refresh()
        if presenter.notice is not None:
            self._tell(presenter.notice)
            presenter.notice = None

    def refresh(self) -> None:
        """Say what is missing, or how far the study is made."""
        draft = self.presenter.draft
        if draft is not self._told_of:
            self.messages.clear()
        is_making = self.presenter.maker.state is not None
        self.heading.setText(self.presenter.heading())
        self.advice.setText(self.presenter.advice())
        self._draft_area.setEnabled(not is_making)
        for button in (self._back, self.over):
            button.setEnabled(not is_making)
        self.over.setVisible(draft.is_begun)

    def choose_files(self) -> None:
        """Ask for files and spread them over the grid by their names."""
        self.presenter.put_files(self._ask_files(self, self.presenter.last_folder))

    def show_recorded(self) -> None:
        """Show how it was recorded in place of the grid, and the grid again when asked again."""
        if self._middle.currentIndex() == 1:
            self.show_grid()
            return
        self._middle.setCurrentIndex(1)
        self.recorded.left.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_grid(self) -> None:
        """Show the grid again; the keys go back to where it was left."""
        self._middle.setCurrentIndex(0)
        self.fields.recorded.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_keys(self) -> None:
        """Open the card of keys, which is made when it is first asked for."""
        if self.keys is None:
            self.keys = self._build_keys()
        self.keys.open()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave out what is not needed where there is little room."""
        super().resizeEvent(event)
        is_low = self.height() < _LOW_PX
        self._practice.setVisible(not is_low)
        self.heading.be_small(is_small=is_low)
        self.heading.hold_lines(2)
        air_px, side_px = (8, 20) if is_low else (20, 40)
        self._column.setContentsMargins(side_px, air_px, side_px, air_px)

    def showEvent(self, event: QShowEvent) -> None:
        """Send the keys to the first thing to do."""
        super().showEvent(event)
        first = self.grid_panel.choose if self.grid_panel.is_empty else self.fields.vehicle
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the card of keys on ``?``; Esc closes a message, and leaves when there is none."""
        if event.text() == "?":
            self.show_keys()
        elif event.matches(QKeySequence.StandardKey.Undo) and self._draft_area.isEnabled():
            self.presenter.put_back()
        elif event.key() == Qt.Key.Key_Escape and self.messages.isVisible():
            self.messages.clear()
        elif event.key() == Qt.Key.Key_Escape and self._middle.currentIndex() == 1:
            self.show_grid()
        elif event.key() == Qt.Key.Key_Escape and self.grid.is_open:
            self.grid.close_drawer()
        elif event.key() == Qt.Key.Key_Escape and self.attributes.is_open:
            self.attributes.card.go_back()
        elif event.key() == Qt.Key.Key_Escape and self._back.isEnabled():
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files anywhere on the page."""
        if dropped_files(event.mimeData()) and self._draft_area.isEnabled():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Spread the files over the grid by their names."""
        paths = dropped_files(event.mimeData())
        if paths and self._draft_area.isEnabled():
            event.acceptProposedAction()
            self.presenter.put_files(paths)

    def _connect(self) -> None:
        self._keys_button.clicked.connect(self.show_keys)
        self.fields.recorded_asked.connect(self.show_recorded)
        self.recorded.finished.connect(self.show_grid)
        self.grid.file_asked.connect(self._choose_for)
        self.grid_panel.files_asked.connect(self.choose_files)
        self.foot.place_asked.connect(self._choose_place)
        self.grid.rebuilt.connect(self._order_stops)
        self.attributes.rebuilt.connect(self._order_stops)
        self.presenter.changed.connect(self.refresh)
        self.presenter.problem_raised.connect(self._tell)
        self.presenter.study_made.connect(self.study_made)

    def _order_stops(self) -> None:
        # Tab follows the eye; widgets made later would otherwise come last.
        fields = self.fields
        stops = [
            *(fields.vehicle, fields.name, fields.count, fields.names, fields.recorded),
            *self.recorded.stops(),
            *self.grid_panel.stops(),
            *self.attributes.stops(),
            *self.foot.stops,
            *(self._keys_button, self.over, self._back),
        ]
        for before, after in pairwise(stops):
            self.setTabOrder(before, after)

    def _lay_out(self) -> None:
        self._back = QuietButton("Back (draft kept)")
        self._back.clicked.connect(self.left)
        self._keys_button = QuietButton("Keys")
        self.over = QuietButton("Start over")
        self.over.setToolTip("Clear the whole draft; it can be undone at once")
        self.over.clicked.connect(self.presenter.clear)
        second = in_row(
            *(Stretched(self.advice), self._keys_button, self.over, self._back), gap_px=8
        )
        self._column = in_column(
            *(self.heading, second, Stretched(self._draft_area), self.foot), of=self, gap_px=8
        )
        self.messages.hang_over(self.heading, self.advice)

    def _build_draft_area(self) -> QWidget:
        listened_for = QuestionPanel("What is listened for?")
        listened_for.body.addWidget(self.attributes)
        panels = QWidget()
        in_row(Stretched(self.grid_panel, 3), Stretched(listened_for, 2), of=panels, gap_px=16)
        self._middle = QStackedLayout()
        self._middle.addWidget(panels)
        self._middle.addWidget(self.recorded)
        # What is kept the same is common practice, no source.
        self._practice = plain_label(
            "Same vehicle, wheels, load, pressures and stretch of road. Recordings are copied, "
            "never changed. Evaluators see only blind codes.",
            *("small", "soft"),
        )
        self._practice.setWordWrap(True)
        area = QWidget()
        in_column(self.fields, Stretched(self._middle), self._practice, of=area, gap_px=12)
        return area

    def _build_keys(self) -> KeysCard:
        card = KeysCard(self)
        card.set_keys(
            [
                ("Tab", "next field, cell or button"),
                ("Enter, Space", "choose a file for the cell"),
                ("Delete", "take the file out of the cell"),
                ("Space", "on a condition: describe it; on a set: the control"),
                ("Esc", "close what is open, else back; the draft is kept"),
                ("Ctrl+Z", "put back what was removed last"),
                ("?", "this card"),
            ]
        )
        return card

    def _choose_for(self, cell: Cell) -> None:
        self.presenter.put_files(self._ask_files(self, self.presenter.last_folder), cell)

    def _choose_place(self) -> None:
        chosen = self._ask_folder(self, self.presenter.draft.place)
        if chosen is not None:
            self.presenter.change(replace(self.presenter.draft, place=chosen.absolute()))

    def _tell(self, problem: RatingsError) -> None:
        self._told_of = self.presenter.draft
        self.messages.tell(problem.what_happened, problem.what_to_do, "attention")
