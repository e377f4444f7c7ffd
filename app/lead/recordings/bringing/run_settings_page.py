"""Say more about runs that are in the study: channels, calibration, speed, how they were driven."""

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from app.lead.recordings.bringing.run_settings import RunSettingsPresenter
from app.lead.recordings.bringing.settings_form import SettingsForm
from app.lead.recordings.form_page import FormPage, PickList, scrolled, side_by_side
from app.parts.buttons import PrimaryButton
from app.parts.fields import once_read
from app.parts.file_asking import AskPath
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine


class RunSettingsPage(FormPage):
    """Runs by code on the left, what is said of the chosen one on the right."""

    def __init__(
        self, presenter: RunSettingsPresenter, ask_path: AskPath, parent: QWidget | None = None
    ) -> None:
        super().__init__(presenter, parent)
        self.presenter = presenter
        self.runs = PickList("runs")
        self.runs.setWordWrap(True)
        self.form = SettingsForm(ask_path)
        self.back = QPushButton("Back to the runs")
        self.keep = PrimaryButton("Apply, and measure it again")
        self._build()
        presenter.changed.connect(self.show_run)
        self.form.changed.connect(presenter.change)
        self.runs.picked.connect(presenter.choose)
        self.back.clicked.connect(self.go_back)
        self.keep.clicked.connect(once_read(self, presenter.keep))

    def show_run(self) -> None:
        """Show the runs and the chosen one's draft."""
        presenter = self.presenter
        chosen = None if presenter.run is None else presenter.run.recording_id
        self.runs.show_entries(
            [(presenter.entry_words(run), run.recording_id) for run in presenter.runs], chosen
        )
        for widget in (self.form, self.runs, self.keep):
            widget.setEnabled(not presenter.is_keeping)
        if presenter.run is not None and presenter.draft is not None:
            self.form.show_draft(
                presenter.draft, None, presenter.run.condition, presenter.kept_words
            )

    def _build(self) -> None:
        listed, told = QuestionPanel("Which run?"), QuestionPanel("What is known of it?")
        listed.body.addWidget(self.runs, 1)
        inside = QWidget()
        around = QVBoxLayout(inside)
        around.setContentsMargins(0, 0, 8, 0)
        around.addWidget(self.form)
        around.addStretch(1)
        told.body.addWidget(scrolled(inside), 1)
        head = (
            FindingHeading("What is known of each run?"),
            SoftLine("The recording itself is never changed; what was said before stays on file."),
        )
        self.lay_out(head, side_by_side(listed, told), (self.back, None, self.keep))
