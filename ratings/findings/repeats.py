"""Whether the runs of one set and condition agree, in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ratings.acoustics.faults.repeat_faults import (
    BAND_LIMIT_DB,
    NARROW_LIMIT_DB,
    RepeatFault,
    repeat_faults,
)
from ratings.acoustics.faults.words import repeat_remarks
from ratings.findings.measured_figures import is_level_true
from ratings.study.figures import EARS, title_of

if TYPE_CHECKING:
    import pandas as pd

    from ratings.study.figures import Remark

_NARROW = ("third_octave_", "cavity_line_level")
_WIDE = ("leq_a", "band_")


@dataclass(frozen=True, slots=True)
class RepeatFinding:
    """What is odd about the runs of one set and condition."""

    set: str
    condition: str
    runs: tuple[int, ...]
    remarks: tuple[Remark, ...]


def repeat_findings(table: pd.DataFrame) -> tuple[RepeatFinding, ...]:
    """Find runs further apart than 1 dB in a band, or 2 dB in a narrow one.

    Parameters
    ----------
    table
        Columns ``set, condition, run, channel, figure, unit, value``. The mean of the ears is
        looked at, or the first channel of a study without ears; unweighted bands and the
        A-weighted level. Where only some runs are calibrated, those are compared.

    Notes
    -----
    The limits are common practice, no source.
    """
    found = []
    for (code, condition), block in table.groupby(["set", "condition"], sort=False):
        channels = set(block["channel"])
        channel = EARS if EARS in channels else min(channels, key=lambda name: (len(name), name))
        rows = _of_one_unit(block[(block["channel"] == channel) & _is_level(block["unit"])])
        levels = rows.pivot_table(index="run", columns="figure", values="value", aggfunc="last")
        faults: list[RepeatFault] = []
        for starts, limit_db in ((_WIDE, BAND_LIMIT_DB), (_NARROW, NARROW_LIMIT_DB)):
            keys = [key for key in levels.columns if _is_looked_at(key, starts)]
            names = [f"the {title_of(key)[0].lower()}{title_of(key)[1:]}" for key in keys]
            faults += repeat_faults(levels[keys].to_numpy(np.float64), names, limit_db)
        if faults:
            remarks = repeat_remarks([_by_number(fault, levels.index) for fault in faults])
            runs = tuple(int(run) for run in levels.index)
            found.append(RepeatFinding(str(code), str(condition), runs, remarks))
    return tuple(found)


def _is_level(units: pd.Series[str]) -> pd.Series[bool]:
    return units.str.startswith("dB")


def _of_one_unit(rows: pd.DataFrame) -> pd.DataFrame:
    """Leave out runs re full scale where there are others: the two differ by a calibration."""
    is_true = rows["unit"].map(is_level_true).astype(bool)
    return rows[is_true] if is_true.any() else rows


def _by_number(fault: RepeatFault, runs: pd.Index[int]) -> RepeatFault:
    """Name the odd run by its number in the study, not by its place among the measured ones."""
    if fault.farthest_run is None:
        return fault
    return replace(fault, farthest_run=int(runs[fault.farthest_run]) - 1)


def _is_looked_at(key: str, starts: tuple[str, ...]) -> bool:
    is_weighted_band = key.startswith("band_") and key.endswith("_a")
    return key.startswith(starts) and not is_weighted_band
