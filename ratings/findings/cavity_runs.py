"""The cavity line of a set over its runs: one and the same line in each of them, or none."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

#: Lines of two runs further apart than this are two lines; half the least distance of a pair of a
#: rolling tyre, our judgement.
SAME_LINE_HZ = 6.0

#: Figures of one channel of a set's run by key.
RunFigures = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class _Line:
    hz: float
    level_db: float


def one_line_over_runs(runs: Mapping[int, RunFigures]) -> dict[int, dict[str, float]]:
    """Return frequency and level of the set's line, or of its pair, in each run that has it.

    Parameters
    ----------
    runs
        By run the figures of the cavity line in one channel and condition.

    Returns
    -------
    dict
        By run ``cavity_line_hz`` and ``cavity_line_level``, without what is not of that line.

    Notes
    -----
    Where more than half of the runs have a pair, the frequency is that of the line that is
    stronger on average, in every run that has it, and the level that of both, in the runs that
    have both. Else both are of the line that most runs share. The strongest line of each run by
    itself may be now the one, now the other: their mean is no line.
    """
    lines = {run: _lines_of(figures) for run, figures in runs.items()}
    lines = {run: each for run, each in lines.items() if each}
    if not lines:
        return {}
    pairs = {run: each for run, each in lines.items() if len(each) == 2}
    if is_pair(runs):
        side = int(np.argmax(np.mean([[line.level_db for line in p] for p in pairs.values()], 0)))
        middle_hz = float(np.median([pair[side].hz for pair in pairs.values()]))
        found = {run: {"cavity_line_hz": line.hz} for run, line in _near(lines, middle_hz).items()}
        for run in pairs.keys() & found.keys():
            if "cavity_line_level" in runs[run]:
                found[run]["cavity_line_level"] = runs[run]["cavity_line_level"]
        return found
    every = [line.hz for each in lines.values() for line in each]
    shared_hz = max(every, key=lambda hz: (len(_near(lines, hz)), -_scatter(lines, hz)))
    return {
        run: {"cavity_line_hz": line.hz, "cavity_line_level": line.level_db}
        for run, line in _near(lines, shared_hz).items()
    }


def is_pair(runs: Mapping[int, RunFigures]) -> bool:
    """Tell whether the set has a pair in more than half of the runs that have a line."""
    counts = [len(lines) for lines in map(_lines_of, runs.values()) if lines]
    return 2 * counts.count(2) > len(counts)


def _lines_of(figures: RunFigures) -> list[_Line]:
    nothing = float("nan")
    for sides in (("lower_", "upper_"), ("",)):
        lines = [
            _Line(
                figures.get(f"cavity_line_{side}hz", nothing),
                figures.get(f"cavity_line_{side}level", nothing),
            )
            for side in sides
        ]
        if all(np.isfinite(line.hz) for line in lines):
            return lines
    return []


def _near(lines: Mapping[int, Sequence[_Line]], hz: float) -> dict[int, _Line]:
    nearest = {run: min(each, key=lambda line: abs(line.hz - hz)) for run, each in lines.items()}
    return {run: line for run, line in nearest.items() if abs(line.hz - hz) <= SAME_LINE_HZ}


def _scatter(lines: Mapping[int, Sequence[_Line]], hz: float) -> float:
    return float(np.mean([abs(line.hz - hz) for line in _near(lines, hz).values()]))
