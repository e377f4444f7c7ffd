"""Opening a recording, at its own rate or another, with a sentence for all that can be wrong."""

from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from itertools import chain
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.files.containers import SOUND_KINDS, Container, examine
from ratings.recordings.files.sources import SampleSource, open_source, pa_per_unit
from ratings.recordings.refusals import (
    COPY_AGAIN,
    EXPORT_AGAIN,
    missing,
    ordinary_bytes,
    refuse_swelling,
    shown_name,
    unreadable,
)

__all__ = [
    "HIGHEST_SAMPLE_RATE_HZ",
    "LOWEST_SAMPLE_RATE_HZ",
    "MOST_CHANNELS",
    "OpenRecording",
    "open_recording",
    "shown_name",
    "unreadable",
]

LOWEST_SAMPLE_RATE_HZ = 8_000
HIGHEST_SAMPLE_RATE_HZ = 768_000
MOST_CHANNELS = 64
"""More channels than any recorder of this trade has; a header that says more is damaged."""

LARGEST_SAMPLE = 1e20
"""Above every integer of 64 bits; larger ones are damage, and their powers would overflow."""

_LEAST_SAMPLE_BYTES = 2
_BLOCK_SAMPLES = 2**18
_LONGEST_TAIL_S = 0.1
_REPAIR_COPY = (
    "Let the recorder's own software repair a copy, or choose another run; nothing was changed."
)
_NAMED_LIKE_SOUND = (".wav", ".flac", ".rf64", ".w64", ".aif", ".aiff", ".caf", ".ogg")
_NAMED_LIKE_MEASUREMENT = (".uff", ".unv", ".mat", ".h5", ".hdf5", ".hdf", ".mf4", ".mdf")
QUALITY = "VHQ"
"""Also that of clips. It took 0.9 to 1.3 times the CPU of HQ, more than 1000 times real time."""


class OpenRecording:
    """A recording that is open for reading and whose header was found sound.

    Attributes
    ----------
    path, container, encoding
        Where it is, the kind of file, and how samples are stored, for example ``PCM_24``; for a
        measurement file the number type, for example ``float32``.
    sample_rate_hz, channels, frames
        What the header says; `frames` counts one sample of every channel as one.
    channel_names
        One for each channel, empty where the file gives none.
    units
        What a sample of 1.0 is in each channel, as the file writes it; None where it says nothing,
        as sound files do: there 1.0 is full scale.
    pa_per_full_scale
        Pascal in a sample of 1.0, for each channel; None where the file itself does not tell, so
        that a calibration is needed.
    """

    def __init__(self, path: Path, container: Container, source: SampleSource) -> None:
        self.path = path
        self.container = container.name
        self.encoding = source.encoding
        self.sample_rate_hz = source.sample_rate_hz
        self.channels = source.channels
        self.frames = source.frames
        self.channel_names = source.channel_names
        self.units = source.units
        self.pa_per_full_scale = tuple(map(pa_per_unit, source.units))
        self._source = source

    @property
    def duration_s(self) -> float:
        """Length of the recording in seconds."""
        return self.frames / self.sample_rate_hz

    def read(self, start_frame: int, stop_frame: int) -> npt.NDArray[np.float64]:
        """Read a stretch, shape (frames, channels), in fractions of full scale or as stored.

        Raises
        ------
        RecordingError
            When the file ends early, is damaged there, or holds values that are no numbers or that
            no recorder gives.
        """
        wanted = stop_frame - start_frame
        try:
            # Some damaged values warn when they are converted; they are refused below.
            with np.errstate(invalid="ignore", over="ignore"):
                samples = self._source.read(start_frame, wanted)
        except EOFError as error:
            raise self._damaged(start_frame) from error
        except MemoryError as error:
            raise RecordingError(
                f"{shown_name(self.path)} is too long to be held in memory: "
                f"{self.duration_s:.0f} s of {self.channels} channels by its header.",
                "Cut a shorter stretch out of it, or check whether its header is damaged.",
            ) from error
        if len(samples) < wanted:
            raise self._damaged(start_frame + len(samples))
        self._refuse_impossible(samples, start_frame)
        return samples

    def blocks(self, block_frames: int | None = None) -> Iterator[npt.NDArray[np.float64]]:
        """Read from start to end in blocks of shape (frames, channels), of about 2 MB by default.

        The last one is shorter.
        """
        step = block_frames or max(1, _BLOCK_SAMPLES // self.channels)
        for start in range(0, self.frames, step):
            yield self.read(start, min(start + step, self.frames))

    def blocks_at(self, sample_rate_hz: int) -> Iterator[npt.NDArray[np.float64]]:
        """Read from start to end at another sample rate; memory does not grow with length.

        Notes
        -----
        The blocks join to what resampling the whole recording at once gives. At the recording's
        own rate they are its samples, untouched.
        """
        return at_rate(self.blocks(), self.channels, self.sample_rate_hz, sample_rate_hz)

    def _refuse_impossible(self, samples: npt.NDArray[np.float64], start_frame: int) -> None:
        # Written so that a value that is no number fails too.
        is_sample = np.abs(samples) <= LARGEST_SAMPLE
        if is_sample.all():
            return
        frame, channel = np.argwhere(~is_sample)[0]
        at_s = (start_frame + int(frame)) / self.sample_rate_hz
        value = float(samples[frame, channel])
        what = (
            f"values such as {value:.3g}" if np.isfinite(value) else "values that are not numbers"
        )
        raise RecordingError(
            f"{shown_name(self.path)} holds {what}, first in channel "
            f"{int(channel) + 1} at {at_s:.3f} s.",
            "Export the recording again from the recorder's own file; nothing was changed.",
        )

    def _damaged(self, frame: int) -> RecordingError:
        return RecordingError(
            f"{shown_name(self.path)} is damaged or was cut off: its header promises "
            f"{self.duration_s:.3f} s and it cannot be read beyond about "
            f"{frame / self.sample_rate_hz:.3f} s.",
            COPY_AGAIN,
        )


@contextmanager
def open_recording(path: Path) -> Iterator[OpenRecording]:
    """Open a sound file or a measurement file for reading.

    Raises
    ------
    RecordingError
        One sentence for a file that is missing, out of reach, no recording, cut off, empty, not
        laid out as a recording, or whose header gives a sample rate or channel count that no
        recorder has.
    """
    container = _examined(path)
    try:
        source = open_source(path, container.name)
    except OSError as error:
        raise unreadable(path, error) from error
    with closing(source):
        recording = OpenRecording(path, container, source)
        _refuse_incomplete(recording, container)
        _refuse_absurd(recording)
        yield recording


def _examined(path: Path) -> Container:
    try:
        ordinary_bytes(path, "a recording")
        with path.open("rb") as stream:
            container = examine(stream)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise missing(path) from error
    except OSError as error:
        raise unreadable(path, error) from error
    if container is None:
        raise _not_sound(path)
    _refuse_kind(path, container)
    return container


def _refuse_kind(path: Path, container: Container) -> None:
    if container.name == "MDF3":
        raise RecordingError(
            f"{shown_name(path)} is an MDF file of version 3; version 4 can be read here.",
            "Export the recording as MDF 4, HDF5 or WAV.",
        )
    if container.name == "unfinished MDF4":
        raise RecordingError(
            f"{shown_name(path)} was never finished: the recorder stopped before it closed it.",
            _REPAIR_COPY,
        )
    if container.name in SOUND_KINDS and path.suffix.lower() == ".raw":
        # The reading library takes this extension for headerless samples, whatever is inside.
        raise RecordingError(
            f"{shown_name(path)} is a {container.name} file under the name of a headerless one.",
            f"Give it the extension .{container.name.lower()} and choose it again.",
        )


def _not_sound(path: Path) -> RecordingError:
    if path.stat().st_size == 0:
        return RecordingError(f"{shown_name(path)} is empty: it holds no bytes.", COPY_AGAIN)
    if path.suffix.lower() in _NAMED_LIKE_SOUND:
        return RecordingError(
            f"{shown_name(path)} is named like a sound file, but has no header of one.",
            EXPORT_AGAIN,
        )
    if path.suffix.lower() in _NAMED_LIKE_MEASUREMENT:
        return RecordingError(
            f"{shown_name(path)} is named like a measurement file, but does not begin like one "
            "that can be read here (UFF 58, MAT from version 5, HDF5, MDF 4).",
            "Export the recording again as one of these, or as a WAV file.",
        )
    return RecordingError(
        f"{shown_name(path)} is not a sound file that can be read here.", EXPORT_AGAIN
    )


def _refuse_incomplete(recording: OpenRecording, container: Container) -> None:
    name = shown_name(recording.path)
    if container.is_unfinished:
        raise RecordingError(
            f"{name} was never finished: its header does not say how long the sound is, "
            "as when a recorder stops before it closes the file.",
            _REPAIR_COPY,
        )
    promised, held = container.promised_bytes, container.held_bytes
    if promised is not None and held is not None and held < promised:
        # The reading library counts what is held; the same ratio gives what was promised.
        held_s = recording.duration_s
        promised_s = held_s * promised / held if held else 0.0
        lengths = f" ({held_s:.3f} of {promised_s:.3f} s)" if held_s else ""
        raise RecordingError(
            f"{name} was cut off: its header promises {promised} bytes of sound "
            f"and the file holds {held}{lengths}.",
            COPY_AGAIN,
        )
    if promised and recording.frames and container.bytes_after_end:
        extra_s = container.bytes_after_end / promised * recording.duration_s
        if extra_s > _LONGEST_TAIL_S:
            raise RecordingError(
                f"{name} holds more than its header says: {recording.duration_s:.3f} s by the "
                f"header, and as many bytes again as {extra_s:.3f} s of sound behind its end.",
                "Let the recorder's own software repair a copy, or save recordings of this "
                "length as RF64 or FLAC; nothing was changed.",
            )


def _refuse_absurd(recording: OpenRecording) -> None:
    name = shown_name(recording.path)
    if recording.frames == 0:
        raise RecordingError(f"{name} holds no sound: its length is zero.", COPY_AGAIN)
    refuse_swelling(recording.path, recording.frames * recording.channels * _LEAST_SAMPLE_BYTES)
    rate_hz = recording.sample_rate_hz
    if not LOWEST_SAMPLE_RATE_HZ <= rate_hz <= HIGHEST_SAMPLE_RATE_HZ:
        raise RecordingError(
            f"{name} gives a sample rate of {rate_hz} Hz; recordings from "
            f"{LOWEST_SAMPLE_RATE_HZ} to {HIGHEST_SAMPLE_RATE_HZ} Hz can be used.",
            "Check the recorder's settings, or export the recording again.",
        )
    if recording.channels > MOST_CHANNELS:
        raise RecordingError(
            f"{name} has {recording.channels} channels by its header; "
            f"at most {MOST_CHANNELS} can be used.",
            "Export only the channels that will be heard or measured.",
        )


def at_rate(
    blocks: Iterable[npt.NDArray[np.float64]],
    channels: int,
    from_hz: int,
    to_hz: int,
) -> Iterator[npt.NDArray[np.float64]]:
    """Bring blocks of shape (frames, channels) to another sample rate.

    Notes
    -----
    The blocks join to the same samples as resampling all of them at once: the filter carries its
    memory from block to block. At equal rates the blocks pass untouched.
    """
    if from_hz == to_hz:
        yield from blocks
        return
    import soxr

    stream = soxr.ResampleStream(from_hz, to_hz, channels, dtype="float64", quality=QUALITY)
    # One block behind, because the last one must be known as such.
    held: npt.NDArray[np.float64] = np.empty((0, channels))
    for block in chain(blocks, [None]):
        resampled = stream.resample_chunk(held, last=block is None)
        if len(resampled):
            yield resampled
        if block is not None:
            held = block
