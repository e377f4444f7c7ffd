"""Jumps of one or two samples that no sound makes, against the signal just around them."""

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.channel_faults import Occurrences

Rows = npt.NDArray[np.float64]

SLOT_S = 0.002
# Normal noise goes beyond 12 standard deviations once in 1e32 samples. Common practice, no source.
_HEIGHT = 12.0
# A jump or a spike puts twice or 1.5 times its highest square into the bend; a ringing blow more.
_CONCENTRATION = 3.0
_LIVE_STEPS = 16.0
_CARRIED = 4


class Clicks:
    """Judges the bend of the signal (its second difference) in slots of 2 ms, all channels at once.

    A slot is a click when its highest bend stands far above the bends two slots before and after,
    and nothing rings in the slots between: a stone against the wheel house rings on.
    """

    def __init__(self, sample_rate_hz: int, channels: int) -> None:
        self._sample_rate_hz = sample_rate_hz
        self.slot_frames = max(8, round(SLOT_S * sample_rate_hz))
        self._peaks = np.empty((channels, 0))
        self._energies = np.empty((channels, 0))
        self._slots = 0
        self._found = [Occurrences() for _ in range(channels)]

    @property
    def found(self) -> list[Occurrences]:
        """What was found, by channel."""
        return self._found

    def feed(self, bend: Rows, smallest_step: Rows) -> None:
        """Take the next second differences, shape (channels, frames), frames in whole slots.

        Parameters
        ----------
        smallest_step
            Smallest step between samples seen in each channel, shape (channels,).
        """
        slots = bend.shape[1] // self.slot_frames
        by_slot = bend[:, : slots * self.slot_frames].reshape(len(bend), slots, self.slot_frames)
        peaks = np.maximum(by_slot.max(axis=2), -by_slot.min(axis=2))
        energies = np.einsum("csf,csf->cs", by_slot, by_slot)
        self._peaks = np.concatenate([self._peaks, peaks], axis=1)
        self._energies = np.concatenate([self._energies, energies], axis=1)
        self._slots += slots
        if self._peaks.shape[1] > _CARRIED:
            self._judge(smallest_step)

    def _judge(self, smallest_step: Rows) -> None:
        peaks, energies = self._peaks, self._energies
        around = np.maximum(energies[:, :-4], energies[:, 4:])
        middle = peaks[:, 2:-2]
        is_click = middle**2 > _HEIGHT**2 * around / self.slot_frames
        is_click &= middle > _LIVE_STEPS * smallest_step[:, None]
        # The highest of its neighbours only, so that a jump across a joint counts once.
        is_click &= (middle > peaks[:, 1:-3]) & (middle >= peaks[:, 3:-1])
        nearby = energies[:, 1:-3] + energies[:, 2:-2] + energies[:, 3:-1]
        is_click &= nearby < _CONCENTRATION * middle**2 + 3 * around
        first_slot = self._slots - peaks.shape[1] + 2
        for channel in np.flatnonzero(is_click.any(axis=1)):
            places = np.flatnonzero(is_click[channel])
            before = self._found[channel]
            first_s = before.first_s
            if first_s is None:
                first_s = (first_slot + int(places[0])) * self.slot_frames / self._sample_rate_hz
            self._found[channel] = Occurrences(before.count + len(places), first_s)
        self._peaks, self._energies = peaks[:, -_CARRIED:], energies[:, -_CARRIED:]
