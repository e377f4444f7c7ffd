"""Opening a sound file, with a sentence for everything that can be wrong with it."""

import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from ratings.errors import RecordingError
from ratings.recordings.containers import Container, examine

LOWEST_SAMPLE_RATE_HZ = 8_000
HIGHEST_SAMPLE_RATE_HZ = 768_000
MOST_CHANNELS = 64
"""More channels than any recorder of this trade has; a header that says more is damaged."""

_BLOCK_SAMPLES = 2**18
_LONGEST_TAIL_S = 0.1
_EXPORT_AGAIN = "Choose a WAV or FLAC file, or export the recording again as one of these."
_COPY_AGAIN = "Copy it again from the recorder, or choose another run; nothing was changed."


def shown_name(path: Path) -> str:
    """Give the file's name in quotes, printable even where the disk holds bytes that are not."""
    return f"'{path.name.encode('utf-8', 'backslashreplace').decode()}'"


class OpenRecording:
    """A sound file that is open for reading and whose header was found sound.

    Attributes
    ----------
    path, container, encoding
        Where it is, the kind of file, and how samples are stored, for example ``PCM_24``.
    sample_rate_hz, channels, frames
        What the header says; `frames` counts one sample of every channel as one.
    """

    def __init__(self, path: Path, container: Container, sound_file: soundfile.SoundFile) -> None:
        self.path = path
        self.container = container.name
        self.encoding = str(sound_file.subtype)
        self.sample_rate_hz = int(sound_file.samplerate)
        self.channels = int(sound_file.channels)
        self.frames = int(sound_file.frames)
        self._sound_file = sound_file

    @property
    def duration_s(self) -> float:
        """Length of the recording in seconds."""
        return self.frames / self.sample_rate_hz

    def read(self, start_frame: int, stop_frame: int) -> npt.NDArray[np.float64]:
        """Read a stretch, full scale 1.0, shape (frames, channels).

        Raises
        ------
        RecordingError
            When the file ends early, is damaged there, or holds values that are no numbers.
        """
        self._seek(start_frame)
        return self._next(start_frame, stop_frame)

    def blocks(self) -> Iterator[npt.NDArray[np.float64]]:
        """Read from start to end in blocks of about 2 MB, each of shape (frames, channels)."""
        step = max(1, _BLOCK_SAMPLES // self.channels)
        self._seek(0)
        for start in range(0, self.frames, step):
            yield self._next(start, min(start + step, self.frames))

    def _seek(self, frame: int) -> None:
        try:
            self._sound_file.seek(frame)
        except soundfile.LibsndfileError as error:
            raise self._damaged(frame) from error

    def _next(self, start_frame: int, stop_frame: int) -> npt.NDArray[np.float64]:
        wanted = stop_frame - start_frame
        try:
            samples: npt.NDArray[np.float64] = self._sound_file.read(
                wanted, dtype="float64", always_2d=True
            )
        except soundfile.LibsndfileError as error:
            raise self._damaged(start_frame) from error
        except MemoryError as error:
            raise RecordingError(
                f"{shown_name(self.path)} is too long to be held in memory: "
                f"{self.duration_s:.0f} s of {self.channels} channels by its header.",
                "Cut a shorter stretch out of it, or check whether its header is damaged.",
            ) from error
        if len(samples) < wanted:
            raise self._damaged(start_frame + len(samples))
        is_number = np.isfinite(samples)
        if not is_number.all():
            frame, channel = np.argwhere(~is_number)[0]
            at_s = (start_frame + int(frame)) / self.sample_rate_hz
            raise RecordingError(
                f"{shown_name(self.path)} holds values that are not numbers, first in channel "
                f"{int(channel) + 1} at {at_s:.3f} s.",
                "Export the recording again from the recorder's own file; nothing was changed.",
            )
        return samples

    def _damaged(self, frame: int) -> RecordingError:
        return RecordingError(
            f"{shown_name(self.path)} is damaged or was cut off: its header promises "
            f"{self.duration_s:.3f} s and it cannot be read beyond about "
            f"{frame / self.sample_rate_hz:.3f} s.",
            _COPY_AGAIN,
        )


@contextmanager
def open_recording(path: Path) -> Iterator[OpenRecording]:
    """Open a sound file for reading.

    Raises
    ------
    RecordingError
        One sentence for a file that is missing, out of reach, no sound file, cut off, empty,
        or whose header gives a sample rate or channel count that no recorder has.
    """
    container = _examined(path)
    try:
        sound_file = soundfile.SoundFile(str(path))
    except soundfile.LibsndfileError as error:
        raise RecordingError(
            f"{shown_name(path)} starts like a {container.name} file and cannot be read as one: "
            "its header is damaged or incomplete.",
            _COPY_AGAIN,
        ) from error
    with sound_file:
        recording = OpenRecording(path, container, sound_file)
        _refuse_incomplete(recording, container)
        _refuse_absurd(recording)
        yield recording


def _examined(path: Path) -> Container:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise RecordingError(
                f"{shown_name(path)} is a folder, not a sound file.",
                "Choose a file inside it.",
            )
        if not stat.S_ISREG(mode):
            raise RecordingError(f"{shown_name(path)} is not an ordinary file.", _EXPORT_AGAIN)
        with path.open("rb") as stream:
            container = examine(stream)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise RecordingError(
            f"There is no file {shown_name(path)} in the folder {shown_name(path.parent)}.",
            "Check whether it was moved or renamed, or whether its disk is connected.",
        ) from error
    except OSError as error:
        raise unreadable(path, error) from error
    if container is None:
        raise _not_sound(path)
    if path.suffix.lower() == ".raw":
        # The reading library takes this extension for headerless samples, whatever is inside.
        raise RecordingError(
            f"{shown_name(path)} is a {container.name} file under the name of a headerless one.",
            f"Give it the extension .{container.name.lower()} and choose it again.",
        )
    return container


def unreadable(path: Path, error: OSError) -> RecordingError:
    """Put a refusal of the operating system to read a file into words."""
    if isinstance(error, PermissionError):
        return RecordingError(
            f"You are not allowed to read {shown_name(path)}.",
            "Ask its owner for the right to read it, or copy it to a folder of your own.",
        )
    return RecordingError(
        f"{shown_name(path)} cannot be read: the system says '{error.strerror or error}'.",
        "Check the disk or the network folder it is on, and try again.",
    )


def _not_sound(path: Path) -> RecordingError:
    if path.stat().st_size == 0:
        return RecordingError(
            f"{shown_name(path)} is empty: it holds not a single byte.", _COPY_AGAIN
        )
    if path.suffix.lower() in (".wav", ".flac", ".rf64", ".w64", ".aif", ".aiff", ".caf", ".ogg"):
        return RecordingError(
            f"{shown_name(path)} is named like a sound file, but has no header of one.",
            _EXPORT_AGAIN,
        )
    return RecordingError(
        f"{shown_name(path)} is not a sound file that can be read here.", _EXPORT_AGAIN
    )


def _refuse_incomplete(recording: OpenRecording, container: Container) -> None:
    name = shown_name(recording.path)
    if container.is_unfinished:
        raise RecordingError(
            f"{name} was never finished: its header does not say how long the sound is, "
            "as when a recorder stops before it closes the file.",
            "Let the recorder's own software repair a copy, or choose another run; "
            "nothing was changed.",
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
            _COPY_AGAIN,
        )
    if promised and recording.frames and container.bytes_after_end:
        extra_s = container.bytes_after_end / promised * recording.duration_s
        if extra_s > _LONGEST_TAIL_S:
            raise RecordingError(
                f"{name} holds more than its header tells: {recording.duration_s:.3f} s by the "
                f"header, and as many bytes again as {extra_s:.3f} s of sound behind its end.",
                "Let the recorder's own software repair a copy, or save recordings of this "
                "length as RF64 or FLAC; nothing was changed.",
            )


def _refuse_absurd(recording: OpenRecording) -> None:
    name = shown_name(recording.path)
    if recording.frames == 0:
        raise RecordingError(f"{name} holds no sound: its length is zero.", _COPY_AGAIN)
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
