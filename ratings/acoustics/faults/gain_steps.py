"""A recorder's gain switched during the run: all frequencies change alike, at once."""

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.channel_faults import GainStep

Rows = npt.NDArray[np.float64]

# Common practice, no source: what is compared are four slots of half a second on either side.
_SIDE_SLOTS = 4
_SMALLEST_DB = 3.0
# Of signal, steps and bends: the lowest frequencies fluctuate most within half a second.
_ALIKE_DB = np.array([3.0, 1.0, 0.0])
_STEADY_DB = np.array([6.0, 2.0, 2.0])


class GainSteps:
    """Keeps the level of each half second: of the signal, of its steps and of its bends.

    The three weigh low, middle and high frequencies. Another road surface changes them by
    different amounts; another gain does not.
    """

    def __init__(self) -> None:
        self._levels_db: list[npt.NDArray[np.float32]] = []
        self._times_s: list[float] = []

    def feed(self, start_s: float, mean_squares: Rows) -> None:
        """Take the mean squares of one stretch, shape (3, channels)."""
        with np.errstate(divide="ignore"):
            levels_db = np.asarray(10 * np.log10(mean_squares))
        self._levels_db.append(levels_db.astype(np.float32))
        self._times_s.append(start_s)

    def found(self, channels: int) -> list[GainStep | None]:
        """Return the largest step of each channel, or None."""
        if len(self._levels_db) < 2 * _SIDE_SLOTS:
            return [None] * channels
        levels_db = np.stack(self._levels_db, axis=2).astype(np.float64)
        return [self._of_channel(levels_db[:, channel]) for channel in range(channels)]

    def _of_channel(self, levels_db: Rows) -> GainStep | None:
        """Look for a step in levels of shape (3, slots), with the slot of the change left out."""
        best: GainStep | None = None
        for slot in range(_SIDE_SLOTS, levels_db.shape[1] - _SIDE_SLOTS + 1):
            step = self._step_at(levels_db, slot, gap=0)
            if step is None:
                step = self._step_at(levels_db, slot, gap=1)
            if step is not None and (best is None or abs(step.change_db) > abs(best.change_db)):
                best = step
        return best

    def _step_at(self, levels_db: Rows, slot: int, gap: int) -> GainStep | None:
        before = levels_db[:, slot - _SIDE_SLOTS : slot]
        after = levels_db[:, slot + gap : slot + gap + _SIDE_SLOTS]
        both = np.concatenate([before, after], axis=1)
        if after.shape[1] < _SIDE_SLOTS or not np.isfinite(both).all():
            return None
        if (np.maximum(np.ptp(before, axis=1), np.ptp(after, axis=1)) > _STEADY_DB).any():
            return None
        change_db = after.mean(axis=1) - before.mean(axis=1)
        bends_db = float(change_db[2])
        if abs(bends_db) < _SMALLEST_DB or (np.abs(change_db - bends_db) > _ALIKE_DB).any():
            return None
        return GainStep(self._times_s[slot], bends_db)
