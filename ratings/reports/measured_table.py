"""Figures of the sets as cells of a table, on the screen and for a spreadsheet."""

import math
from collections.abc import Sequence

from ratings.findings.measured_figures import (
    FigureDifference,
    FigureFinding,
    SetFigure,
    decimals_of,
)
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


def _number(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.3f}"
