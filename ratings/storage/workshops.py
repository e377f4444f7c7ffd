"""Hidden folders in which something is made before it is moved to its place, whole; leftovers."""

import contextlib
import os
import platform
import re
import shutil
import tempfile
import time
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ratings.errors import StudyError, reason_of
from ratings.storage.blind_study import StudyFolder
from ratings.storage.held_files import hold, is_held

#: Nobody takes longer to make one study; what is older was left by a program that was killed.
LONGEST_WORK_S = 24 * 3600.0

#: In this time whoever made a workshop has also locked it.
_BEGINNING_S = 60.0
_OWNER = ".owner"
_NAME = re.compile(r"\.twinset-([0-9a-f]{8})-(\d+)-.+")


@contextmanager
def workshop_beside(path: Path) -> Iterator[Path]:
    """Make a hidden folder on the same disk as `path`, and take it away in the end.

    What killed programs have left there is taken away first.

    Raises
    ------
    OSError
        When the folder cannot be made.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    _clear_away(path.parent)
    prefix = f".twinset-{_this_machine()}-{os.getpid()}-"
    workshop = Path(tempfile.mkdtemp(prefix=prefix, dir=path.parent))
    # A disk without locks leaves the number of the process, and a day.
    held = None
    with contextlib.suppress(OSError):
        held = hold(workshop / _OWNER)
    try:
        yield workshop
    finally:
        if held is not None:
            held.release()
        shutil.rmtree(workshop, ignore_errors=True)


@contextmanager
def workshop_for(path: Path) -> Iterator[Path]:
    """Make a workshop for a study that is to come to `path`, where nothing may be yet.

    Raises
    ------
    StudyError
        When the place is taken, or nothing can be made there.
    """
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise StudyError(
            f"The folder {path.name} is not empty.",
            "Choose a new folder for the study; this one was not changed.",
        )
    with contextlib.ExitStack() as stack:
        try:
            workshop = stack.enter_context(workshop_beside(path))
        except OSError as problem:
            raise StudyError(
                f"No study can be made in {path.parent.name}: {reason_of(problem)}.",
                "Choose a place where you may write and that has space.",
            ) from problem
        yield workshop


def move_into_place(made: Path, path: Path) -> None:
    """Move a finished study to its place; StudyError when it cannot be."""
    with contextlib.suppress(FileNotFoundError):
        path.rmdir()
    try:
        made.replace(path)
    except OSError as problem:
        raise StudyError(
            f"The finished study cannot be moved to {path.name}: {reason_of(problem)}.",
            "Choose a new folder for the study; your recordings are untouched.",
        ) from problem


def clear_workshops(place: Path) -> None:
    """Take away what killed programs have left in a folder; never what somebody works in."""
    with contextlib.suppress(OSError):
        _clear_away(place)


def _clear_away(place: Path) -> None:
    for workshop in place.glob(".twinset-*"):
        if workshop.is_dir() and _is_left_behind(workshop):
            shutil.rmtree(workshop, ignore_errors=True)


def _is_left_behind(workshop: Path) -> bool:
    name = _NAME.fullmatch(workshop.name)
    # Numbers of processes, and on some disks locks too, say nothing about another machine.
    is_ours = name is not None and name[1] == _this_machine()
    if name is not None and is_ours and not _may_run(int(name[2])):
        return True
    try:
        age_s = time.time() - workshop.stat().st_mtime
    except OSError:
        # Its owner has taken it away in this moment.
        return False
    owner = workshop / _OWNER
    # Its number may have been given to another process since.
    if is_ours and age_s > _BEGINNING_S and owner.exists():
        return not is_held(owner)
    return age_s > LONGEST_WORK_S


def _may_run(process: int) -> bool:
    if os.name != "posix":
        # Windows has no harmless question: os.kill would end the process.
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _this_machine() -> str:
    return f"{zlib.crc32(platform.node().encode()):08x}"


#: Nobody writes one file for so long.
_LONGEST_WRITING_S = 3600.0


def clear_leftovers(folder: StudyFolder) -> None:
    """Take away half files, workshops and leases whose owner is dead; nobody's live work.

    A recording that lies whole among the others and that no row tells of stays: it may be all that
    is left of one, and whoever brings the same again takes it.
    """
    for place in (folder.path.parent, folder.path, folder.lead, folder.recordings):
        clear_workshops(place)
    for place in (folder.lead, folder.clips, folder.measurements):
        for half in place.glob("*.partial"):
            _clear_half(half)
    for lease in folder.path.glob(".seat-*.open"):
        with contextlib.suppress(OSError):
            held = hold(lease)
            if held is not None:
                held.release()


def _clear_half(half: Path) -> None:
    with contextlib.suppress(OSError):
        # Not the time of its content, which is set before it is whole.
        if time.time() - half.stat().st_ctime > _LONGEST_WRITING_S:
            half.unlink()
