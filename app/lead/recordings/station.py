"""The station of recordings on the lead's rail: its page, and what passes between its parts."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject, Signal, SignalInstance

from app.lead.recordings.bringing.presenter import BringPresenter
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.file_asking import AskPath
from app.station import State
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study

if TYPE_CHECKING:
    from app.lead.reading import LeadReading
    from app.lead.recordings.bringing.page import AskFiles
    from app.lead.recordings.page import RecordingsPage


class _Tells(Protocol):
    told: SignalInstance
    problem_raised: SignalInstance


class RecordingsStation(QObject):
    """Joins desk, presenters and page.

    Signals
    -------
    told(str)
        Something was done: one sentence.
    problem_raised(RatingsError)
    form_left()
        What was open over the runs is closed.
    """

    told = Signal(str)
    form_left = Signal()
    problem_raised = Signal(object)  # RatingsError

    def __init__(
        self,
        study: Study,
        reading: LeadReading,
        ask_path: AskPath,
        ask_files: AskFiles,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._ask_path, self._ask_files = ask_path, ask_files
        desk = RecordingDesk(study)
        self.presenter = RecordingsPresenter(
            desk,
            reading.control_code,
            reading.overview.set_codes,
            is_read_only=study.is_read_only,
            parent=self,
        )
        self.bringing = BringPresenter(desk, reading, self)
        self._listen_to(self.presenter, self.bringing)

    @functools.cached_property
    def page(self) -> RecordingsPage:
        """The page, built when it is first looked at."""
        from app.lead.recordings.page import RecordingsPage

        page = RecordingsPage(self.presenter, self.bringing, self._ask_path, self._ask_files)
        self._listen_to(page.exporter, page.run_settings)
        page.bands.problem_raised.connect(self.problem_raised)
        page.form_left.connect(self.form_left)
        return page

    def state(self) -> State:
        """Say what is missing, in a few words."""
        return State(self.presenter.station_line(), self.presenter.is_done)

    def at_stake(self) -> str:
        """Say what would be lost if the desk were left now; empty when nothing."""
        is_page_built = "page" in vars(self)
        return (self.page if is_page_built else self.presenter.measuring).at_stake()

    def _listen_to(self, *sources: _Tells) -> None:
        for source in sources:
            source.told.connect(self.told)
            source.problem_raised.connect(self.problem_raised)
