"""Writing a clip: whole or not at all, and telling nothing but its sound."""

import errno
import hashlib
import io
import os
import secrets
import time
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from ratings.errors import RecordingError
from ratings.recordings.opening import shown_name

LOWEST_CODE, HIGHEST_CODE = -(2**23), 2**23 - 1
"""Range of a 24-bit sample."""

FILE_TIME_S = 946_684_800
"""Every clip file carries this time, 2000-01-01 00:00 UTC: the order of cutting tells nothing."""

BYTES_BEFORE_SAMPLES = 44
_BYTES_PER_FRAME = 2 * 3

#: Nobody takes longer to write one clip; what is older was left by a program that was killed.
_LONGEST_WRITING_S = 3600.0

_FULL_DISK = (errno.ENOSPC, errno.EDQUOT)


def write_clip(
    destination: Path, codes: npt.NDArray[np.int32], sample_rate_hz: int, source: Path
) -> str:
    """Write a clip as 24-bit stereo WAV without tags.

    Parameters
    ----------
    codes
        Shape (frames, 2), from -2^23 to 2^23 - 1.
    source
        The recording, which must never be overwritten.

    Returns
    -------
    SHA-256 of the file, hexadecimal.

    Raises
    ------
    RecordingError
        When it cannot be written; no half file is left, and a file that was there stays.
    """
    content = _wav_bytes(codes, sample_rate_hz)
    # Its own name: another program may be cutting the same clip.
    partial = destination.with_name(f".{destination.name}.{secrets.token_hex(6)}.partial")
    try:
        if destination.exists() and destination.samefile(source):
            raise RecordingError(
                f"The clip would overwrite its own recording {shown_name(source)}.",
                "Choose another place for the clip; the recording is untouched.",
            )
        _clear_away(destination)
        with partial.open("xb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.utime(partial, (FILE_TIME_S, FILE_TIME_S))
        partial.replace(destination)
    except OSError as error:
        raise _unwritable(destination, error) from error
    finally:
        _remove(partial)
    return hashlib.sha256(content).hexdigest()


def clip_file_bytes(frames: int) -> int:
    """Return the size of a clip file that holds this many frames, in bytes."""
    return BYTES_BEFORE_SAMPLES + frames * _BYTES_PER_FRAME


def _wav_bytes(codes: npt.NDArray[np.int32], sample_rate_hz: int) -> bytes:
    memory = io.BytesIO()
    # Integers, so that no scaling or limiting of the library comes between; it keeps the upper
    # 24 bits of 32.
    soundfile.write(memory, codes << 8, sample_rate_hz, format="WAV", subtype="PCM_24")
    return memory.getvalue()


def _clear_away(destination: Path) -> None:
    for left in destination.parent.glob(f".{destination.name}.*.partial"):
        try:
            # Its time of writing is set before it is whole; this one nobody sets.
            if time.time() - left.stat().st_ctime > _LONGEST_WRITING_S:
                left.unlink()
        except OSError:
            # Another program has taken it away, or holds it: it is in nobody's way.
            continue


def _remove(partial: Path) -> None:
    try:
        partial.unlink(missing_ok=True)
    except OSError:
        # A folder that refuses the file refuses its removal too; the first reason is told.
        return


def _unwritable(destination: Path, error: OSError) -> RecordingError:
    folder = shown_name(destination.parent)
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return RecordingError(
            f"There is no folder {folder} for the clip.",
            "Check whether the study was moved or its disk is connected.",
        )
    if isinstance(error, PermissionError) or error.errno == errno.EROFS:
        return RecordingError(
            f"The clip cannot be written: the folder {folder} is read-only for you.",
            "Copy the study to a folder of your own, or ask for the right to write; "
            "nothing was changed.",
        )
    if error.errno in _FULL_DISK:
        return RecordingError(
            f"The clip cannot be written: the disk that holds {folder} is full.",
            "Make room and cut the clips again; the recordings and clips so far are safe.",
        )
    return RecordingError(
        f"The clip cannot be written to {folder}: the system says '{error.strerror or error}'.",
        "Check the disk and try again; the recordings are untouched.",
    )
