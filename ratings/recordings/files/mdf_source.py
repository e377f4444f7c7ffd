"""Samples of an ASAM MDF 4 file, read by an optional package and streamed from the disk."""

import logging
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.files.mdf_blocks import BadMdfError, check_mdf_blocks
from ratings.recordings.files.sample_rates import even_rate_hz, whole_rate_hz
from ratings.recordings.refusals import (
    COPY_AGAIN,
    EXPORT_AGAIN,
    broken_header,
    refuse_swelling,
    shown_name,
)

_KIND = "MDF4"
_LOWEST_SOUND_RATE_HZ = 4_000
"""Slower channels of the same file (speed, temperature, GPS) are no sound."""
_LARGEST_DELAY = 0.5
"""Samples by which groups may begin apart."""
# The reader of damaged files raises whatever it trips over, and so do the four libraries that
# unpack blocks for it, each with an exception of its own.
_TRIPPED = (Exception,)


class _Column(NamedTuple):
    """Where a channel stands in the file."""

    group: int
    position: int
    name: str
    unit: str | None
    encoding: str


class _Group(NamedTuple):
    """Channels that were sampled together."""

    columns: tuple[_Column, ...]
    first_s: float
    rate_hz: float
    frames: int


class MdfSource:
    """An MDF 4 file; see `sources.SampleSource`.

    Notes
    -----
    The channels of sound are those of the groups with an even time axis of at least 4 kHz; they
    must agree in rate, start and length.
    """

    def __init__(self, path: Path) -> None:
        reader = _reader(path)
        _refuse_damaged(path)
        self._path = path
        # An open stream: of a path it maps the pages, and a file that is cut off by another
        # program meanwhile would end this one with a bus error.
        self._stream = path.open("rb")
        try:
            self._file = reader.MDF(self._stream)
        except _TRIPPED as error:
            self._stream.close()
            raise broken_header(path, _KIND) from error
        try:
            groups = self._groups()
        except _TRIPPED as error:
            self.close()
            raise broken_header(path, _KIND) from error
        try:
            self.sample_rate_hz, self.frames = _common_form(path, groups)
        except RecordingError:
            self.close()
            raise
        self._columns = tuple(column for group in groups for column in group.columns)
        self.encoding = str(np.result_type(*(column.encoding for column in self._columns)))
        self.channels = len(self._columns)
        self.channel_names = tuple(column.name for column in self._columns)
        self.units = tuple(column.unit for column in self._columns)

    def read(self, start_frame: int, frames: int) -> npt.NDArray[np.float64]:
        """Read up to `frames` frames as stored, shape (frames, channels).

        Raises
        ------
        EOFError
            When the file is damaged at this place, or its samples are marked as invalid.
        """
        wanted = max(min(frames, self.frames - start_frame), 0)
        try:
            signals = self._stretch(self._columns, start_frame, wanted)
            held = min(len(signal.samples) for signal in signals)
            samples = np.stack([signal.samples[:held] for signal in signals], axis=1)
        except _TRIPPED as error:
            raise EOFError from error
        marks = [signal.invalidation_bits for signal in signals]
        if any(mark is not None and np.any(mark) for mark in marks):
            raise EOFError("samples marked as invalid")
        return samples.astype(np.float64)

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()
        self._stream.close()

    def _stretch(self, columns: Sequence[_Column], start: int, count: int) -> Any:
        # All channels at once: a compressed block is then decompressed once and not for each.
        return self._file.select(
            [(None, column.group, column.position) for column in columns],
            record_offset=start,
            record_count=count,
            copy_master=False,
        )

    def _groups(self) -> list[_Group]:
        found = []
        for number, group in enumerate(self._file.groups):
            frames = int(group.channel_group.cycles_nr)
            columns = tuple(self._columns_of(number, group)) if frames else ()
            if not columns:
                continue

            def times(start: int, stop: int, number: int = number) -> npt.NDArray[np.float64]:
                axis = self._file.get_master(number, record_offset=start, record_count=stop - start)
                return np.asarray(axis, np.float64)

            rate_hz = even_rate_hz(frames, times)
            if rate_hz is not None and rate_hz >= _LOWEST_SOUND_RATE_HZ:
                found.append(_Group(columns, float(times(0, 1)[0]), rate_hz, frames))
        return found

    def _columns_of(self, number: int, group: Any) -> list[_Column]:
        master = self._file.masters_db.get(number)
        columns = []
        for index, channel in enumerate(group.channels):
            if index == master:
                continue
            values = np.asarray(
                self._file.get(group=number, index=index, record_count=1, samples_only=True)[0]
            )
            if values.dtype.kind in "fiu" and values.ndim == 1:
                unit = str(channel.unit or "").strip() or None
                columns.append(_Column(number, index, channel.name, unit, str(values.dtype)))
        return columns


def _refuse_damaged(path: Path) -> None:
    try:
        with path.open("rb") as stream:
            unpacked_bytes = check_mdf_blocks(stream)
    except BadMdfError as error:
        raise RecordingError(
            f"{shown_name(path)} is damaged or was cut off: a part that its header promises is "
            "not there.",
            COPY_AGAIN,
        ) from error
    refuse_swelling(path, unpacked_bytes)


def _reader(path: Path) -> Any:
    try:
        import asammdf
        import asammdf.blocks.utils
    except ImportError as error:
        raise RecordingError(
            f"{shown_name(path)} is an MDF 4 file; reading it needs an optional package.",
            "Run 'pip install twinset[mdf]', or export the recording as WAV or HDF5.",
        ) from error
    # It writes its own lines beside the one sentence that the user gets.
    logging.getLogger("asammdf").setLevel(logging.CRITICAL)
    return asammdf


def _common_form(path: Path, groups: list[_Group]) -> tuple[int, int]:
    if not groups:
        raise RecordingError(
            f"{shown_name(path)} holds no channel of numbers that is sampled evenly at "
            f"{_LOWEST_SOUND_RATE_HZ} Hz or more.",
            "Export the channels of the microphones, and choose that file.",
        )
    rates = {whole_rate_hz(group.rate_hz) for group in groups}
    lengths = {group.frames for group in groups}
    starts_s = [group.first_s for group in groups]
    late_s = max(starts_s) - min(starts_s)
    if len(rates) > 1 or len(lengths) > 1 or late_s * groups[0].rate_hz > _LARGEST_DELAY:
        told = ", ".join(f"{len(g.columns)} at {g.rate_hz:.0f} Hz" for g in groups[:4])
        raise RecordingError(
            f"{shown_name(path)} holds channels of sound that differ in sample rate, start or "
            f"length: {told}.",
            "Export the channels of one recorder alone, and choose that file.",
        )
    (rate_hz,) = rates
    if rate_hz is None:
        raise RecordingError(
            f"{shown_name(path)} is sampled at {groups[0].rate_hz:.3f} Hz, which is no whole "
            "number.",
            EXPORT_AGAIN,
        )
    return rate_hz, groups[0].frames
