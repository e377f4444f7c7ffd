"""From powers in third octaves to the core loudness of 20 critical bands."""

from typing import Literal

import numpy as np
import numpy.typing as npt

from ratings.acoustics.loudness import tables

Field = Literal["free", "diffuse"]

CRITICAL_BANDS = 20

_REDUCTIONS_DB = np.array(tables.LOW_FREQUENCY_REDUCTIONS_DB)
_LOW_BANDS = _REDUCTIONS_DB.shape[1]
# The last range is open upwards: levels above it get its reduction.
_RANGE_ENDS = 10 ** (
    (np.array(tables.LOW_FREQUENCY_RANGES_DB)[:-1, None] - _REDUCTIONS_DB[:-1]) / 10
)
_REDUCTIONS = 10 ** (_REDUCTIONS_DB / 10)
# The low third octaves that make up the first three critical bands (clause 5).
_FIRST_BANDS = slice(0, 6), slice(6, 9), slice(9, 11)
_THRESHOLDS_DB = np.array(tables.THRESHOLDS_IN_QUIET_DB)
_ADAPTATIONS_DB = np.array(tables.CRITICAL_BAND_ADAPTATION_DB)
# Share of the threshold that hides nothing, and the size of a unit (clause 5).
_THRESHOLD_FACTOR = 0.25
_SIZE = 0.0635 * 10 ** (0.025 * _THRESHOLDS_DB)


def core_loudness(
    powers: npt.NDArray[np.float64], field: Field = "diffuse"
) -> npt.NDArray[np.float64]:
    """Give the loudness per Bark within each critical band, before any masking.

    Parameters
    ----------
    powers
        Shape (28, ...), relative to the reference pressure squared.

    Returns
    -------
    Shape (20, ...), in sone per Bark.

    References
    ----------
    ISO 532-1:2017, clause 5 and annex A.
    """
    bands = np.empty((CRITICAL_BANDS, *powers.shape[1:]))
    low = _equally_loud(powers[:_LOW_BANDS])
    for index, members in enumerate(_FIRST_BANDS):
        low[members].sum(axis=0, out=bands[index])
    bands[len(_FIRST_BANDS) :] = powers[_LOW_BANDS:]
    transmission_db = -np.array(tables.EAR_TRANSMISSION_DB)
    if field == "diffuse":
        transmission_db += np.array(tables.DIFFUSE_FIELD_DB)
    shape = (-1,) + (1,) * (powers.ndim - 1)
    audible = bands > (10 ** ((_THRESHOLDS_DB - transmission_db) / 10)).reshape(shape)
    scale_db = transmission_db - _ADAPTATIONS_DB - _THRESHOLDS_DB
    bands *= (_THRESHOLD_FACTOR * 10 ** (scale_db / 10)).reshape(shape)
    bands += 1.0 - _THRESHOLD_FACTOR
    # A fourth root by two square roots costs a fraction of a power.
    np.sqrt(np.maximum(bands, 1.0, out=bands), out=bands)
    np.sqrt(bands, out=bands)
    bands -= 1.0
    bands *= _SIZE.reshape(shape)
    bands *= audible
    # The threshold varies within the lowest band.
    bands[0] *= np.minimum(0.4 + 0.32 * bands[0] ** 0.2, 1.0)
    return bands


def _equally_loud(powers: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Weaken the lowest bands as the curves of equal loudness ask for, by steps of level."""
    weighted = np.empty_like(powers)
    for band, power in enumerate(powers):
        level_range = np.zeros(power.shape, dtype=np.intp)
        for end in _RANGE_ENDS[:, band]:
            level_range += power > end
        np.multiply(power, _REDUCTIONS[level_range, band], out=weighted[band])
    return weighted
