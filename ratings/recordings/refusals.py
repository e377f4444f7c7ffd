"""Sentences about a file that several readers share, one that has changed among them."""

import stat
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from ratings.errors import RecordingError

EXPORT_AGAIN = "Choose a WAV or FLAC file, or export the recording again as one of these."
_UNPRINTABLE = ("Cc", "Cs", "Zl", "Zp")
"""Control characters, bytes that are no text, ends of lines and paragraphs (Unicode categories)."""
_ALWAYS_ALLOWED_BYTES = 2**28
_LARGEST_SWELLING = 100
COPY_AGAIN = "Copy it again from the recorder, or choose another run; nothing was changed."


def shown_name(path: Path) -> str:
    """Give the file's name in quotes, on one line even where the disk holds a line's end in it."""
    return f"'{printable(path.name or str(path))}'"


def printable(text: str) -> str:
    """Write out what cannot be printed on one line, such as a line's end, as an escape."""
    return "".join(
        sign.encode("unicode_escape").decode()
        if unicodedata.category(sign) in _UNPRINTABLE
        else sign
        for sign in text
    )


def ordinary_bytes(path: Path, wanted: str) -> int:
    """Give the size of an ordinary file; reading a pipe would wait for ever.

    Raises
    ------
    RecordingError
        For a folder, a pipe or a device.
    OSError
        When the system gives no answer; see `missing` and `unreadable`.
    """
    facts = path.stat()
    if stat.S_ISDIR(facts.st_mode):
        raise RecordingError(
            f"{shown_name(path)} is a folder, not {wanted}.", "Choose a file inside it."
        )
    if not stat.S_ISREG(facts.st_mode):
        raise RecordingError(
            f"{shown_name(path)} is not an ordinary file.", "Save what it gives as a file first."
        )
    return facts.st_size


def missing(path: Path) -> RecordingError:
    """Say that there is no such file."""
    return RecordingError(
        f"There is no file {shown_name(path)} in the folder {shown_name(path.absolute().parent)}.",
        "Check whether it was moved or renamed, or whether its disk is connected.",
    )


def unreadable(path: Path, error: OSError) -> RecordingError:
    """Put a refusal of the operating system to read a file into words."""
    if isinstance(error, PermissionError):
        return RecordingError(
            f"You are not allowed to read {shown_name(path)}.",
            "Ask its owner for the right to read it, or copy it to a folder of your own.",
        )
    return RecordingError(
        f"{shown_name(path)} cannot be read: the system says '{error.strerror or error}'.",
        "Check the disk or the network folder it is on, and try again.",
    )


def broken_header(path: Path, container: str) -> RecordingError:
    """Say that a file begins like one of its kind but is not one."""
    return RecordingError(
        f"{shown_name(path)} starts like a {container} file and cannot be read as one: "
        "its header is damaged or incomplete.",
        COPY_AGAIN,
    )


def refuse_swelling(path: Path, unpacked_bytes: int) -> None:
    """Refuse a file that unpacks to far more than any sound is packed in.

    Raises
    ------
    RecordingError
        From 256 MB on, when they are a hundred times the size of the file (own choice: sound that
        is not silence packs to a tenth at best).
    """
    file_bytes = path.stat().st_size
    if unpacked_bytes > max(_ALWAYS_ALLOWED_BYTES, _LARGEST_SWELLING * file_bytes):
        raise RecordingError(
            f"{shown_name(path)} would unpack from {file_bytes / 1e6:.1f} MB to "
            f"{unpacked_bytes / 1e6:.0f} MB, which no recording does.",
            EXPORT_AGAIN,
        )


def cut_off(path: Path, promised_frames: int, held_frames: int) -> RecordingError:
    """Say that a file ends before the last sample that its header promises."""
    return RecordingError(
        f"{shown_name(path)} was cut off: its header promises {promised_frames} samples of each "
        f"channel and the file holds {held_frames}.",
        COPY_AGAIN,
    )


@contextmanager
def told_by_its_own_name(copy: Path, original: Path) -> Iterator[None]:
    """Let refusals of a copy name the original, which is what the lead knows."""
    try:
        yield
    except RecordingError as problem:
        problem.what_happened, problem.what_to_do = (
            words.replace(shown_name(copy), shown_name(original))
            for words in (problem.what_happened, problem.what_to_do)
        )
        raise


class FileState(NamedTuple):
    """What changes when another program writes to a file or puts another in its place."""

    bytes_held: int
    written_ns: int
    file_id: int


def state_of(path: Path) -> FileState:
    """Give the state of a file.

    Raises
    ------
    RecordingError
        When it is gone or out of reach.
    """
    try:
        facts = path.stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise missing(path) from error
    except OSError as error:
        raise unreadable(path, error) from error
    return FileState(facts.st_size, facts.st_mtime_ns, facts.st_ino)


def refuse_changed(path: Path, before: FileState) -> None:
    """Refuse a file that is no longer what it was.

    Raises
    ------
    RecordingError
        When it was written to, replaced or taken away since.
    """
    if state_of(path) != before:
        raise RecordingError(
            f"{shown_name(path)} was changed while it was read: another program writes to it.",
            "Wait until the recorder has closed the file, then try again.",
        )
