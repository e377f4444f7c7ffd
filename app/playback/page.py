"""The page through which the window's process steers the sound process, and reads how far it is."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

# Each field has one writer, so that no lock is needed: the window writes the first group, the
# callback the second. All fields are 8 bytes wide and aligned: read and written as a whole.
_WANTED = [
    ("wants_b", np.int64),
    ("plays", np.int64),
    ("play_sequence", np.int64),
    ("loops", np.int64),
    ("gain_a", np.float64),
    ("gain_b", np.float64),
    ("seek_frame", np.int64),
    ("seek_sequence", np.int64),
    ("rise_sequence", np.int64),
    ("heartbeat", np.int64),
]
_STATUS = [
    ("position_frame", np.int64),
    ("sounds_b", np.int64),
    ("sounding", np.int64),
    ("ended_sequence", np.int64),
    ("seek_done", np.int64),
    ("rise_done", np.int64),
    ("rise_left", np.int64),
    ("callbacks", np.int64),
    ("frames_played_a", np.int64),
    ("frames_played_b", np.int64),
    ("underflows", np.int64),
    ("last_callback_s", np.float64),
]
PAGE_TYPE = np.dtype(_WANTED + _STATUS)


class Page:
    """Named access to one page of shared memory.

    Wanted, written by the window: `wants_b`, `plays` with `play_sequence` (one higher at each
    start), `loops`, `gain_a`, `gain_b`, `seek_frame` with `seek_sequence` (written after it),
    `rise_sequence` (one higher for each slow rise), `heartbeat` (counts on as long as the window
    lives).
    Status, written by the callback: `position_frame`, `sounds_b`, `sounding`, `ended_sequence` (the
    start whose end was reached), `seek_done`, `rise_done`, `rise_left` (frames of the slow rise
    still to come), `callbacks`, `frames_played_a`, `frames_played_b`, `underflows`,
    `last_callback_s` (monotonic clock).
    """

    __slots__ = ("_cells",)

    def __init__(self, memory: NDArray[np.uint8]) -> None:
        record = memory[: PAGE_TYPE.itemsize].view(PAGE_TYPE)
        names = PAGE_TYPE.names or ()
        # Views of one element each, made once: a callback that indexes a record makes new ones.
        cells: dict[str, NDArray[Any]] = {name: record[name] for name in names}
        object.__setattr__(self, "_cells", cells)

    def __getattr__(self, name: str) -> Any:
        try:
            return self._cells[name].item()
        except KeyError:
            raise AttributeError(name) from None

    def __setattr__(self, name: str, number: float) -> None:
        self._cells[name][0] = number
