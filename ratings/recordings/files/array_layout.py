"""Which array of a MAT or HDF5 file is the recording, and how fast it was sampled.

Neither kind of file has a standard layout, so nothing is guessed: one array that can be sound, one
sample rate, or a refusal that says what was found.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.files.sample_rates import even_rate_hz, whole_rate_hz
from ratings.recordings.refusals import shown_name

Entry = float | str | tuple[str, ...]
"""A single number, a text, or one text for each channel."""

_RATE_NAMES = (
    "fs",
    "sample_rate",
    "sample_rate_hz",
    "samplerate",
    "sampling_frequency",
    "sampling_rate",
)
_SPACING_NAMES = ("dt", "delta_t")
_TIME_NAMES = ("t", "time", "time_s")
_UNIT_NAMES = ("unit", "units")
_CHANNEL_NAMES = ("channel_names", "channel_name", "channels")
_LIKELY_SHARE = 0.1
"""Arrays shorter than this share of the longest are positions, factors and the like."""
_SAME_RATE = 1e-4
_LAYOUT = (
    "Write one array of samples (time by channel) and a number named fs or sample_rate_hz; "
    "a text named unit says what the samples are."
)


@dataclass(frozen=True, slots=True)
class StoredArray:
    """An array in a file, not read yet.

    Attributes
    ----------
    name
        As written, with its groups.
    shape
        As stored.
    kind
        numpy's letter for the kind of number: ``f``, ``i``, ``u`` are real numbers.
    encoding
        Name of the number type, for example ``float32``.
    entries
        What is written at the array itself, names in lower case.
    """

    name: str
    shape: tuple[int, ...]
    kind: str
    encoding: str
    entries: Mapping[str, Entry] = field(default_factory=dict)

    @property
    def length(self) -> int:
        """Samples along the longer side."""
        return max(self.shape, default=1)

    @property
    def is_real(self) -> bool:
        """Whether it holds real numbers."""
        return self.kind in ("f", "i", "u")

    @property
    def last_name(self) -> str:
        """Name without its groups, in lower case."""
        return self.name.rsplit("/", 1)[-1].lower()

    @property
    def is_axis_like(self) -> bool:
        """Whether it has one side longer than 1."""
        return sum(side > 1 for side in self.shape) == 1

    @property
    def words(self) -> str:
        """Name and size for a sentence."""
        kind = "" if self.is_real else f", {self.encoding}"
        return f"{self.name} ({' x '.join(map(str, self.shape))}{kind})"


AxisReader = Callable[[StoredArray, int, int], npt.NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class ArrayLayout:
    """Where the samples are and what they are.

    Attributes
    ----------
    array
        The one that holds the samples.
    time_axis
        Which of its axes is time.
    sample_rate_hz, channels, frames
        As the reader above needs them.
    channel_names, units
        One for each channel.
    """

    array: StoredArray
    time_axis: int
    sample_rate_hz: int
    channels: int
    frames: int
    channel_names: tuple[str, ...]
    units: tuple[str | None, ...]


def array_layout(
    path: Path,
    arrays: Sequence[StoredArray],
    entries: Mapping[str, Entry],
    read_axis: AxisReader,
) -> ArrayLayout:
    """Find the recording among the arrays of a file.

    Parameters
    ----------
    arrays
        Every array with more than one element.
    entries
        Single numbers and texts of the file, names in lower case and without groups.
    read_axis
        Reads a stretch of a time axis, from one index up to another.

    Raises
    ------
    RecordingError
        When no array or more than one can be the recording, or its sample rate is not there.
    """
    samples = _samples(path, arrays)
    time_axis = int(np.argmax(samples.shape))
    frames = samples.shape[time_axis]
    channels = samples.shape[1 - time_axis] if len(samples.shape) == 2 else 1
    own = {**entries, **samples.entries}
    axes = [array for array in arrays if _is_time_axis(array) and array.length == frames]
    return ArrayLayout(
        array=samples,
        time_axis=time_axis,
        sample_rate_hz=_rate_hz(path, samples, own, axes, read_axis),
        channels=channels,
        frames=frames,
        channel_names=tuple(name or "" for name in _texts(own, _CHANNEL_NAMES, channels)),
        units=_texts(own, _UNIT_NAMES, channels),
    )


def _is_time_axis(array: StoredArray) -> bool:
    return array.last_name in _TIME_NAMES and array.is_axis_like and array.is_real


def _samples(path: Path, arrays: Sequence[StoredArray]) -> StoredArray:
    real = [array for array in arrays if array.is_real and len(array.shape) in (1, 2)]
    likely = [array for array in real if not _is_time_axis(array)]
    longest = max((array.length for array in likely), default=0)
    likely = [array for array in likely if array.length >= _LIKELY_SHARE * longest]
    if not likely:
        found = ", ".join(array.words for array in arrays[:4]) or "nothing of the kind"
        raise RecordingError(
            f"{shown_name(path)} holds no array of real numbers that could be a recording; "
            f"found: {found}.",
            _LAYOUT,
        )
    if len(likely) > 1:
        found = ", ".join(array.words for array in likely[:4])
        raise RecordingError(
            f"{shown_name(path)} holds {len(likely)} arrays that could be the recording: {found}"
            f"{' ...' if len(likely) > 4 else ''}.",
            "Export the channels as one array (time by channel), or one of them alone.",
        )
    (samples,) = likely
    if len(samples.shape) == 2 and samples.shape[0] == samples.shape[1] > 1:
        raise RecordingError(
            f"{shown_name(path)} holds an array as long as it is wide, {samples.words}: "
            "which side is time cannot be told.",
            _LAYOUT,
        )
    return samples


def _rate_hz(
    path: Path,
    samples: StoredArray,
    entries: Mapping[str, Entry],
    axes: Sequence[StoredArray],
    read_axis: AxisReader,
) -> int:
    rates: dict[str, float] = {}
    for name in (*_RATE_NAMES, *_SPACING_NAMES):
        number = entries.get(name)
        if isinstance(number, float) and number > 0:
            rates[name] = number if name in _RATE_NAMES else 1 / number
    if not rates:
        for axis in axes:
            rates[axis.name] = _axis_rate_hz(path, axis, read_axis)
    if not rates:
        raise RecordingError(
            f"{shown_name(path)} holds {samples.words}, but no sample rate: no number named "
            "fs, sample_rate_hz or dt, and no time axis of that length.",
            _LAYOUT,
        )
    lowest, highest = min(rates.values()), max(rates.values())
    if not highest - lowest <= _SAME_RATE * highest:
        told = ", ".join(f"{name} {rate:g} Hz" for name, rate in rates.items())
        raise RecordingError(
            f"{shown_name(path)} gives more than one sample rate: {told}.", _LAYOUT
        )
    name, rate = next(iter(rates.items()))
    whole = whole_rate_hz(rate)
    if whole is None:
        raise RecordingError(
            f"{shown_name(path)} gives a sample rate of {rate:g} Hz (from {name}), which is no "
            "whole number.",
            _LAYOUT,
        )
    return whole


def _axis_rate_hz(path: Path, axis: StoredArray, read_axis: AxisReader) -> float:
    rate_hz = even_rate_hz(
        axis.length, partial(read_axis, axis), is_single=axis.encoding == "float32"
    )
    if rate_hz is None:
        raise RecordingError(
            f"{shown_name(path)} has a time axis, {axis.words}, that is not evenly spaced.",
            "Export the recording with the recorder's own even sample rate.",
        )
    return rate_hz


def _texts(
    entries: Mapping[str, Entry], names: Sequence[str], channels: int
) -> tuple[str | None, ...]:
    for name in names:
        entry = entries.get(name)
        is_for_all = channels == 1 or names is _UNIT_NAMES
        if isinstance(entry, str) and entry.strip() and is_for_all:
            return (entry.strip(),) * channels
        if isinstance(entry, tuple) and len(entry) == channels:
            return tuple(text.strip() or None for text in entry)
    return (None,) * channels
