"""Bring in runs: files on the left, what is said of the one looked at on the right."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QKeyEvent
from PySide6.QtWidgets import QPushButton, QWidget

from app.lead.recordings.bringing.form import BringForm
from app.lead.recordings.bringing.presenter import BringPresenter
from app.lead.recordings.form_page import FormPage, PickList, scrolled, side_by_side
from app.parts.buttons import OnceButton, PrimaryButton, QuietButton
from app.parts.fields import once_read
from app.parts.file_asking import AskPath, ask_recordings, dropped_files
from app.parts.flow_row import FlowRow
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.thin_bar import ThinBar
from ratings.study.wording import counted

#: Asks for recordings; an empty list when none was chosen.
AskFiles = Callable[[QWidget], list[Path]]


class BringPage(FormPage):
    """Shows the drafts of a presenter, which stay when it is left."""

    def __init__(
        self,
        presenter: BringPresenter,
        ask_path: AskPath,
        ask_files: AskFiles = ask_recordings,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent=parent)
        self.presenter = presenter
        self._ask_files = ask_files
        self.setAcceptDrops(True)
        self.heading = FindingHeading()
        self.line = SoftLine()
        for line in (self.heading, self.line):
            line.hold_lines(1)
        self.files = PickList("files to import")
        self.files.setTextElideMode(Qt.TextElideMode.ElideMiddle)
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
        self.bar = ThinBar("part of the files that is in")
        self._build()
        self._connect()
        self.show_drafts()

    def show_drafts(self) -> None:
        """Show list, form and progress as they are now."""
        presenter = self.presenter
        count, ready = len(presenter.files), len(presenter.ready)
        is_free = presenter.work.state is None
        has_keys = self.bring.hasFocus() or self.stop.hasFocus()
        self.heading.setText(presenter.heading())
        self.line.setText(presenter.standing_line())
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
            self.bar.show_part(presenter.work.state.part)
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
        if event.key() == Qt.Key.Key_Delete and self.files.hasFocus():
            self._take_out()
        else:
            super().keyPressEvent(event)

    def go_back(self) -> None:
        """Go back to the runs; the list stays. Not while files are being taken in."""
        if self.presenter.work.state is None:
            self.left.emit()

    def _build(self) -> None:
        listed = QuestionPanel("Which files?")
        listed.body.addWidget(self.files, 1)
        listed.body.addWidget(FlowRow(self.add, self.take_out))
        self._form_panel = QuestionPanel("What is this file?")
        self._form_panel.body.addWidget(scrolled(self.form), 1)
        self._form_panel.body.addWidget(self.take_over)
        self._form_panel.body.addWidget(self.taken_over)
        self.lay_out(
            (self.heading, self.line),
            side_by_side(listed, self._form_panel),
            (self.back, self.bar, None, self.stop, self.bring),
        )

    def _connect(self) -> None:
        self.presenter.changed.connect(self.show_drafts)
        self.files.picked.connect(self.presenter.choose)
        self.add.clicked.connect(self.choose_files)
        self.take_out.clicked.connect(self._take_out)
        self.take_over.clicked.connect(once_read(self, self.presenter.take_over))
        self.back.clicked.connect(self.left)
        self.bring.clicked.connect(once_read(self, self.presenter.bring))
        self.stop.clicked.connect(self.presenter.work.cancel)

    def _show_files(self) -> None:
        presenter, chosen = self.presenter, self.presenter.chosen
        self.files.show_entries(
            [
                (f"{draft.path.name}\n{presenter.state_words(draft) or 'ready'}", draft.path)
                for draft in presenter.files
            ],
            None if chosen is None else chosen.path,
        )

    def _take_out(self) -> None:
        chosen = self.presenter.chosen
        if chosen is not None and self.presenter.work.state is None:
            self.presenter.take_out(chosen.path)
