"""How many evaluators the study takes, worked out off the window's thread and remembered."""

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job

#: In score points; what is told of.
_DIFFERENCES = (1.0, 0.5)


class PanelSize(QObject):
    """Knows how many evaluators a difference takes to be called clear.

    Signals
    -------
    found()
        Words that were asked for are known now.
    """

    found = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._words: dict[tuple[int, int], str] = {}
        # An ended job must not die on its worker's thread.
        self._jobs: dict[tuple[int, int], Job[str]] = {}

    def words(self, candidates: int, attributes: int) -> str:
        """Say it in one sentence; nothing until it is known."""
        asked = candidates, attributes
        if asked not in self._jobs:
            job: Job[str] = Job(lambda _progress: panel_words(*asked), self)
            self._jobs[asked] = job
            job.succeeded.connect(lambda words: self._take(asked, words))
            job.start()
        return self._words.get(asked, "")

    def _take(self, asked: tuple[int, int], words: str) -> None:
        self._words[asked] = words
        self.found.emit()


def panel_words(candidates: int, attributes: int) -> str:
    """Say how many evaluators a point and half a point take to be called clear."""
    # Inside, so that the first window opens without the libraries for statistics.
    from ratings.design.panel_plan import PlannedStudy
    from ratings.statistics.planning.claim_power import evaluators_to_claim

    sd = PlannedStudy(2, 1).sd
    one, half = (
        evaluators_to_claim(difference, sd, candidates, attributes) for difference in _DIFFERENCES
    )
    return (
        f"A true difference of 1 point takes {one} evaluators to be called clear with a chance of "
        f"80 %, half a point {half} (SD over evaluators {sd:g})."
    )
