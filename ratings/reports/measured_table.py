"""Figures, curves and maps of measured sets as tables, on the screen and for a spreadsheet."""

import math
from collections.abc import Sequence

from ratings.findings.measured_figures import (
    FigureDifference,
    FigureFinding,
    SetFigure,
    decimals_of,
    is_clear,
    is_compared,
    is_noticed,
)
from ratings.findings.run_curves import Curve, LevelMap
from ratings.reports.figure_words import NO_FIGURE, figure, signed
from ratings.study.figures import title_of
from ratings.study.noticing import NOTICING
from ratings.study.wording import counted

Table = Sequence[Sequence[str]]
"""Rows of cells, a heading row first."""


def mean_words(each: SetFigure, unit: str) -> str:
    """Say a set's mean and its scatter over runs; the unit too where it is another one."""
    if each.mean is None:
        return each.absence or NO_FIGURE
    places = decimals_of(unit)
    words = figure(each.mean, places)
    if each.sd is not None:
        words += f" ± {figure(each.sd, places)}"
    return words if each.unit == unit else f"{words} {each.unit}"


def difference_cell(each: FigureDifference, unit: str) -> str:
    """Say a difference with its interval; empty when there is none."""
    if each.difference is None:
        return ""
    places = decimals_of(unit)
    words = signed(each.difference, places)
    if each.low is None or each.high is None:
        return words
    return f"{words} ({signed(each.low, places)} to {signed(each.high, places)})"


def figure_table(block: Sequence[FigureFinding]) -> Table:
    """Return figures with units, one row per figure and set, numbers in columns of their own.

    What a page marks stands in words: whether a difference is clear by its adjusted p, whether ears
    notice one of its size, and which runs are left out, why.
    """
    head = [
        "condition", "channel", "figure", "unit", "set", "mean", "sd over runs", "runs",
        "runs left out", "difference to control", "95 % low", "95 % high", "p", "p adjusted (Holm)",
        "clear", "ears notice", "remark",
    ]  # fmt: skip
    rows = [head]
    for finding in block:
        for each in finding.sets:
            is_control = each.set == finding.control
            difference = None if is_control else finding.difference_of(each.set)
            rows.append(_row(finding, each, difference))
    return rows


def spectrum_table(curves: Sequence[Curve]) -> Table:
    """Return a row for each frequency, a column for each curve."""
    points = sorted({float(x) for curve in curves for x in curve.x})
    levels = [dict(zip(curve.x.tolist(), curve.y.tolist(), strict=True)) for curve in curves]
    return [
        ["frequency in Hz", *(_column(curve, "unweighted") for curve in curves)],
        *([f"{x:.6g}", *(_number(each.get(x), 2) for each in levels)] for x in points),
    ]


def speed_table(curves: Sequence[Curve], weighting: str = "unweighted") -> Table:
    """Return a row for each bin of speed, a column for each curve."""
    speeds = sorted({float(x) for curve in curves for x in curve.x})
    return [
        ["speed in km/h", *(_column(curve, weighting) for curve in curves)],
        *([f"{speed:g}", *(_number(curve.at(speed), 2) for curve in curves)] for speed in speeds),
    ]


def map_table(shown: LevelMap) -> Table:
    """Return a row for each speed or time of a run, a column for each frequency."""
    first = "speed in km/h" if shown.is_over_speed else "time in s"
    return [
        [first, *(f"{10**x:.1f} Hz" for x in shown.log_hz)],
        *(
            [f"{row:.4g}", *("" if math.isnan(value) else f"{value:.1f}" for value in levels)]
            for row, levels in zip(shown.rows.tolist(), shown.level_db.tolist(), strict=True)
        ),
    ]


def level_unit(*, is_level_true: bool, weighting: str = "unweighted") -> str:
    """Name unit and weighting of levels on an axis."""
    return f"dB re {'20 µPa' if is_level_true else 'full scale, not calibrated'}, {weighting}"


def _column(curve: Curve, weighting: str) -> str:
    unit = level_unit(is_level_true=curve.is_level_true, weighting=weighting)
    return f"{curve.code}, {counted(curve.runs, 'run')}, in {unit}"


def _row(finding: FigureFinding, each: SetFigure, difference: FigureDifference | None) -> list[str]:
    compared = difference or FigureDifference(each.set, reason="the control")
    return [
        finding.condition,
        finding.channel,
        title_of(finding.key),
        each.unit or finding.unit,
        each.set,
        _number(each.mean),
        _number(each.sd),
        str(each.runs),
        "; ".join(f"run {run}: {reason}" for run, reason in each.left_out),
        _number(compared.difference),
        _number(compared.low),
        _number(compared.high),
        _number(compared.p, 4),
        _number(compared.p_holm, 4),
        *_marks(finding, difference),
        compared.reason,
    ]


def _marks(finding: FigureFinding, difference: FigureDifference | None) -> tuple[str, str]:
    """Say whether a difference is clear, and whether ears notice one of its size."""
    if difference is None or difference.difference is None:
        return "", ""
    clear = "cannot be told"
    if not is_compared(finding.key):
        clear = "not compared"
    elif difference.p_holm is not None:
        clear = _yes(is_clear(finding, difference))
    has_threshold = NOTICING.of(finding.key, finding.unit) is not None
    return clear, _yes(is_noticed(finding, difference)) if has_threshold else "not known"


def _yes(is_so: bool) -> str:
    return "yes" if is_so else "no"


def _number(value: float | None, decimals: int = 3) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.{decimals}f}"
