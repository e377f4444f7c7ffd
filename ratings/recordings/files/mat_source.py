"""Samples of a MAT file of level 5 (up to version 7); version 7.3 is HDF5."""

from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.files.array_layout import ArrayLayout, Entry, StoredArray, array_layout
from ratings.recordings.files.mat_variables import BadMatError, MatFile, MatVariable
from ratings.recordings.refusals import COPY_AGAIN, refuse_swelling, shown_name

_LONGEST_TEXT = 1_000


class MatSource:
    """A MAT file; see `sources.SampleSource`.

    Notes
    -----
    A compressed array is one piece, so the samples are held in memory as stored.
    """

    def __init__(self, path: Path) -> None:
        try:
            with path.open("rb") as stream:
                file = MatFile(stream)
                layout = _layout(path, file)
                samples = np.atleast_1d(file.values(_variable(file, layout.array.name)))
        except BadMatError as error:
            raise RecordingError(
                f"{shown_name(path)} is damaged or was cut off: its variables cannot be read "
                "to the end.",
                COPY_AGAIN,
            ) from error
        by_channel = samples.reshape(samples.shape[0], -1)
        self._samples = by_channel if layout.time_axis == 0 else by_channel.T
        self.encoding = layout.array.encoding
        self.sample_rate_hz = layout.sample_rate_hz
        self.channels = layout.channels
        self.frames = layout.frames
        self.channel_names = layout.channel_names
        self.units = layout.units

    def read(self, start_frame: int, frames: int) -> npt.NDArray[np.float64]:
        """Read up to `frames` frames as stored, shape (frames, channels)."""
        return self._samples[start_frame : start_frame + frames].astype(np.float64, order="C")

    def close(self) -> None:
        """Let go of the samples; the file itself is closed already."""
        self._samples = self._samples[:0].copy()


def _layout(path: Path, file: MatFile) -> ArrayLayout:
    arrays: list[StoredArray] = []
    entries: dict[str, Entry] = {}
    axes: dict[str, npt.NDArray[np.generic]] = {}
    for variable in file.variables:
        entry = _entry(file, variable)
        if entry is not None:
            entries[variable.name.lower()] = entry
        elif variable.size:
            refuse_swelling(path, variable.size * _value_bytes(variable))
            kind = np.dtype(variable.class_name).kind if variable.is_real else ""
            words = variable.class_name if variable.is_real else _other_words(variable)
            arrays.append(StoredArray(variable.name, variable.shape, kind, words))

    def axis(array: StoredArray, start: int, stop: int) -> npt.NDArray[np.float64]:
        if array.name not in axes:
            axes[array.name] = file.values(_variable(file, array.name)).ravel()
        return axes[array.name][start:stop].astype(np.float64)

    return array_layout(path, arrays, entries, axis)


def _variable(file: MatFile, name: str) -> MatVariable:
    return next(variable for variable in file.variables if variable.name == name)


def _value_bytes(variable: MatVariable) -> int:
    return np.dtype(variable.class_name).itemsize if variable.is_real else 1


def _other_words(variable: MatVariable) -> str:
    is_number = variable.class_name.startswith(("float", "int", "uint"))
    return "complex" if is_number else variable.class_name


def _entry(file: MatFile, variable: MatVariable) -> Entry | None:
    """Read a single number or a text; None for anything else."""
    if variable.is_real and variable.size == 1:
        return float(file.values(variable).ravel().tolist()[0])
    if variable.class_name != "char" or not 0 < variable.size < _LONGEST_TEXT:
        return None
    # Rows of a char array are texts of equal length, filled up with blanks.
    codes = file.values(variable)
    rows = codes.reshape(codes.shape[0], -1).tolist()
    try:
        texts = ["".join(map(chr, row)) for row in rows]
    except ValueError as error:
        raise BadMatError from error
    return texts[0] if len(texts) == 1 else tuple(texts)
