"""What the panel would find, worked out off the window's thread and remembered."""

from typing import NamedTuple

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job


class Asked(NamedTuple):
    """What the answer depends on."""

    candidates: int
    attributes: int
    evaluators: int


class PanelSize(QObject):
    """Knows which difference a panel calls clear, and how many evaluators half a point takes.

    Signals
    -------
    found()
        Words that were asked for are known now.
    """

    found = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._words: dict[Asked, str] = {}
        # An ended job must not die on its worker's thread.
        self._jobs: dict[Asked, Job[str]] = {}

    def words(self, asked: Asked) -> str:
        """Say it in one sentence; nothing until it is known."""
        if asked not in self._jobs:
            job: Job[str] = Job(lambda _progress: panel_words(asked), self)
            self._jobs[asked] = job
            job.succeeded.connect(lambda words: self._take(asked, words))
            job.start()
        return self._words.get(asked, "")

    def _take(self, asked: Asked, words: str) -> None:
        self._words[asked] = words
        self.found.emit()


def panel_words(asked: Asked) -> str:
    """Say which difference of one set on one attribute is called clear with a chance of 80 %."""
    # Inside, so that the first window opens without the libraries for statistics.
    from ratings.design.panel_plan import PlannedStudy
    from ratings.statistics.planning.claim_power import (
        FEWEST_TO_CLAIM,
        claimable_difference,
        evaluators_to_claim,
    )

    candidates, attributes, evaluators = asked
    sd = PlannedStudy(2, evaluators).sd
    needed = evaluators_to_claim(0.5, sd, candidates, attributes)
    found = claimable_difference(sd, evaluators, candidates, attributes)
    panel = (
        f"Fewer than {FEWEST_TO_CLAIM} evaluators claim nothing"
        if found is None
        else f"{evaluators} evaluators call a difference of {found:.1f} points clear 4 times in 5"
    )
    return f"{panel}; half a point takes {needed} (SD of their differences {sd:g})."
