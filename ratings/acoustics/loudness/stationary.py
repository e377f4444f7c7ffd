"""Loudness of a steady sound from its third-octave levels, and its sharpness."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.core_loudness import Field, core_loudness
from ratings.acoustics.loudness.slopes import POINTS_BARK, specific_loudness, total_loudness
from ratings.errors import MeasurementError

_BANDS = len(tables.THIRD_OCTAVE_CENTRES_HZ)
# Makes a critical band of noise around 1 kHz, 920 to 1080 Hz, at 60 dB read 1 acum as DIN
# 45692:2009 asks for; the standard lets the factor lie from 0.105 to 0.115.
_SCALE = 0.10786
_WEIGHTS = np.where(POINTS_BARK > 15.8, 0.15 * np.exp(0.42 * (POINTS_BARK - 15.8)) + 0.85, 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class StationaryLoudness:
    """What a steady sound reads; without a channel axis if the levels had none.

    Attributes
    ----------
    n_sone, loudness_level_phon
        Shape (channels,) or ().
    specific_loudness
        Shape (channels, 240) or (240,), sone per Bark, every 0.1 Bark from 0.1 to 24 Bark.
    sharpness_acum
        Shape (channels,) or (); NaN for what cannot be heard.
    """

    n_sone: npt.NDArray[np.float64]
    loudness_level_phon: npt.NDArray[np.float64]
    specific_loudness: npt.NDArray[np.float64]
    sharpness_acum: npt.NDArray[np.float64]


def stationary_loudness(
    third_octave_levels_db: npt.NDArray[np.float64], field: Field = "diffuse"
) -> StationaryLoudness:
    """Measure a steady sound.

    Parameters
    ----------
    third_octave_levels_db
        Shape (28,) or (channels, 28), bands from 25 Hz to 12.5 kHz; minus infinity for nothing.

    Raises
    ------
    MeasurementError
        When there are not 28 bands.

    References
    ----------
    ISO 532-1:2017, clause 5.
    """
    levels_db = np.asarray(third_octave_levels_db, dtype=np.float64)
    if levels_db.shape[-1:] != (_BANDS,):
        raise MeasurementError(
            f"Loudness needs {_BANDS} third-octave levels, from 25 Hz to 12.5 kHz.",
            "Give minus infinity for bands without sound.",
        )
    return loudness_of_powers(np.moveaxis(10 ** (levels_db / 10), -1, 0), field)


def loudness_of_powers(powers: npt.NDArray[np.float64], field: Field) -> StationaryLoudness:
    """Measure mean squares relative to the reference pressure squared, shape (28, ...)."""
    core = core_loudness(powers.reshape(_BANDS, -1), field)
    channels = powers.shape[1:]
    n_sone = total_loudness(core).reshape(channels)
    pattern = specific_loudness(core).T.reshape(*channels, -1)
    return StationaryLoudness(
        n_sone=n_sone,
        loudness_level_phon=loudness_level_phon(n_sone),
        specific_loudness=pattern,
        sharpness_acum=sharpness_acum(pattern),
    )


def loudness_level_phon(n_sone: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Give the level of the equally loud tone at 1 kHz; 3 phon, the threshold, at least.

    References
    ----------
    ISO 532-1:2017, clause 5; the formula below 1 sone is cited from memory.
    """
    loud = 40.0 + 10.0 * np.log2(np.maximum(n_sone, 1.0))
    soft = np.maximum(40.0 * (n_sone + 0.0005) ** 0.35, 3.0)
    return np.where(n_sone >= 1.0, loud, soft)


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
