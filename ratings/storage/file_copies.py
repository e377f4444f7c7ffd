"""Originals copied into a study: whole or not at all, with their content checked."""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path

from ratings.clips.clip_files import FILE_TIME_S
from ratings.errors import StudyError, reason_of
from ratings.recordings.opening import shown_name, unreadable
from ratings.recordings.read import content_hash

_BLOCK_BYTES = 2**22

#: Called with the part done, 0 to 1; raises Cancelled to stop the work.
Report = Callable[[float], None]


def copy_checked(original: Path, destination: Path, report: Report) -> str:
    """Copy a file and read the copy back; return the SHA-256 of its content, hexadecimal.

    Raises
    ------
    RecordingError
        When the original cannot be read.
    StudyError
        When the copy cannot be written, or is not the same as the original.
    """
    try:
        stream = original.open("rb")
    except OSError as problem:
        raise unreadable(original, problem) from problem
    try:
        with stream, destination.open("xb") as copy:
            size = max(1, os.fstat(stream.fileno()).st_size)
            digest = hashlib.sha256()
            while block := stream.read(_BLOCK_BYTES):
                digest.update(block)
                copy.write(block)
                report(min(1.0, copy.tell() / size))
            copy.flush()
            os.fsync(copy.fileno())
        # Neither the time of driving nor that of copying tells which set it is.
        os.utime(destination, (FILE_TIME_S, FILE_TIME_S))
    except OSError as problem:
        raise StudyError(
            f"{shown_name(original)} cannot be copied into the study: {reason_of(problem)}.",
            "Your file is untouched. Make room or check the disks, then try again.",
        ) from problem
    if content_hash(destination) != digest.hexdigest():
        raise StudyError(
            f"The copy of {shown_name(original)} differs from the original: "
            "a disk does not keep what is written.",
            "Your file is untouched. Check the disk of the study, then try again.",
        )
    return digest.hexdigest()


def put_in_place(copy: Path, destination: Path, content: str) -> bool:
    """Move a checked copy to its place; False when the same content lies there already.

    Parameters
    ----------
    content
        SHA-256 of the copy, hexadecimal.

    Raises
    ------
    StudyError
        When it cannot be moved.
    """
    if destination.is_file() and content_hash(destination) == content:
        return False
    try:
        copy.replace(destination)
        _settle(destination.parent)
    except OSError as problem:
        raise StudyError(
            f"The copy cannot be put into the folder {destination.parent.name} of the study: "
            f"{reason_of(problem)}.",
            "Your file is untouched. Check the right to write there, then try again.",
        ) from problem
    return True


def _settle(folder: Path) -> None:
    if os.name != "posix":
        # Elsewhere a folder cannot be opened to wait for its entries.
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
