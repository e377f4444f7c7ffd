"""The low lines of a recording's spectra from stretch to stretch: their phase and their power."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

#: More parts than half of this are kept of a long recording, and never more.
MOST_PARTS = 32


@dataclass(frozen=True, slots=True, eq=False)
class LinesOverTime:
    """What the low lines of a spectrum do while it is averaged.

    Attributes
    ----------
    phase_coherence
        Shape (channels, lines), 0 to 1: how far the phase of each line goes on from one stretch
        to the next one that shares no sample with it. 1 for a steady tone, for noise and for what
        rings down within the stretch about 0.9 over the root of their number.
    power
        Shape (channels, parts, lines): mean power in up to 32 parts of the recording, one after
        the other and of one length; the last may be shorter.
    """

    phase_coherence: npt.NDArray[np.float64]
    power: npt.NDArray[np.float64]

    def of_channels(self, columns: list[int]) -> "LinesOverTime":
        """Return the same of some channels."""
        return LinesOverTime(self.phase_coherence[columns], self.power[columns])


class LinesOverTimeMeter:
    """Follows the lines; memory does not grow with the length.

    Parameters
    ----------
    lines
        How many, from zero.
    """

    def __init__(self, channels: int, lines: int) -> None:
        self._lines = lines
        self._before: list[npt.NDArray[np.complex128]] = []
        self._product = np.zeros((channels, lines), dtype=np.complex128)
        self._power = np.zeros((channels, lines))
        # Sums over the spectra of each part, and how many a full part has.
        self._parts = np.zeros((MOST_PARTS, channels, lines))
        self._spectra, self._per_part = 0, 1

    def add(self, spectrum: npt.NDArray[np.complex128], power: npt.NDArray[np.float64]) -> None:
        """Take the next spectrum and its power, shape (channels, all lines), half a stretch on."""
        low = spectrum[:, : self._lines].copy()
        if len(self._before) == 2:
            earlier = self._before.pop(0)
            self._product += low * earlier.conj()
            self._power += (np.abs(low) ** 2 + np.abs(earlier) ** 2) / 2
        self._before.append(low)
        if self._spectra == MOST_PARTS * self._per_part:
            half = MOST_PARTS // 2
            self._parts[:half] = self._parts[::2] + self._parts[1::2]
            self._parts[half:] = 0.0
            self._per_part *= 2
        self._parts[self._spectra // self._per_part] += power[:, : self._lines]
        self._spectra += 1

    def result(self) -> LinesOverTime | None:
        """Return what the lines do; None for fewer than three spectra and for silence."""
        if not self._power.any():
            return None
        full, rest = divmod(self._spectra, self._per_part)
        counts = np.array([self._per_part] * full + [rest] * (rest > 0), dtype=np.float64)
        parts = self._parts[: counts.size] / counts[:, np.newaxis, np.newaxis]
        return LinesOverTime(
            phase_coherence=np.abs(self._product) / np.maximum(self._power, np.finfo(float).tiny),
            power=np.ascontiguousarray(parts.transpose(1, 0, 2)),
        )
