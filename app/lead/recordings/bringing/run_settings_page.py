"""Say more about runs that are in the study: channels, calibration, speed, how they were driven."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.lead.recordings.bringing.run_settings import RunSettingsPresenter
from app.lead.recordings.bringing.settings_form import SettingsForm
from app.parts.asking import leave_or_ask
from app.parts.buttons import PrimaryButton
from app.parts.fields import once_read
from app.parts.file_asking import AskPath
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from ratings.study.runs import Run

_ID = Qt.ItemDataRole.UserRole
_LEAST_LIST_PX = 150


class RunSettingsPage(QWidget):
    """Runs by code on the left, what is said of the chosen one on the right.

    Signals
    -------
    left()
        Back to the runs.
    """

    left = Signal()

    def __init__(
        self, presenter: RunSettingsPresenter, ask_path: AskPath, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.presenter = presenter
        self.runs = QListWidget()
        self.runs.setAccessibleName("runs")
        self.runs.setStyleSheet("QListWidget::item { padding: 8px 10px; }")
        self.runs.setWordWrap(True)
        self.runs.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.runs.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.runs.setMinimumWidth(_LEAST_LIST_PX)
        self.form = SettingsForm(ask_path)
        self.back = QPushButton("Back to the runs")
        self.keep = PrimaryButton("Apply, and measure it again")
        self._build()
        presenter.changed.connect(self.show_run)
        self.form.changed.connect(presenter.change)
        self.runs.currentItemChanged.connect(self._choose)
        self.back.clicked.connect(self.go_back)
        self.keep.clicked.connect(once_read(self, presenter.keep))

    def show_run(self) -> None:
        """Show the runs and the chosen one's draft."""
        presenter = self.presenter
        self.runs.blockSignals(True)
        if self.runs.count() != len(presenter.runs):
            self.runs.clear()
            for _ in presenter.runs:
                self.runs.addItem(QListWidgetItem())
        for place, run in enumerate(presenter.runs):
            words = _words(run)
            if presenter.is_changed(run):
                words = f"{words}\nchanged, not kept"
            self.runs.item(place).setText(words)
            self.runs.item(place).setData(_ID, run.recording_id)
        if presenter.run is not None:
            ids = [run.recording_id for run in presenter.runs]
            self.runs.setCurrentRow(ids.index(presenter.run.recording_id))
        self.runs.blockSignals(False)
        for widget in (self.form, self.runs, self.keep):
            widget.setEnabled(not presenter.is_keeping)
        if presenter.run is not None and presenter.draft is not None:
            self.form.show_draft(
                presenter.draft, None, presenter.run.condition, presenter.kept_words
            )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back on Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.go_back()
        else:
            super().keyPressEvent(event)

    def go_back(self) -> None:
        """Go back; changes that were not kept are asked about."""
        leave_or_ask(self, self.presenter.at_stake(), self._leave, "Discard the changes")

    def _leave(self) -> None:
        self.presenter.forget()
        self.left.emit()

    def _build(self) -> None:
        listed = QuestionPanel("Which run?")
        listed.body.addWidget(self.runs, 1)
        told = QuestionPanel("What is known of it?")
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inside = QWidget()
        around = QVBoxLayout(inside)
        around.setContentsMargins(0, 0, 8, 0)
        around.addWidget(self.form)
        around.addStretch(1)
        scroll.setWidget(inside)
        told.body.addWidget(scroll, 1)
        panels = QHBoxLayout()
        panels.setSpacing(16)
        panels.addWidget(listed, 7)
        panels.addWidget(told, 14)
        foot = QHBoxLayout()
        foot.addWidget(self.back)
        foot.addStretch(1)
        foot.addWidget(self.keep)
        column = QVBoxLayout(self)
        column.setContentsMargins(28, 20, 20, 16)
        column.setSpacing(8)
        column.addWidget(FindingHeading("What is known of each run?"))
        column.addWidget(
            SoftLine("The recording itself is never changed; what was said before stays on file.")
        )
        column.addLayout(panels, 1)
        column.addLayout(foot)

    def _choose(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self.presenter.choose(item.data(_ID))


def _words(run: Run) -> str:
    return f"{run.set_code}, run {run.run}\n{run.condition.title}"
