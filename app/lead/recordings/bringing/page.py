"""Bring in runs: files on the left, what is said of the one looked at on the right."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.lead.recordings.bringing.form import BringForm
from app.lead.recordings.bringing.presenter import BringPresenter
from app.parts.buttons import OnceButton, PrimaryButton, QuietButton
from app.parts.fields import once_read
from app.parts.file_asking import AskPath, ask_recordings, dropped_files
from app.parts.flow_row import FlowRow
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from ratings.study.wording import counted

#: Asks for recordings; an empty list when none was chosen.
AskFiles = Callable[[QWidget], list[Path]]
_FINE_STEPS = 1000
_LEAST_LIST_PX = 150
_PATH = Qt.ItemDataRole.UserRole


class BringPage(QWidget):
    """Shows the drafts of a presenter.

    Signals
    -------
    left()
        Back to the runs.
    """

    left = Signal()

    def __init__(
        self,
        presenter: BringPresenter,
        ask_path: AskPath,
        ask_files: AskFiles = ask_recordings,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.presenter = presenter
        self._ask_files = ask_files
        self.setAcceptDrops(True)
        self.heading = FindingHeading()
        self.line = SoftLine()
        for line in (self.heading, self.line):
            line.hold_lines(1)
        self.files = QListWidget()
        self.files.setAccessibleName("files to import")
        self.files.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.files.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # The form needs the width more: a list asks for as much as it finds pleasant.
        self.files.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.files.setMinimumWidth(_LEAST_LIST_PX)
        self.files.setStyleSheet("QListWidget::item { padding: 8px 10px; }")
        self.form = BringForm(presenter, ask_path)
        self.add = QPushButton("Choose files")
        self.take_out = QuietButton("Remove from the list")
        self.take_over = QPushButton("Apply to all files")
        self.taken_over = SoftLine(
            "Applies channels, calibration, kind of speed, air and road temperature, pressures "
            "and loads. Each file keeps its set, condition and remark."
        )
        self.taken_over.setFont(font("small"))
        self.back = QPushButton("Back to the runs")
        self.bring = PrimaryButton("")
        self.stop = OnceButton("Stop")
        self.bar = QProgressBar()
        self.bar.setRange(0, _FINE_STEPS)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(8)
        self._build()
        self._connect()
        self.show_drafts()

    def show_drafts(self) -> None:
        """Show list, form and progress as they are now."""
        presenter = self.presenter
        count, ready = len(presenter.files), len(presenter.ready)
        is_free = presenter.work.state is None
        has_keys = self.bring.hasFocus() or self.stop.hasFocus()
        self.heading.setText(self._heading_words(count, ready))
        self.line.setText(
            "Drop files here or choose them. They are copied untouched."
            if presenter.work.state is None
            else presenter.work.state.words
        )
        self._show_files()
        self.form.show_chosen()
        self._form_panel.setVisible(bool(count))
        self.add.setEnabled(is_free)
        self.take_out.setEnabled(is_free and bool(count))
        for widget in (self.take_over, self.taken_over):
            widget.setVisible(count > 1)
        self.take_over.setEnabled(is_free)
        self.bring.setText(f"Import {counted(ready, 'run')}" if ready else "Import")
        self.bring.setEnabled(is_free and ready > 0)
        self.stop.setVisible(not is_free)
        self.bar.setVisible(not is_free)
        if presenter.work.state is not None:
            self.bar.setValue(round(presenter.work.state.part * _FINE_STEPS))
        if has_keys:
            # A button that goes would send them far away.
            steps = (self.stop, self.bring, self.files)
            next(step for step in steps if step.isEnabled() and not step.isHidden()).setFocus()

    def choose_files(self) -> None:
        """Ask for files."""
        self.presenter.add_files(self._ask_files(self))

    def take_focus(self) -> None:
        """Put the keys on the first step."""
        (self.files if self.presenter.files else self.add).setFocus()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Show that files can be dropped here."""
        if dropped_files(event.mimeData()) and self.presenter.work.state is None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the files."""
        event.acceptProposedAction()
        self.presenter.add_files(dropped_files(event.mimeData()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back on Esc, take a file off the list on Delete."""
        if event.key() == Qt.Key.Key_Escape:
            self.go_back()
        elif event.key() == Qt.Key.Key_Delete and self.files.hasFocus():
            self._take_out()
        else:
            super().keyPressEvent(event)

    def go_back(self) -> None:
        """Go back to the runs; the list stays. Not while files are being taken in."""
        if self.presenter.work.state is None:
            self.left.emit()

    def _heading_words(self, count: int, ready: int) -> str:
        if not count:
            return "Which runs are to be imported?"
        if ready == count:
            return f"{counted(count, 'file')} ready to import."
        if not ready:
            return f"{counted(count, 'file')}: choose set and condition."
        return f"{ready} of {counted(count, 'file')} ready to import."

    def _build(self) -> None:
        listed = QuestionPanel("Which files?")
        listed.body.addWidget(self.files, 1)
        listed.body.addWidget(FlowRow(self.add, self.take_out))
        self._form_panel = QuestionPanel("What is this file?")
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(self.form)
        self._form_panel.body.addWidget(scroll, 1)
        self._form_panel.body.addWidget(self.take_over)
        self._form_panel.body.addWidget(self.taken_over)
        panels = QHBoxLayout()
        panels.setSpacing(16)
        panels.addWidget(listed, 7)
        panels.addWidget(self._form_panel, 14)
        foot = QHBoxLayout()
        foot.setSpacing(12)
        foot.addWidget(self.back)
        foot.addWidget(self.bar, 1)
        foot.addStretch(0)
        foot.addWidget(self.stop)
        foot.addWidget(self.bring)
        column = QVBoxLayout(self)
        column.setContentsMargins(28, 20, 20, 16)
        column.setSpacing(8)
        column.addWidget(self.heading)
        column.addWidget(self.line)
        column.addLayout(panels, 1)
        column.addLayout(foot)

    def _connect(self) -> None:
        self.presenter.changed.connect(self.show_drafts)
        self.files.currentItemChanged.connect(self._choose)
        self.add.clicked.connect(self.choose_files)
        self.take_out.clicked.connect(self._take_out)
        self.take_over.clicked.connect(once_read(self, self.presenter.take_over))
        self.back.clicked.connect(self.left)
        self.bring.clicked.connect(once_read(self, self.presenter.bring))
        self.stop.clicked.connect(self.presenter.work.cancel)

    def _show_files(self) -> None:
        presenter, chosen = self.presenter, self.presenter.chosen
        self.files.blockSignals(True)
        while self.files.count() > len(presenter.files):
            self.files.takeItem(self.files.count() - 1)
        while self.files.count() < len(presenter.files):
            self.files.addItem(QListWidgetItem())
        for place, draft in enumerate(presenter.files):
            item = self.files.item(place)
            state = presenter.state_words(draft) or "ready"
            item.setText(f"{draft.path.name}\n{state}")
            item.setData(_PATH, draft.path)
            if chosen is not None and draft.path == chosen.path:
                self.files.setCurrentRow(place)
        self.files.blockSignals(False)

    def _choose(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self.presenter.choose(item.data(_PATH))

    def _take_out(self) -> None:
        chosen = self.presenter.chosen
        if chosen is not None and self.presenter.work.state is None:
            self.presenter.take_out(chosen.path)
