"""How loud lines spread upwards over the Bark scale, band after band."""

from typing import Final

import numpy as np
import numpy.typing as npt

from ratings.acoustics.levels import REFERENCE_PRESSURE_PA
from ratings.acoustics.roughness.tables import BAND_STEP_BARK

_DECIBEL: Final = np.log(10.0) / 20.0


class UpwardSpread:
    """The gain of each line at an edge that climbs by half a Bark at a time.

    Parameters
    ----------
    power
        Shape (rows, lines), in pascal squared; zero for lines that are not heard.
    rate_bark, steepness_db
        Shape (lines,): place of the lines, and by how much each falls per Bark at 0 dB.

    Attributes
    ----------
    first
        The first line that is still followed.
    gain
        Shape (rows, lines): of use between `first` and the last climb's `below`.
    """

    def __init__(
        self,
        power: npt.NDArray[np.float32],
        rate_bark: npt.NDArray[np.float64],
        steepness_db: npt.NDArray[np.floating],
    ) -> None:
        # The slope is 0.2 dB per Bark less steep for each dB of level.
        rise = np.log(np.maximum(power, np.finfo(np.float32).tiny))
        rise *= np.float32(0.2 * 0.5)
        offset = -_DECIBEL * steepness_db - 0.2 * np.log(REFERENCE_PRESSURE_PA)
        rise += offset.astype(np.float32)
        np.minimum(rise, 0, out=rise)
        rise[power == 0] = -1000
        self._per_bark = rise
        self._per_step = np.exp(rise * np.float32(BAND_STEP_BARK))
        self._rate_bark = rate_bark
        self._below = 0
        self.first = 0
        self.gain = np.empty_like(power)

    def climb(self, first: int, below: int, edge_bark: float) -> None:
        """Go to the next edge, which lines before `below` lie below; those before `first` end."""
        self.first = first
        self.gain[:, first : self._below] *= self._per_step[:, first : self._below]
        start = max(first, self._below)
        if start < below:
            distance = (edge_bark - self._rate_bark[start:below]).astype(np.float32)
            self.gain[:, start:below] = np.exp(self._per_bark[:, start:below] * distance)
        self._below = below
