"""Recordings in: their samples, and the facts that a lead wants to know before using them."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.recordings.opening import OpenRecording, open_recording, shown_name, unreadable

_INTEGER_BITS = {"PCM_S8": 8, "PCM_U8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32}
_LOSSLESS = (*_INTEGER_BITS, "FLOAT", "DOUBLE")


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Samples of a recording.

    Attributes
    ----------
    samples
        Shape (frames, channels), full scale is 1.0.
    sample_rate_hz
        Frames per second.
    """

    samples: npt.NDArray[np.float64]
    sample_rate_hz: int


@dataclass(frozen=True, slots=True)
class ChannelFacts:
    """What one channel holds, relative to full scale 1.0.

    Attributes
    ----------
    lowest_full_scale, highest_full_scale, mean_full_scale
        Extremes and mean; a mean far from 0 is an offset of the recorder.
    clipped_samples
        Samples at the last code of the encoding, or at 1.0 and beyond in floating point.
    """

    lowest_full_scale: float
    highest_full_scale: float
    mean_full_scale: float
    clipped_samples: int

    @property
    def peak_full_scale(self) -> float:
        """Largest magnitude."""
        return max(-self.lowest_full_scale, self.highest_full_scale)

    @property
    def is_silent(self) -> bool:
        """Whether every sample has one and the same value, so that there is nothing to hear."""
        return self.lowest_full_scale == self.highest_full_scale


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """What a recording is, found without holding it in memory.

    Attributes
    ----------
    name
        File name without its folder.
    container, encoding
        Kind of file and of its samples, for example ``WAV`` and ``PCM_24``.
    sample_rate_hz, frames
        Frames per second and in all.
    content_hash
        SHA-256 of the whole file, hexadecimal.
    by_channel
        One entry per channel, in the order of the file.
    """

    name: str
    container: str
    encoding: str
    sample_rate_hz: int
    frames: int
    content_hash: str
    by_channel: tuple[ChannelFacts, ...]

    @property
    def channels(self) -> int:
        """Number of channels."""
        return len(self.by_channel)

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.frames / self.sample_rate_hz

    @property
    def peak_full_scale(self) -> float:
        """Largest magnitude in any channel, full scale 1.0."""
        return max(channel.peak_full_scale for channel in self.by_channel)

    @property
    def clipped_samples(self) -> int:
        """Samples at full scale in all channels together."""
        return sum(channel.clipped_samples for channel in self.by_channel)

    @property
    def is_silent(self) -> bool:
        """Whether no channel holds anything to hear."""
        return all(channel.is_silent for channel in self.by_channel)

    @property
    def is_lossy(self) -> bool:
        """Whether the encoding threw part of the sound away."""
        return is_lossy(self.encoding)


def is_lossy(encoding: str) -> bool:
    """Tell whether an encoding throws part of the sound away."""
    return encoding not in _LOSSLESS


def clipping_magnitude(encoding: str) -> float:
    """Give the magnitude, full scale 1.0, from which a sample counts as clipped.

    Notes
    -----
    The highest positive code of an integer encoding lies one step below 1.0, and converters
    stop at plus or minus that code.
    """
    bits = _INTEGER_BITS.get(encoding)
    return 1.0 if bits is None else 1.0 - 2.0 ** (1 - bits)


def read_sound(path: Path, start_frame: int = 0, stop_frame: int | None = None) -> Sound:
    """Read a recording, or the stretch from `start_frame` up to `stop_frame`, into memory.

    Raises
    ------
    RecordingError
        When the file cannot be used as it is; nothing is repaired.
    ValueError
        When the stretch does not lie inside the recording.
    """
    with open_recording(path) as recording:
        stop = recording.frames if stop_frame is None else stop_frame
        if not 0 <= start_frame <= stop <= recording.frames:
            raise ValueError(
                f"frames {start_frame} to {stop} do not lie within 0 to {recording.frames}"
            )
        return Sound(recording.read(start_frame, stop), recording.sample_rate_hz)


def describe(path: Path) -> SoundFacts:
    """Find the facts of a recording; memory does not grow with its length.

    Raises
    ------
    RecordingError
        When the file cannot be used as it is; nothing is repaired.
    """
    with open_recording(path) as recording:
        by_channel = _channel_facts(recording)
    return SoundFacts(
        name=shown_name(path)[1:-1],
        container=recording.container,
        encoding=recording.encoding,
        sample_rate_hz=recording.sample_rate_hz,
        frames=recording.frames,
        content_hash=content_hash(path),
        by_channel=by_channel,
    )


def content_hash(path: Path) -> str:
    """Give the SHA-256 of a file's bytes, hexadecimal, read in blocks."""
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise unreadable(path, error) from error


def _channel_facts(recording: OpenRecording) -> tuple[ChannelFacts, ...]:
    limit = clipping_magnitude(recording.encoding)
    lowest = np.full(recording.channels, np.inf)
    highest = np.full(recording.channels, -np.inf)
    total = np.zeros(recording.channels)
    clipped = np.zeros(recording.channels, dtype=np.int64)
    for block in recording.blocks():
        lowest = np.minimum(lowest, block.min(axis=0))
        highest = np.maximum(highest, block.max(axis=0))
        total += block.sum(axis=0)
        clipped += np.count_nonzero(np.abs(block) >= limit, axis=0)
    mean = total / recording.frames
    return tuple(
        ChannelFacts(
            lowest_full_scale=float(lowest[channel]),
            highest_full_scale=float(highest[channel]),
            mean_full_scale=float(mean[channel]),
            clipped_samples=int(clipped[channel]),
        )
        for channel in range(recording.channels)
    )
