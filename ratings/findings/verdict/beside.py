"""What was measured, beside what was heard: says the same, says otherwise, cannot tell, and why."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from ratings.findings.measured import Measured
from ratings.findings.measured_figures import FigureFinding
from ratings.findings.verdict.cells import Cell
from ratings.statistics.distributions import t_quantile
from ratings.study.figures import EARS
from ratings.study.noticing import NOTICING, is_noticeable, noticing_words

Says = Literal["the same", "otherwise", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Beside:
    """A measured figure of a set against the control, beside what the panel heard.

    Attributes
    ----------
    figure
        Its key; empty where the study names none for the attribute.
    unit
        Such as ``dB``; empty without a value.
    difference, low, high
        Set minus control with its 95 % interval from the scatter of the runs; None with a `why`.
        Over several conditions the mean of their differences.
    runs, control_runs
        Runs that count, the fewest of any condition.
    says, why
        Whether the meter confirms the ear, in one of three words, and why.
    where
        In how many of the conditions it was measured, where not in all; else empty.
    """

    figure: str
    says: Says
    why: str
    unit: str = ""
    difference: float | None = None
    low: float | None = None
    high: float | None = None
    runs: int = 0
    control_runs: int = 0
    where: str = ""


@dataclass(frozen=True, slots=True)
class _Taken:
    """A figure's difference, of one condition or of several."""

    unit: str
    difference: float
    low: float | None
    high: float | None
    runs: int
    control_runs: int
    level: float
    conditions: int
    why: str


def beside(
    found: Measured, figure: str, code: str, conditions: Collection[str], cell: Cell
) -> Beside:
    """Hold a figure against what was heard.

    Parameters
    ----------
    found
        What was measured of the study; the mean of the driver's ears counts.
    figure
        Key of the figure that the study names for the attribute; empty for none.
    conditions
        In which the attribute was rated; `cell.condition` alone when it is of one.
    cell
        What the panel says.
    """
    if not figure:
        return Beside("", "cannot tell", "no figure is named for it")
    asked = [cell.condition] if cell.condition is not None else list(conditions)
    findings = [f for f in found.findings if f.key == figure and f.channel == EARS]
    findings = [f for f in findings if f.condition in asked]
    if not findings:
        return Beside(figure, "cannot tell", "not measured")
    taken = _taken(findings, code)
    if isinstance(taken, str):
        return Beside(figure, "cannot tell", taken)
    says, why = _says(figure, taken, cell)
    where = ""
    if taken.conditions < len(asked):
        repeated = "with repeated runs " if taken.low is not None else ""
        where = f"measured {repeated}in {taken.conditions} of {len(asked)} conditions"
    return Beside(
        figure,
        says,
        why,
        taken.unit,
        taken.difference,
        taken.low,
        taken.high,
        taken.runs,
        taken.control_runs,
        where,
    )


def _taken(findings: list[FigureFinding], code: str) -> _Taken | str:
    """Return the mean difference over the conditions, or why there is none."""
    known = []
    for finding in findings:
        each = next((d for d in finding.differences if d.set == code), None)
        if each is None or each.difference is None:
            if len(findings) == 1:
                return "not measured" if each is None else each.reason
            continue
        known.append((finding, each))
    if not known:
        return "not measured"
    # Runs that were repeated tell how far they scatter; single ones beside them do not.
    repeated = [(f, each) for f, each in known if each.se is not None and each.p is not None]
    known = repeated or known
    units = {finding.unit for finding, _ in known}
    if len(units) > 1:
        return "not calibrated in every condition"
    count = len(known)
    difference = sum(each.difference or 0.0 for _, each in known) / count
    parts = [(each.se, each.df) for _, each in known]
    why = next((each.reason for _, each in known if each.se is None or each.p is None), "")
    low = high = None
    if all(se is not None and df is not None for se, df in parts):
        squares = [(se or 0.0) ** 2 for se, _ in parts]
        se = math.sqrt(sum(squares)) / count
        # Welch and Satterthwaite's degrees of freedom of a mean of independent differences.
        spread = sum(s**2 / (df or 1.0) for s, (_, df) in zip(squares, parts, strict=True))
        df = sum(squares) ** 2 / spread if spread else math.inf
        reach = t_quantile(0.975, df) * se
        low, high = difference - reach, difference + reach
    return _Taken(
        unit=units.pop(),
        difference=difference,
        low=low,
        high=high,
        runs=min(finding.of_set(code).runs for finding, _ in known),
        control_runs=min(finding.of_set(finding.control).runs for finding, _ in known),
        conditions=count,
        level=sum(finding.of_set(finding.control).mean or 0.0 for finding, _ in known) / count,
        why=why,
    )


def _says(figure: str, taken: _Taken, cell: Cell) -> tuple[Says, str]:
    if cell.word in ("no verdict", "not certain"):
        return "cannot tell", "the panel is not certain"
    if cell.word == "by condition":
        return "cannot tell", "it depends on the condition"
    if taken.low is None or taken.high is None or taken.why:
        return "cannot tell", taken.why or "the scatter of the runs is not known"
    threshold = NOTICING.of(figure, taken.unit)
    if threshold is None:
        return "cannot tell", "what ears notice of this figure is not known"
    size = threshold.words if threshold.part else f"{threshold.words} {taken.unit.split()[0]}"
    ends = (
        is_noticeable(figure, taken.unit, each, taken.level) for each in (taken.low, taken.high)
    )
    is_small = not any(ends)
    is_heard = is_noticeable(figure, taken.unit, taken.difference, taken.level)
    lower, higher = is_heard and taken.high < 0, is_heard and taken.low > 0
    if cell.word == "too small to matter":
        if is_small:
            return "the same", f"less than ears notice ({size})"
        if lower or higher:
            return "otherwise", "measured, and too small to matter to the panel"
        return "cannot tell", f"the runs allow more than ears notice ({size})"
    return _says_of_clear(
        lower if cell.way == "better" else higher,
        higher if cell.way == "better" else lower,
        is_small=is_small,
        size=size,
        heard=noticing_words(figure, taken.unit, taken.difference, taken.level),
        is_open=taken.low <= 0 <= taken.high,
    )


def _says_of_clear(
    agrees: bool, opposes: bool, *, is_small: bool, is_open: bool, size: str, heard: str
) -> tuple[Says, str]:
    """Say whether the meter confirms a clear difference."""
    if agrees:
        return "the same", heard
    if opposes:
        return "otherwise", "it points the other way"
    if is_small:
        return "otherwise", f"it hardly differs (ears notice {size})"
    if is_open:
        return "cannot tell", "not more than the runs scatter"
    return "cannot tell", f"the runs leave open whether ears notice it ({size})"
