"""One block of shared memory per pair: the page, what was heard, and both clips."""

import contextlib
import itertools
import os
import secrets
import shutil
from dataclasses import dataclass
from multiprocessing import resource_tracker, shared_memory
from pathlib import Path
from typing import Self

import numpy as np
from numpy.typing import NDArray

from app.playback.fades import fade_frames
from app.playback.mix import Hearings, bin_count
from app.playback.page import PAGE_TYPE, Page
from app.playback.pair import CHANNELS, PairAudio
from ratings.errors import PlaybackError

SHARED_MEMORY_FOLDER = Path("/dev/shm")
_ALIGNMENT_BYTES = 64
_FRAME_BYTES = 4 * CHANNELS


@dataclass(frozen=True, slots=True)
class PairShape:
    """What both processes must know to find their way in the block."""

    frames: int
    sample_rate_hz: int
    correlation: float
    highest_gain_a: float
    highest_gain_b: float

    @property
    def bins(self) -> int:
        """Bins of what was heard, per side."""
        return bin_count(self.frames, self.sample_rate_hz)

    @property
    def part_sizes(self) -> tuple[int, ...]:
        """Bytes of page, hearings A and B, looped A and B, ending A and B."""
        hearings, looped = 4 * self.bins, _FRAME_BYTES * self.frames
        tail = _FRAME_BYTES * fade_frames(self.sample_rate_hz)
        sizes = (PAGE_TYPE.itemsize, hearings, hearings, looped, looped, tail, tail)
        return tuple(-(-size // _ALIGNMENT_BYTES) * _ALIGNMENT_BYTES for size in sizes)


class PairMemory:
    """A pair in shared memory, seen from either process.

    The block's name lives only until the sound process has attached itself (`forget_name`). From
    then on the memory vanishes with the last of the two processes, however they end.
    """

    def __init__(
        self, block: shared_memory.SharedMemory, shape: PairShape, *, is_named: bool
    ) -> None:
        self._block = block
        self._is_named = is_named
        self.name = block.name
        self.shape = shape
        self._bytes: NDArray[np.uint8] = np.ndarray((block.size,), np.uint8, buffer=block.buf)
        starts = itertools.accumulate(shape.part_sizes, initial=0)
        parts = [self._bytes[start:stop] for start, stop in itertools.pairwise(starts)]
        self.page = Page(parts[0])
        self.hearings_a: Hearings = parts[1].view(np.uint32)[: shape.bins]
        self.hearings_b: Hearings = parts[2].view(np.uint32)[: shape.bins]
        samples = [part.view(np.float32).reshape(-1, CHANNELS) for part in parts[3:]]
        tail = fade_frames(shape.sample_rate_hz)
        self.audio = PairAudio(
            samples[0][: shape.frames],
            samples[1][: shape.frames],
            samples[2][:tail],
            samples[3][:tail],
            shape.sample_rate_hz,
            shape.correlation,
            shape.highest_gain_a,
            shape.highest_gain_b,
        )

    @classmethod
    def create(cls, audio: PairAudio) -> Self:
        """Put a prepared pair into a new block, at rest at the start of side A.

        Raises
        ------
        PlaybackError
            When there is no room for it.
        """
        shape = PairShape(
            len(audio.looped_a),
            audio.sample_rate_hz,
            audio.correlation,
            audio.highest_gain_a,
            audio.highest_gain_b,
        )
        memory = cls._new(shape)
        memory.audio.looped_a[:], memory.audio.looped_b[:] = audio.looped_a, audio.looped_b
        memory.audio.ending_a[:], memory.audio.ending_b[:] = audio.ending_a, audio.ending_b
        return memory

    @classmethod
    def attach(cls, name: str, shape: PairShape) -> Self:
        """Open the block that the other process has made."""
        block = shared_memory.SharedMemory(name)
        if os.name == "posix":
            # WORKAROUND https://github.com/python/cpython/issues/82300: attaching registers the
            # block as if it were ours, and our end would then warn about it and remove it.
            resource_tracker.unregister(f"/{block.name.lstrip('/')}", "shared_memory")
        return cls(block, shape, is_named=False)

    def copy(self) -> Self:
        """Put everything, also how far it is, into a new block with a new name."""
        memory = self._new(self.shape)
        count = sum(self.shape.part_sizes)
        memory._bytes[:count] = self._bytes[:count]
        return memory

    def forget_name(self) -> None:
        """Remove the name; both processes keep what they have open."""
        if self._is_named:
            self._is_named = False
            self._block.unlink()

    def close(self) -> None:
        """Let go of the block. Page, hearings and audio must not be used any more."""
        self.forget_name()
        del self._bytes, self.page, self.hearings_a, self.hearings_b, self.audio
        self._block.close()

    @classmethod
    def _new(cls, shape: PairShape) -> Self:
        size = sum(shape.part_sizes)
        _check_room(size)
        name = f"twinset-{os.getpid()}-{secrets.token_hex(4)}"
        block = shared_memory.SharedMemory(name, create=True, size=size)
        return cls(block, shape, is_named=True)


def clear_leftovers() -> None:
    """Remove the named blocks of programs that ended before their sound process took them over."""
    if os.name != "posix":
        return
    for block in SHARED_MEMORY_FOLDER.glob("twinset-*-*"):
        owner = block.name.split("-")[1]
        if owner.isdecimal() and not _lives(int(owner)):
            with contextlib.suppress(OSError):
                block.unlink()


def _lives(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        # Somebody else's, or no number of a process at all: not ours to remove.
        return True
    return True


def _check_room(size_bytes: int) -> None:
    # Linux grants any size and ends the program when a page is written that does not fit.
    if SHARED_MEMORY_FOLDER.is_dir() and shutil.disk_usage(SHARED_MEMORY_FOLDER).free < size_bytes:
        raise PlaybackError(
            f"There are not {size_bytes / 1e6:.0f} MB of shared memory free for this pair.",
            "Your scores are safe. Close other programs, then open the pair again.",
        )
