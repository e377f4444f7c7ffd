"""Samples of a universal file: every time history of type 58 or 58b is a channel."""

from io import BytesIO
from pathlib import Path
from typing import BinaryIO, Protocol

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.files.sample_rates import whole_rate_hz
from ratings.recordings.files.uff_blocks import BadUffError, UffChannel, uff_channels
from ratings.recordings.refusals import COPY_AGAIN, EXPORT_AGAIN, broken_header, cut_off, shown_name

_KIND = "UFF 58"
_TEXT_BYTES = 2**20
_MOST_HISTORIES = 500
_LONGEST_LINE = 1_000
"""Bytes; the format has 80."""

_Values = npt.NDArray[np.float64] | npt.NDArray[np.float32]


class _Values58(Protocol):
    def between(self, start: int, stop: int) -> npt.NDArray[np.generic]: ...


class UffSource:
    """A universal file; see `sources.SampleSource`.

    Notes
    -----
    Binary values stay on the disk. Values written as text have no fixed place, so they are read
    when the file is opened and held in the precision in which they were written.
    """

    def __init__(self, path: Path) -> None:
        self._stream = path.open("rb")
        try:
            histories = _time_histories(path, self._stream)
            self.sample_rate_hz = _common_rate_hz(path, histories)
            self._values = [_checked(path, self._stream, history) for history in histories]
        except BaseException:
            self.close()
            raise
        self.encoding = "float64" if any(h.is_double for h in histories) else "float32"
        self.channels = len(histories)
        self.frames = histories[0].count
        self.channel_names = tuple(history.name for history in histories)
        self.units = tuple(history.unit for history in histories)

    def read(self, start_frame: int, frames: int) -> npt.NDArray[np.float64]:
        """Read up to `frames` frames as stored, shape (frames, channels)."""
        stop = min(start_frame + frames, self.frames)
        columns = [values.between(start_frame, stop) for values in self._values]
        held = min(map(len, columns))
        return np.stack([column[:held] for column in columns], axis=1, dtype=np.float64)

    def close(self) -> None:
        """Let go of the file."""
        self._stream.close()


class _OnDisk:
    def __init__(self, stream: BinaryIO, start_byte: int, dtype: np.dtype[np.generic]) -> None:
        self._stream = stream
        self._start_byte = start_byte
        self._dtype = dtype

    def between(self, start: int, stop: int) -> npt.NDArray[np.generic]:
        self._stream.seek(self._start_byte + start * self._dtype.itemsize)
        held = self._stream.read((stop - start) * self._dtype.itemsize)
        whole = len(held) // self._dtype.itemsize * self._dtype.itemsize
        return np.frombuffer(held[:whole], self._dtype)


class _InMemory:
    def __init__(self, values: _Values) -> None:
        self._values = values

    def between(self, start: int, stop: int) -> npt.NDArray[np.generic]:
        return self._values[start:stop]


def _time_histories(path: Path, stream: BinaryIO) -> list[UffChannel]:
    try:
        found = list(uff_channels(stream))
    except BadUffError as error:
        raise broken_header(path, _KIND) from error
    histories = [channel for channel in found if channel.is_time_history]
    if not histories:
        held = f"{len(found)} data sets of type 58, none of them a" if found else "no"
        raise RecordingError(
            f"{shown_name(path)} is a universal file with {held} real time history "
            "at even spacing (data set 58).",
            "Export the time signals, not spectra, and choose that file.",
        )
    if len(histories) > _MOST_HISTORIES:
        raise RecordingError(
            f"{shown_name(path)} holds {len(histories)} time histories, more than a recording has "
            "channels.",
            "Export only the channels that will be heard or measured.",
        )
    return histories


def _common_rate_hz(path: Path, histories: list[UffChannel]) -> int:
    forms = {(history.spacing_s, history.count) for history in histories}
    if len(forms) > 1:
        raise RecordingError(
            f"{shown_name(path)} holds {len(histories)} time histories of different sample rates "
            "or lengths, which cannot be the channels of one recording.",
            "Export the channels of one run with one sample rate and one length.",
        )
    ((spacing_s, _),) = forms
    rate_hz = whole_rate_hz(1 / spacing_s) if spacing_s > 0 else None
    if rate_hz is None:
        raise RecordingError(
            f"{shown_name(path)} gives a spacing of {spacing_s:g} s between samples, which is "
            "not a whole number of samples per second.",
            EXPORT_AGAIN,
        )
    return rate_hz


def _checked(path: Path, stream: BinaryIO, history: UffChannel) -> _Values58:
    if history.dtype is None:
        values = _numbers(path, stream, history)
        _refuse_unequal(path, history, len(values))
        return _InMemory(values)
    _refuse_unequal(
        path, history, (history.stop_byte - history.start_byte) // history.dtype.itemsize
    )
    return _OnDisk(stream, history.start_byte, history.dtype)


def _numbers(path: Path, stream: BinaryIO, history: UffChannel) -> _Values:
    """Read values written as text, a stretch of whole lines at a time."""
    stored = np.float64 if history.is_double else np.float32
    parts = [np.empty(0, stored)]
    stream.seek(history.start_byte)
    left = history.stop_byte - history.start_byte
    while left > 0:
        text = stream.read(min(left, _TEXT_BYTES))
        text += stream.readline(left - len(text)) if left > len(text) else b""
        if not text:
            break
        left -= len(text)
        try:
            numbers = _parsed(text)
        except ValueError as error:
            held = sum(map(len, parts))
            if not history.is_closed:
                raise cut_off(path, history.count, held) from error
            raise RecordingError(
                f"{shown_name(path)} holds something that is not a number among the samples of "
                f"a channel, beyond sample {held}.",
                EXPORT_AGAIN,
            ) from error
        parts.append(numbers.astype(stored))
    return np.concatenate(parts)


def _parsed(text: bytes) -> npt.NDArray[np.float64]:
    """Read numbers apart by blanks; ValueError for anything else."""
    if b"D" in text or b"d" in text:
        # Fortran writes the exponent of a double with a D.
        text = text.upper().replace(b"D", b"E")
    if text.find(b"\n", 0, _LONGEST_LINE) < 0:
        # A table of as many columns as there are numbers would take minutes.
        return np.fromstring(text.decode("ascii"), sep=" ")
    import pandas as pd

    try:
        # Three times as fast as numpy, to the same last bit.
        table = pd.read_csv(BytesIO(text), sep=r"\s+", header=None, dtype=np.float64)
    except ValueError:
        table = pd.DataFrame()
    numbers = table.to_numpy().ravel()
    # The last line of a channel may be shorter than the others, which pandas fills up.
    numbers = numbers[: numbers.size - int(np.isnan(numbers[-table.shape[1] :]).sum())]
    if numbers.size and not np.isnan(numbers).any():
        return numbers
    return np.fromstring(text.decode("ascii"), sep=" ")


def _refuse_unequal(path: Path, history: UffChannel, held: int) -> None:
    if held < history.count:
        raise cut_off(path, history.count, held)
    if not history.is_closed:
        raise RecordingError(
            f"{shown_name(path)} is damaged or was cut off: the mark that ends a channel is not "
            "where its header says.",
            COPY_AGAIN,
        )
    if held > history.count:
        raise RecordingError(
            f"{shown_name(path)} holds {held} samples in a channel for which its header "
            f"gives {history.count}.",
            EXPORT_AGAIN,
        )
