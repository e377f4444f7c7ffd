"""The making of a study off the window's thread, with the time that is left and a way to stop."""

from functools import partial
from pathlib import Path

from app.background.jobs import Progress
from app.background.long_work import LongWork
from ratings.design.study_plan import StudyPlan


class StudyMaker(LongWork):
    """Makes one study at a time; it succeeds with its folder, or leaves nothing behind."""

    def make(self, folder: Path, plan: StudyPlan) -> None:
        """Begin; a second call while one study is being made does nothing."""
        self.begin(partial(_make, folder, plan))


def _make(folder: Path, plan: StudyPlan, progress: Progress) -> Path:
    # Inside, so that the page opens without the libraries for sound and numbers.
    from ratings.intake.making import make_study

    def report(part: float, words: str) -> None:
        # At the last step the folder is in its place already: too late to be stopped.
        if part < 1.0:
            progress(part, words)

    study = make_study(folder, plan, report)
    study.close()
    return study.folder.path
