"""What every kind of recording file offers to the reader above it, and which reader it takes."""

import os
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt
import soundfile

from ratings.recordings.refusals import broken_header

_PA_BY_UNIT = {
    "Pa": 1.0,
    "pa": 1.0,
    "PA": 1.0,
    "Pascal": 1.0,
    "pascal": 1.0,
    "PASCAL": 1.0,
    "Pascals": 1.0,
    "pascals": 1.0,
    "N/m^2": 1.0,
    "N/m**2": 1.0,
    "N/m2": 1.0,
    "N/m²": 1.0,
    "hPa": 1e2,
    "kPa": 1e3,
    "MPa": 1e6,
    "mPa": 1e-3,
    "uPa": 1e-6,
    "µPa": 1e-6,  # micro sign
    "μPa": 1e-6,  # Greek letter
}


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
    from ratings.recordings.files.sources import _SoundSource

    return _SoundSource(path, container)


class _SoundSource:
    """A sound file; see `sources.SampleSource`."""

    def __init__(self, path: Path, container: str) -> None:
        try:
            # As bytes, because a disk's names need not be text; Windows takes text only.
            name = str(path) if os.name == "nt" else os.fsencode(path)
            self._file = soundfile.SoundFile(name)
        except soundfile.LibsndfileError as error:
            raise broken_header(path, container) from error
        self.encoding = str(self._file.subtype)
        self.sample_rate_hz = int(self._file.samplerate)
        self.channels = int(self._file.channels)
        self.frames = int(self._file.frames)
        self.channel_names = ("",) * self.channels
        self.units: tuple[str | None, ...] = (None,) * self.channels
        self._position = 0

    def read(self, start_frame: int, frames: int) -> npt.NDArray[np.float64]:
        """Read up to `frames` frames, full scale 1.0, shape (frames, channels)."""
        try:
            # A needless seek costs a compressed file the decoding from its last way mark.
            if start_frame != self._position:
                self._file.seek(start_frame)
            samples: npt.NDArray[np.float64] = self._file.read(
                frames, dtype="float64", always_2d=True
            )
        except soundfile.LibsndfileError as error:
            self._position = -1
            raise EOFError from error
        self._position = start_frame + len(samples)
        return samples

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


def pa_per_unit(unit: str | None) -> float | None:
    """Give the pascal in one of a unit; None when it is no unit of pressure, or not known."""
    return None if unit is None else _PA_BY_UNIT.get(unit.strip())
