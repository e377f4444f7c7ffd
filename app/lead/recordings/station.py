"""The station of recordings on the lead's rail: its page, and what passes between its parts."""

from PySide6.QtCore import QObject, Signal

from app.lead.recordings.bringing.page import AskFiles
from app.lead.recordings.bringing.presenter import BringPresenter
from app.lead.recordings.page import RecordingsPage
from app.lead.recordings.presenter import RecordingsPresenter
from app.lead.stations import Station
from app.parts.file_asking import AskPath
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study


class RecordingsStation(QObject):
    """Joins desk, presenters and page.

    Signals
    -------
    told(str)
        Something was done: one sentence.
    problem_raised(RatingsError)
    """

    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self, study: Study, ask_path: AskPath, ask_files: AskFiles, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        desk, lead = RecordingDesk(study), LeadDesk(study)
        self.presenter = RecordingsPresenter(
            desk,
            lead.control_code(),
            lead.codes(),
            is_read_only=study.is_read_only,
            parent=self,
        )
        self.bringing = BringPresenter(desk, self)
        self.page = RecordingsPage(self.presenter, self.bringing, ask_path, ask_files)
        for source in (
            self.presenter,
            self.bringing,
            self.page.exporter,
            self.page.run_settings,
        ):
            source.told.connect(self.told)
            source.problem_raised.connect(self.problem_raised)
        self.page.bands.problem_raised.connect(self.problem_raised)

    def station(self) -> Station:
        """Return what the rail shows."""
        return Station(
            "recordings",
            "Recordings",
            self.presenter.station_line(),
            "done" if self.presenter.is_done else "open",
        )
