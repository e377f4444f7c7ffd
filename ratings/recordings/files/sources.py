"""What every kind of recording file offers to the reader above it, and which reader it takes."""

from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt


class SampleSource(Protocol):
    """Samples of an open file, in the order of its channels.

    Attributes
    ----------
    encoding
        How samples are stored: a sound file's own word such as ``PCM_24``, where samples are
        fractions of full scale; or the name of a number type such as ``float32``, where they are
        the stored numbers.
    sample_rate_hz, channels, frames
        As the file says; `frames` counts one sample of every channel as one.
    channel_names
        One for each channel; empty where the file gives none.
    units
        What one stored 1.0 of each channel is, as the file writes it; None where it says nothing.
    """

    encoding: str
    sample_rate_hz: int
    channels: int
    frames: int
    channel_names: tuple[str, ...]
    units: tuple[str | None, ...]

    def read(self, start_frame: int, frames: int) -> npt.NDArray[np.float64]:
        """Read up to `frames` frames, shape (frames, channels); fewer where the file ends early.

        Raises
        ------
        EOFError
            When the file is damaged at this place.
        """
        ...

    def close(self) -> None:
        """Let go of the file."""
        ...


def open_source(path: Path, container: str) -> SampleSource:
    """Open a file of a known kind; the library for it is imported now and not before.

    Raises
    ------
    RecordingError
        When the file is damaged, or not laid out as a recording.
    """
    if container == "UFF 58":
        from ratings.recordings.files.uff_source import UffSource

        return UffSource(path)
    if container == "MAT":
        from ratings.recordings.files.mat_source import MatSource

        return MatSource(path)
    if container in ("HDF5", "MAT 7.3"):
        from ratings.recordings.files.hdf5_source import Hdf5Source

        return Hdf5Source(path, container)
    if container == "MDF4":
        from ratings.recordings.files.mdf_source import MdfSource

        return MdfSource(path)
    from ratings.recordings.files.sound_source import SoundSource

    return SoundSource(path, container)
