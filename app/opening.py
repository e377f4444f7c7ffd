"""Opening a study off the window's thread; at the first start, the sample study."""

from __future__ import annotations

import contextlib
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QStandardPaths

from app.background.jobs import Progress
from ratings.errors import StudyError, reason_of

if TYPE_CHECKING:
    from ratings.storage.study_folder import Study

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
    """An open study, and what is to be said about its sound; None when every clip is there."""

    study: Study
    notice: StudyError | None


def opened(path: Path | None, progress: Progress) -> Opened:
    """Open a study with all its clips; None stands for the sample study.

    A study whose clips cannot be brought back opens all the same: its scores are there.

    Raises
    ------
    StudyError
        In words, when it cannot be opened.
    """
    from ratings.storage.mending import restore_clips
    from ratings.storage.study_folder import open_study

    progress(0.0, "Opening the study")
    study = open_study(sample_copy() if path is None else path)
    try:
        restore_clips(study, progress)
    except StudyError as problem:
        return Opened(study, problem)
    except BaseException:
        study.close()
        raise
    return Opened(study, None)
