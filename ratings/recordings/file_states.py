"""Whether a recording is still the file that it was when work on it began."""

from pathlib import Path
from typing import NamedTuple

from ratings.errors import RecordingError
from ratings.recordings.refusals import missing, shown_name, unreadable


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
