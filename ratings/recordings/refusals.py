"""Sentences about a file that several readers of files share."""

from pathlib import Path

from ratings.errors import RecordingError

EXPORT_AGAIN = "Choose a WAV or FLAC file, or export the recording again as one of these."
COPY_AGAIN = "Copy it again from the recorder, or choose another run; nothing was changed."


def shown_name(path: Path) -> str:
    """Give the file's name in quotes, printable even where the disk holds bytes that are not."""
    return f"'{path.name.encode('utf-8', 'backslashreplace').decode()}'"


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
    """Say that a file begins like one of its kind and is none."""
    return RecordingError(
        f"{shown_name(path)} starts like a {container} file and cannot be read as one: "
        "its header is damaged or incomplete.",
        COPY_AGAIN,
    )


def cut_off(path: Path, promised_frames: int, held_frames: int) -> RecordingError:
    """Say that a file ends before the last sample that its header promises."""
    return RecordingError(
        f"{shown_name(path)} was cut off: its header promises {promised_frames} samples of each "
        f"channel and the file holds {held_frames}.",
        COPY_AGAIN,
    )
