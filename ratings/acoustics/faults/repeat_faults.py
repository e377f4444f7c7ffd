"""Runs of one condition that do not repeat one another."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.errors import MeasurementError

BAND_LIMIT_DB = 1.0
"""Largest range of repeats in a band; common practice, no source."""
NARROW_LIMIT_DB = 2.0
"""Largest range of repeats in a narrow band, such as a third octave; common practice, no source."""


@dataclass(frozen=True, slots=True)
class RepeatFault:
    """A band in which runs lie too far apart.

    Attributes
    ----------
    range_db
        Highest less lowest run.
    farthest_run
        The run farthest from the median of all, counted from 0; None with two runs, where neither
        can be told to be the odd one.
    """

    band: str
    range_db: float
    limit_db: float
    farthest_run: int | None


def repeat_faults(
    levels_by_run: npt.NDArray[np.float64],
    band_names: Sequence[str],
    limit_db: float = BAND_LIMIT_DB,
) -> tuple[RepeatFault, ...]:
    """Find the bands in which runs of one condition lie further apart than the limit.

    Parameters
    ----------
    levels_by_run
        Shape (runs, bands), in dB; what is not finite is passed over.

    Raises
    ------
    MeasurementError
        When there are not as many names as bands.
    """
    if levels_by_run.ndim != 2 or levels_by_run.shape[1] != len(band_names):
        raise MeasurementError(
            "There are not as many names as bands to compare.", "Give one name for each band."
        )
    found = []
    for name, levels_db in zip(band_names, levels_by_run.T, strict=True):
        runs = np.flatnonzero(np.isfinite(levels_db))
        known_db = levels_db[runs]
        if len(runs) < 2 or np.ptp(known_db) <= limit_db + 1e-9:
            continue
        farthest = None
        if len(runs) > 2:
            farthest = int(runs[np.argmax(np.abs(known_db - np.median(known_db)))])
        found.append(RepeatFault(name, float(np.ptp(known_db)), limit_db, farthest))
    return tuple(found)
