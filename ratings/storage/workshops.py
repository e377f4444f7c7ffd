"""Hidden folders in which something is made before it is moved to its place, whole."""

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

#: Nobody takes longer to make one study; what is older was left by a program that was killed.
LONGEST_WORK_S = 24 * 3600.0

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
    try:
        yield workshop
    finally:
        shutil.rmtree(workshop, ignore_errors=True)


def _clear_away(place: Path) -> None:
    for workshop in place.glob(".twinset-*"):
        if workshop.is_dir() and _is_left_behind(workshop):
            shutil.rmtree(workshop, ignore_errors=True)


def _is_left_behind(workshop: Path) -> bool:
    name = _NAME.fullmatch(workshop.name)
    # The numbers of processes say nothing about those of another machine on a shared disk.
    if name is not None and name[1] == _this_machine() and not _may_run(int(name[2])):
        return True
    try:
        return time.time() - workshop.stat().st_mtime > LONGEST_WORK_S
    except OSError:
        # Its owner has taken it away in this moment.
        return False


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
