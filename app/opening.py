"""Opening a study off the window's thread; at the first start, the sample study."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QStandardPaths, QThreadPool, QTimer, Signal

from app.background.jobs import Job, Progress, Step
from ratings.errors import RatingsError, StudyError, reason_of

if TYPE_CHECKING:
    from ratings.storage.blind_study import BlindStudy

#: After this time without a step, whoever waits for a study is told that it does not answer.
PATIENCE_MS = 5000

#: Where the sample study lies in a clone of the project.
SAMPLE = Path(__file__).resolve().parent.parent / "sample_sessions" / "alder_wagon"


def studies_folder() -> Path:
    """Return the folder of this person's own studies; it need not exist yet."""
    documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
    return Path(documents or Path.home()) / "Twinset studies"


def sample_copy(target: Path | None = None) -> Path:
    """Return a person's own copy of the sample study, made when it is not there yet.

    The one in the project stays as it is, so that it can be tried again from the start.

    Raises
    ------
    StudyError
        When the project holds no sample study, or the copy cannot be written.
    """
    copy = studies_folder() / "Alder wagon (sample)" if target is None else target
    if (copy / "study.sqlite").is_file():
        return copy
    if not (SAMPLE / "study.sqlite").is_file():
        raise StudyError(
            "The sample study is not part of this installation.",
            "Open a study of yours, or make one.",
        )
    try:
        _copy_sample(copy)
    except OSError as problem:
        if (copy / "study.sqlite").is_file():
            # Another window has made it meanwhile.
            return copy
        raise StudyError(
            f"The sample study cannot be copied to {copy.parent.name}: {reason_of(problem)}.",
            "Make room or allow writing there, then start again.",
        ) from problem
    return copy


def missing_of(paths: Sequence[Path]) -> tuple[Path, ...]:
    """Return which of these folders of studies are not there; not on the window's thread."""
    return tuple(path for path in paths if not os.path.isdir(path))  # noqa: PTH112 - never raises


def _copy_sample(copy: Path) -> None:
    from ratings.storage.workshops import workshop_beside

    with workshop_beside(copy) as workshop:
        whole = workshop / "study"
        shutil.copytree(SAMPLE, whole)
        with contextlib.suppress(OSError):
            copy.rmdir()
        whole.rename(copy)


@dataclass(frozen=True, slots=True)
class Opened:
    """An open study, and what is to be said about it; None when clips and answers are whole."""

    study: BlindStudy
    notice: StudyError | None


def opened(path: Path | None, progress: Progress) -> Opened:
    """Open a study for listening, with all its clips; None stands for the sample study.

    Where the lead's file is at hand, an older study is brought up to date, missing clips are cut
    again, and sessions are prepared for whoever sits down. Without it, and where clips cannot be
    brought back, the study opens all the same: its scores are there.

    Raises
    ------
    StudyError
        In words, when it cannot be opened.
    """
    from ratings.storage.blind_study import open_blind_study

    progress(0.0, "Opening the study")
    folder = sample_copy() if path is None else path
    notice = _made_whole(folder, progress)
    return Opened(open_blind_study(folder), notice)


class Opening(QObject):
    """Opens one study at a time in the background; nobody has to wait for one that is away.

    Attributes
    ----------
    name
        What is being opened, or was last.

    Signals
    -------
    stepped(Step)
    late()
        No step has come for a while.
    opened(Opened)
    refused(RatingsError)
    ended()
        After either of them; never for a study that is waited for no longer.
    """

    stepped = Signal(object)  # Step
    late = Signal()
    opened = Signal(object)  # Opened
    refused = Signal(object)  # RatingsError
    ended = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.name = ""
        self._job: Job[Opened] | None = None
        self._patience = QTimer(self, interval=PATIENCE_MS, singleShot=True)
        self._patience.timeout.connect(self.late)

    @property
    def is_busy(self) -> bool:
        """Whether a study is being opened."""
        return self._job is not None

    def begin(self, path: Path | None) -> None:
        """Open a study, None for the sample; one that is being opened is waited for no longer."""
        self.abandon()
        self.name = "The sample" if path is None else path.name
        self._job = job = Job(lambda progress: opened(path, progress), self)
        job.stepped.connect(self._follow)
        job.succeeded.connect(lambda result: self._take(job, result))
        job.refused.connect(lambda problem: self._refuse(job, problem))
        job.ended.connect(lambda: self._end(job))
        self._patience.start()
        job.start()

    def abandon(self) -> None:
        """Wait no longer for the study that is being opened."""
        self._patience.stop()
        if self._job is not None:
            self._job.cancel()
            self._job = None
            # Its thread may hang for good; the work to come gets another one.
            QThreadPool.globalInstance().releaseThread()

    def _follow(self, step: Step) -> None:
        self._patience.start()
        self.stepped.emit(step)

    def _take(self, job: Job[Opened], result: Opened) -> None:
        if job is self._job:
            self.opened.emit(result)
        else:
            # It came when nobody waited for it any more.
            result.study.close()

    def _refuse(self, job: Job[Opened], problem: RatingsError) -> None:
        if job is self._job:
            self.refused.emit(problem)

    def _end(self, job: Job[Opened]) -> None:
        if job is not self._job:
            QThreadPool.globalInstance().reserveThread()
            return
        self._job = None
        self._patience.stop()
        self.ended.emit()


def mend_clip(path: Path, code: str) -> None:
    """Cut a clip of the study at `path` again, whatever its file holds now.

    Raises
    ------
    StudyError
        When it cannot be, as where the lead's file is out of reach.
    """
    from ratings.storage.lead_file import NoLeadFileError
    from ratings.storage.mending import restore_clip
    from ratings.storage.study_folder import open_study

    try:
        study = open_study(path)
    except NoLeadFileError as problem:
        raise _out_of_reach() from problem
    with contextlib.closing(study):
        restore_clip(study, code)


def _out_of_reach() -> StudyError:
    """Say at a seat, which knows nothing of the lead's folder, what to do about missing sound."""
    return StudyError(
        "A sound of this study is missing or damaged.",
        "Ask the lead to open the study once: it is cut again from its recording.",
    )


def prepare_seats(study: BlindStudy) -> None:
    """See to it that sessions lie ready for whoever sits down, if the lead's file is at hand."""
    from ratings.storage.blind_study import utc_now
    from ratings.storage.lead_file import NoLeadFileError
    from ratings.storage.seat_desk import ready_sessions
    from ratings.storage.seating import keep_seats_ready
    from ratings.storage.study_folder import open_study

    if study.is_read_only or ready_sessions(study):
        return
    with (
        contextlib.suppress(NoLeadFileError),
        contextlib.closing(open_study(study.folder.path)) as whole,
    ):
        keep_seats_ready(whole, utc_now())


def _made_whole(path: Path, progress: Progress) -> StudyError | None:
    """Do what only the lead's file allows; return what is to be said of clips and answers."""
    from ratings.storage.blind_study import open_blind_study, utc_now
    from ratings.storage.lead_file import NoLeadFileError
    from ratings.storage.mending import missing_codes, restore_clips
    from ratings.storage.seating import keep_seats_ready
    from ratings.storage.study_folder import Study, open_study
    from ratings.storage.workshops import clear_leftovers

    try:
        study = open_study(path)
    except NoLeadFileError:
        with contextlib.closing(open_blind_study(path)) as blind:
            return _out_of_reach() if missing_codes(blind) else None
    with contextlib.closing(study):
        clear_leftovers(study.folder)
        keep_seats_ready(study, utc_now())
        notice: StudyError | None = None
        for act in (restore_clips, Study.refuse_changed_rows):
            try:
                act(study, progress)
            except StudyError as problem:
                # Changed answers, the later one, matter more than clips.
                notice = problem
    return notice
