"""The gain of a band over frequency: flat inside, 3 dB down at its edges, nothing far outside."""

import numpy as np
import numpy.typing as npt

HALF_FLANK = 0.04
"""Half the width of a flank, as a share of the edge's frequency."""


def band_gains(
    frequency_hz: npt.NDArray[np.float64], low_hz: float, high_hz: float
) -> npt.NDArray[np.float64]:
    """Give the gain of the band from `low_hz` to `high_hz`, shape of `frequency_hz`.

    Notes
    -----
    Neighbours that share an edge split the power between them: the squares of their gains add
    up to one, so that third octaves together hold exactly what the signal holds. The flanks lie
    well inside the class 1 limits of IEC 61260-1:2014, table 1.
    """
    rising = _flank(frequency_hz / low_hz)
    falling = _flank(high_hz / np.maximum(frequency_hz, np.finfo(float).tiny))
    return np.asarray(rising * falling)


def _flank(over_edge: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    # In the logarithm of the frequency, so that a rising and a falling flank mirror each other.
    with np.errstate(divide="ignore"):
        position = np.log(over_edge) / (2 * np.log1p(HALF_FLANK)) + 0.5
    return np.asarray(np.sin(0.5 * np.pi * np.clip(position, 0.0, 1.0)))
