"""Samples of a sound file, as fractions of full scale."""

import os
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from ratings.recordings.refusals import broken_header


class SoundSource:
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
