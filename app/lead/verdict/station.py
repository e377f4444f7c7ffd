"""The station of the verdict on the lead's rail: its page, and what passes between its parts."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.lead.verdict.presenter import VerdictPresenter
from app.lead.verdict.settling import Settling
from app.lead.verdict_reading import VerdictReading
from app.parts.file_asking import AskPath
from ratings.storage.study_folder import Study

if TYPE_CHECKING:
    from app.lead.verdict.page import VerdictPage


class VerdictStation(QObject):
    """Joins presenter, settings and page.

    Signals
    -------
    told(str)
        Something was done: one sentence.
    problem_raised(RatingsError)
    panel_asked()
        The lead wants to see how far the panel has got.
    """

    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError
    panel_asked = Signal()

    def __init__(
        self,
        study: Study,
        reading: VerdictReading,
        ask_path: AskPath,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._ask_path = ask_path
        self.presenter = VerdictPresenter(study, reading, self)
        self.settling = Settling(study, reading, self)
        self.state = self.presenter.state

    @functools.cached_property
    def page(self) -> VerdictPage:
        """The page, built when it is first looked at."""
        from app.lead.verdict.page import VerdictPage

        page = VerdictPage(self.presenter, self.settling, self._ask_path)
        page.exporter.told.connect(self.told)
        page.exporter.problem_raised.connect(self.problem_raised)
        page.panel_asked.connect(self.panel_asked)
        return page
