"""Figures, curves and maps of measured sets as tables, on the screen and for a spreadsheet."""

import math
from collections.abc import Sequence

from ratings.findings.measured_figures import (
    FigureDifference,
    FigureFinding,
    SetFigure,
    decimals_of,
)
from ratings.findings.run_curves import Curve, LevelMap
from ratings.reports.figure_words import NO_FIGURE, figure, signed
from ratings.study.figures import title_of

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
    """Return figures with units, one row per figure and set, numbers in columns of their own."""
    head = [
        "condition", "channel", "figure", "unit", "set", "mean", "sd over runs", "runs",
        "difference to control", "95 % low", "95 % high", "remark",
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
    head = [f"{curve.code} in {level_unit(is_level_true=curve.is_level_true)}" for curve in curves]
    return [
        ["frequency in Hz", *head],
        *([f"{x:.6g}", *(_number(each.get(x), 2) for each in levels)] for x in points),
    ]


def speed_table(curves: Sequence[Curve], weighting: str = "unweighted") -> Table:
    """Return a row for each bin of speed, a column for each curve."""
    speeds = sorted({float(x) for curve in curves for x in curve.x})
    units = [level_unit(is_level_true=each.is_level_true, weighting=weighting) for each in curves]
    return [
        ["speed in km/h", *(f"{c.code} in {unit}" for c, unit in zip(curves, units, strict=True))],
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
        _number(compared.difference),
        _number(compared.low),
        _number(compared.high),
        compared.reason,
    ]


def _number(value: float | None, decimals: int = 3) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.{decimals}f}"
