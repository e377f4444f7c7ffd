"""Sharpness from a pattern of specific loudness."""

import numpy as np
import numpy.typing as npt

from ratings.acoustics.loudness.slopes import POINTS_BARK

# Makes a critical band of noise around 1 kHz, 920 to 1080 Hz, at 60 dB read 1 acum as DIN
# 45692:2009 asks for; the standard lets the factor lie from 0.105 to 0.115.
_SCALE = 0.10786
_WEIGHTS = np.where(POINTS_BARK > 15.8, 0.15 * np.exp(0.42 * (POINTS_BARK - 15.8)) + 0.85, 1.0)


def sharpness_acum(specific_loudness: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Give the sharpness of a pattern.

    Parameters
    ----------
    specific_loudness
        Shape (..., 240), in sone per Bark, every 0.1 Bark from 0.1 to 24 Bark.

    Returns
    -------
    Shape (...); NaN where nothing is heard: silence is neither sharp nor dull.

    References
    ----------
    DIN 45692:2009, formula 1 and the weights after it.
    """
    moment = (specific_loudness * (_WEIGHTS * POINTS_BARK)).sum(axis=-1)
    total = specific_loudness.sum(axis=-1)
    sharpness = np.full(np.shape(total), np.nan)
    np.divide(moment, total, out=sharpness, where=total > 0)
    return _SCALE * sharpness
