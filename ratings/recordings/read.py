"""Recordings in: their samples, and the facts that a lead wants to know before using them."""

import hashlib
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.recordings.channel_facts import ChannelFacts, ChannelMeter
from ratings.recordings.files.encodings import clipping_magnitude, is_lossy
from ratings.recordings.opening import OpenRecording, open_recording, shown_name, unreadable

__all__ = [
    "ChannelFacts",
    "Sound",
    "SoundFacts",
    "clipping_magnitude",
    "content_hash",
    "describe",
    "is_lossy",
    "read_sound",
]


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Samples of a recording.

    Attributes
    ----------
    samples
        Shape (frames, channels); full scale is 1.0, or as stored in a measurement file.
    sample_rate_hz
        Frames per second.
    """

    samples: npt.NDArray[np.float64]
    sample_rate_hz: int


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
    channel_names, units, pa_per_full_scale
        What the file itself says of each channel, see `opening.OpenRecording`.
    """

    name: str
    container: str
    encoding: str
    sample_rate_hz: int
    frames: int
    content_hash: str
    by_channel: tuple[ChannelFacts, ...]
    channel_names: tuple[str, ...]
    units: tuple[str | None, ...]
    pa_per_full_scale: tuple[float | None, ...]

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

    def lost_s(self, channels: Collection[int]) -> list[tuple[float, float]]:
        """Start and end, in seconds, of every stretch that one of the channels has lost.

        Channels count from 0; those that the recording does not have are passed over.
        """
        known = [each for each in channels if each < self.channels]
        return sorted({lost for each in known for lost in self.by_channel[each].lost_s})

    @property
    def is_silent(self) -> bool:
        """Whether no channel holds anything to hear."""
        return all(channel.is_silent for channel in self.by_channel)

    @property
    def is_lossy(self) -> bool:
        """Whether the encoding threw part of the sound away."""
        return is_lossy(self.encoding)


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
        channel_names=recording.channel_names,
        units=recording.units,
        pa_per_full_scale=recording.pa_per_full_scale,
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
    meter = ChannelMeter(recording.channels, limit, recording.sample_rate_hz)
    for block in recording.blocks():
        meter.feed(block)
    return meter.result()
