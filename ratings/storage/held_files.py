"""Files that are locked while their owner lives, so that what a killed program left is known.

The system lets go of a lock when its program ends, however it ends; the number of a process would
be given to another one, and says nothing on another machine.
"""

import contextlib
import os
import sys
from pathlib import Path
from typing import BinaryIO

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

#: Windows lets nobody read a byte that is locked: a place behind everything that is written here.
_LOCKED_BYTE = 2**30


class HeldFile:
    """A file that this program holds until `release`."""

    def __init__(self, path: Path, stream: BinaryIO) -> None:
        self.path = path
        self._stream = stream

    def write(self, content: bytes) -> None:
        """Replace what the file tells others."""
        self._stream.seek(0)
        self._stream.truncate()
        self._stream.write(content)
        self._stream.flush()

    def release(self) -> None:
        """Let go of the file and take it away; a second time does nothing."""
        if self._stream.closed:
            return
        if sys.platform != "win32":
            # Before it is let go of: whoever holds it next would lose theirs.
            _take_away(self.path)
        self._stream.close()
        if sys.platform == "win32":
            # Windows takes nothing away that is open.
            _take_away(self.path)


def hold(path: Path) -> HeldFile | None:
    """Make a file and hold it; None when a program that lives holds it already.

    Raises
    ------
    OSError
        When it cannot be made, or the disk knows no locks.
    """
    while True:
        stream = path.open("a+b")
        try:
            if not _lock(stream):
                stream.close()
                return None
            if _is_still_there(path, stream):
                return HeldFile(path, stream)
        except BaseException:
            stream.close()
            raise
        # Its holder took it away between opening and locking: the next file is another one.
        stream.close()


def is_held(path: Path) -> bool:
    """Tell whether a program that lives holds a file; also where that cannot be found out."""
    try:
        with path.open("rb") as stream:
            return not _lock(stream)
    except FileNotFoundError:
        return False
    except OSError:
        return True


def _lock(stream: BinaryIO) -> bool:
    try:
        if sys.platform == "win32":
            stream.seek(_LOCKED_BYTE)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _is_still_there(path: Path, stream: BinaryIO) -> bool:
    try:
        return os.path.samestat(path.stat(), os.fstat(stream.fileno()))
    except FileNotFoundError:
        return False


def _take_away(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()
