"""Opening a study off the window's thread; at the first start, the sample study."""

from __future__ import annotations

import shutil
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
    half = copy.with_name(f".{copy.name}.half")
    try:
        shutil.rmtree(half, ignore_errors=True)
        shutil.copytree(SAMPLE, half)
        half.rename(copy)
    except OSError as problem:
        raise StudyError(
            f"The sample study cannot be copied to {copy.parent.name}: {reason_of(problem)}.",
            "Make room or allow writing there, then start again.",
        ) from problem
    return copy


def opened(path: Path | None, progress: Progress) -> Study:
    """Open a study with all its clips; None stands for the sample study.

    Raises
    ------
    StudyError
        In words, when it cannot be opened or a clip cannot be brought back.
    """
    from ratings.storage.mending import restore_clips
    from ratings.storage.study_folder import open_study

    progress(0.0, "Opening the study")
    study = open_study(sample_copy() if path is None else path)
    try:
        restore_clips(study, progress)
    except BaseException:
        study.close()
        raise
    return study
