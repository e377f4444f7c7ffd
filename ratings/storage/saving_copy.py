"""A copy of a study that is open and may be written to: complete, checked, or not there at all."""

import stat
from collections.abc import Iterator
from pathlib import Path

from ratings.errors import StudyError, reason_of
from ratings.storage.blind_study import StudyFolder
from ratings.storage.database import copy_database
from ratings.storage.file_copies import copy_checked
from ratings.storage.mending import missing_clips
from ratings.storage.study_folder import Study, open_study
from ratings.storage.workshops import move_into_place, workshop_for
from ratings.study.progress import Progress, quiet

#: Part of the work that is copying; the rest is checking.
_COPYING = 0.9


def save_copy(study: Study, destination: Path, progress: Progress = quiet) -> Path:
    """Copy an open study with its recordings and clips into a new folder; return it.

    Both databases are copied as they were last committed, in one moment; whoever listens meanwhile
    goes on, and only their next entry may wait for that moment. The copy appears when it is
    complete and was opened and checked.

    Raises
    ------
    StudyError
        When the place is taken or lies inside of the study, when something cannot be copied, or
        the copy is not whole.
    RecordingError
        When a file of the study cannot be read.
    Cancelled
        When `progress` asked for it; nothing is left behind.
    """
    if destination.resolve().is_relative_to(study.folder.path.resolve()):
        raise StudyError(
            f"The copy would lie inside of the study {study.folder.name}.",
            "Choose a folder outside of it.",
        )
    with workshop_for(destination) as workshop:
        copy = StudyFolder(workshop / "study")
        _copy_databases(study, copy)
        _copy_files(study.folder, copy, progress)
        progress(_COPYING, "Checking the copy")
        _refuse_unlike(study, copy, progress)
        move_into_place(copy.path, destination)
    return destination


def _copy_databases(study: Study, copy: StudyFolder) -> None:
    source = study.folder
    try:
        copy.path.mkdir()
        # As open or as closed to others as the lead's folder is.
        copy.lead.mkdir(mode=stat.S_IMODE(source.lead.stat().st_mode))
        # Nobody can commit to either file while it is being read.
        with study.reading():
            copy_database(source.database, copy.database)
            copy_database(source.lead_database, copy.lead_database)
    except OSError as problem:
        raise StudyError(
            f"The study cannot be copied: {reason_of(problem)}.",
            "Choose a place where you may write and that has space. The study itself is safe.",
        ) from problem


def _copy_files(source: StudyFolder, copy: StudyFolder, progress: Progress) -> None:
    files = list(_files_of(source))
    total = sum(file.stat().st_size for file in files) or 1
    done = 0
    for number, file in enumerate(files, start=1):
        target = copy.path / file.relative_to(source.path)
        target.parent.mkdir(parents=True, exist_ok=True)
        size = file.stat().st_size

        def report(part: float, done: int = done, size: int = size, number: int = number) -> None:
            words = f"Copying file {number} of {len(files)}"
            progress(_COPYING * (done + part * size) / total, words)

        report(0.0)
        copy_checked(file, target, report)
        done += size
    for folder in (copy.clips, copy.recordings):
        folder.mkdir(exist_ok=True)


def _files_of(folder: StudyFolder) -> Iterator[Path]:
    """Give the files of a study but for its databases and what is only half there."""
    for part in (folder.clips, folder.recordings, folder.measurements, folder.equalisers):
        for file in sorted(part.glob("*")) if part.is_dir() else ():
            is_half = file.name.startswith(".") or file.suffix == ".partial"
            if file.is_file() and not file.is_symlink() and not is_half:
                yield file


def _refuse_unlike(study: Study, copy: StudyFolder, progress: Progress) -> None:
    """Open the copy as its lead would, and compare it with what was copied."""
    made = open_study(copy.path)
    try:
        made.refuse_changed_rows(
            lambda part, words: progress(_COPYING + (1 - _COPYING) * part, words)
        )
        missing = len(missing_clips(made)) - len(missing_clips(study))
    finally:
        made.close()
    if missing > 0:
        raise StudyError(
            f"The copy lacks {missing} clips that the study {study.folder.name} has.",
            "Nothing was kept of it. Check the disks, then copy again.",
        )
