"""Samples of an HDF5 file, or of a MAT file of version 7.3, streamed from the disk."""

import math
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.files.array_layout import ArrayLayout, Entry, StoredArray, array_layout
from ratings.recordings.refusals import (
    COPY_AGAIN,
    broken_header,
    refuse_swelling,
    shown_name,
)

_MOST_TEXTS = 1_000
_MOST_TEXT_BYTES = 2**20
_MOST_ITEMS = 10_000
"""Groups and arrays of a file; no recorder writes as many."""
_DEEPEST = 32
"""Groups within groups."""
_LARGEST_CHUNK_BYTES = 2**28
_CACHE_BYTES = 2**24
"""Holds the chunks of a block, so that none is decompressed for every channel again."""
# The reader of damaged files raises whatever it trips over.
_TRIPPED = (
    OSError,
    KeyError,
    ValueError,
    TypeError,
    RuntimeError,
    IndexError,
    AttributeError,
    OverflowError,
    MemoryError,
    NotImplementedError,
)


class Hdf5Source:
    """An HDF5 file; see `sources.SampleSource`."""

    def __init__(self, path: Path, container: str) -> None:
        try:
            self._file = h5py.File(path, "r", rdcc_nbytes=_CACHE_BYTES)
        except _TRIPPED as error:
            raise broken_header(path, container) from error
        try:
            layout = self._layout(path)
            self._array = self._file[layout.array.name]
            _refuse_unwritten(path, self._array)
        except _TRIPPED as error:
            self.close()
            raise broken_header(path, container) from error
        except BaseException:
            self.close()
            raise
        self._layout_found = layout
        self.encoding = layout.array.encoding
        self.sample_rate_hz = layout.sample_rate_hz
        self.channels = layout.channels
        self.frames = layout.frames
        self.channel_names = layout.channel_names
        self.units = layout.units

    def read(self, start_frame: int, frames: int) -> npt.NDArray[np.float64]:
        """Read up to `frames` frames as stored, shape (frames, channels)."""
        stretch = slice(start_frame, min(start_frame + frames, self.frames))
        try:
            if len(self._layout_found.array.shape) == 1:
                return np.asarray(self._array[stretch], np.float64)[:, np.newaxis]
            if self._layout_found.time_axis == 0:
                return np.asarray(self._array[stretch, :], np.float64)
            return np.ascontiguousarray(np.asarray(self._array[:, stretch], np.float64).T)
        except _TRIPPED as error:
            raise EOFError from error

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()

    def _layout(self, path: Path) -> ArrayLayout:
        arrays: list[StoredArray] = []
        entries = _attributes(self._file)

        items = 0

        def visit(name: str, item: Any) -> None:
            nonlocal items
            items += 1
            if items > _MOST_ITEMS or name.count("/") > _DEEPEST:
                raise OverflowError
            if name.startswith("#"):  # what a MAT file's cells and structs point to
                return
            if isinstance(item, h5py.Group):
                entries.update(_attributes(item))
                return
            if not isinstance(item, h5py.Dataset):
                return
            _refuse_elsewhere(path, item)
            if (entry := _as_entry(item)) is not None:
                entries[name.rsplit("/", 1)[-1].lower()] = entry
            elif item.size is not None and item.size > 1 and "MATLAB_empty" not in item.attrs:
                _refuse_bomb(path, item)
                arrays.append(_stored(name, item))

        self._file.visititems(visit)
        return array_layout(path, arrays, entries, self._axis)

    def _axis(self, array: StoredArray, start: int, stop: int) -> npt.NDArray[np.float64]:
        stretch = tuple(slice(start, stop) if side > 1 else slice(None) for side in array.shape)
        return np.asarray(self._file[array.name][stretch], np.float64).ravel()


def _refuse_elsewhere(path: Path, dataset: Any) -> None:
    """Refuse an array that would be read out of other files of this computer."""
    if dataset.is_virtual or dataset.external:
        raise RecordingError(
            f"{shown_name(path)} does not hold its samples itself: it points at other files.",
            "Export the recording into one file that holds everything.",
        )


def _refuse_bomb(path: Path, dataset: Any) -> None:
    """Refuse an array that swells beyond measure, or of which one piece alone fills the memory."""
    refuse_swelling(path, dataset.size * dataset.dtype.itemsize)
    if dataset.chunks and math.prod(dataset.chunks) * dataset.dtype.itemsize > _LARGEST_CHUNK_BYTES:
        raise RecordingError(
            f"{shown_name(path)} is packed in pieces of more than "
            f"{_LARGEST_CHUNK_BYTES // 2**20} MB, each of which would have to be held in memory.",
            "Export the recording in smaller pieces (chunks), or as a WAV file.",
        )


def _refuse_unwritten(path: Path, dataset: Any) -> None:
    """Refuse an array whose place was set aside and not filled; it would read as silence."""
    if dataset.chunks is None:
        wanted = dataset.size * dataset.dtype.itemsize
        written = dataset.id.get_storage_size()
    else:
        sides = zip(dataset.shape, dataset.chunks, strict=True)
        wanted = math.prod(-(-side // chunk) for side, chunk in sides)
        written = dataset.id.get_num_chunks()
    if written < wanted:
        raise RecordingError(
            f"{shown_name(path)} was never finished: only {100 * written / wanted:.0f} % of its "
            "samples were written.",
            COPY_AGAIN,
        )


def _stored(name: str, dataset: Any) -> StoredArray:
    is_text = _matlab_class(dataset) == "char"
    return StoredArray(
        name=name,
        shape=tuple(dataset.shape),
        kind="" if is_text else dataset.dtype.kind,
        encoding=str(dataset.dtype.newbyteorder("=")),
        entries=_attributes(dataset),
    )


def _attributes(item: Any) -> dict[str, Entry]:
    found = {}
    for name, value in item.attrs.items():
        entry = _entry(np.asarray(value))
        if entry is not None:
            found[name.lower()] = entry
    return found


def _as_entry(dataset: Any) -> Entry | None:
    """Read a data set that is a single number or a text; None for anything else."""
    if dataset.size is None or not 0 < dataset.size < _MOST_TEXTS:
        return None
    if dataset.size * dataset.dtype.itemsize > _MOST_TEXT_BYTES:
        return None
    if dataset.chunks and math.prod(dataset.chunks) * dataset.dtype.itemsize > _LARGEST_CHUNK_BYTES:
        return None
    if _matlab_class(dataset) == "char":
        return "".join(map(chr, np.asarray(dataset[()]).T.ravel().tolist()))
    if dataset.size == 1 or dataset.dtype.kind in "OS":
        return _entry(np.asarray(dataset[()]))
    return None


def _matlab_class(dataset: Any) -> str:
    found = dataset.attrs.get("MATLAB_class", b"")
    return found.decode("ascii", "replace") if isinstance(found, bytes) else str(found)


def _entry(value: npt.NDArray[Any]) -> Entry | None:
    if value.dtype.kind in "fiu":
        return float(value.ravel().tolist()[0]) if value.size == 1 else None
    if value.dtype.kind not in "OSU":
        return None
    texts = []
    for item in value.ravel().tolist():
        if isinstance(item, bytes):
            texts.append(item.decode("utf-8", "replace"))
        elif isinstance(item, str):
            texts.append(item)
        else:
            return None
    return texts[0] if len(texts) == 1 else tuple(texts)
