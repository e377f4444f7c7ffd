"""Points per decibel: how the panel's scores follow the figure that a study names for them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ratings.findings.agreement import AttributeAgreement
from ratings.findings.measured import Measured
from ratings.findings.verdict.words import figure_name, signed
from ratings.statistics.ear_and_meter import EarAndMeter, ear_and_meter
from ratings.study.figures import EARS
from ratings.study.wording import counted

#: Two sets lie on a line whatever they are.
FEWEST_FOR_A_LINE = 3


@dataclass(frozen=True, slots=True)
class EarPoint:
    """A set: its measured figure, and its mean score less that of all sets' mean."""

    code: str
    figure: float
    score: float


@dataclass(frozen=True, slots=True)
class EarMeter:
    """How one attribute's scores follow its figure.

    Attributes
    ----------
    figure, unit
        Key, and such as ``dB``.
    points
        One per set that was both measured and scored.
    found
        The line with its interval; see `ratings.statistics.ear_and_meter`.
    sentence
        What it says, with its caution.
    """

    attribute: str
    name: str
    figure: str
    unit: str
    points: tuple[EarPoint, ...]
    found: EarAndMeter
    sentence: str


def ear_meter(
    block: AttributeAgreement, name: str, figure: str, found: Measured
) -> EarMeter | None:
    """Hold an attribute's scores against its figure; None where it has not been measured.

    Parameters
    ----------
    block
        The attribute over all conditions.
    figure
        Key of the figure; its mean over conditions that all sets were measured in, in the mean of
        the driver's ears.
    """
    values, unit = _figure_of_sets(found, figure, block.sets)
    if values is None:
        return None
    if np.isfinite(values).sum() < FEWEST_FOR_A_LINE:
        return None
    line = ear_and_meter(block.scores, values)
    means = np.nanmean(block.scores, axis=0)
    points = tuple(
        EarPoint(code, float(value), float(score))
        for code, value, score in zip(block.sets, values, means, strict=True)
        if np.isfinite(value) and np.isfinite(score)
    )
    return EarMeter(
        block.attribute, name, figure, unit, points, line, _sentence(name, figure, unit, line)
    )


def _figure_of_sets(
    found: Measured, figure: str, codes: Sequence[str]
) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]] | None, str]:
    """Return the mean over conditions, shape (sets,); NaN for sets that were not measured."""
    findings = [f for f in found.findings if f.key == figure and f.channel == EARS]
    by_set = [
        {each.set: each.mean for each in f.sets if each.mean is not None and each.unit == f.unit}
        for f in findings
    ]
    # A condition that one of the sets lacks would shift that set alone.
    known = [each for each in by_set if all(code in each for code in codes)] or by_set[:1]
    if not known or len({f.unit for f in findings}) > 1:
        return None, ""
    values = np.array(
        [np.mean([each.get(code, np.nan) for each in known]) for code in codes], dtype=float
    )
    return (values if np.isfinite(values).sum() >= 2 else None), findings[0].unit


def _sentence(name: str, figure: str, unit: str, line: EarAndMeter) -> str:
    where = f"{name} against {figure_name(figure)}"
    if line.slope is None:
        return f"{where}: no line. {line.reason}"
    per = unit.removesuffix(" re full scale") or "unit"
    interval = ""
    if line.slope_lower is not None and line.slope_upper is not None:
        low, high = signed(line.slope_lower, 2), signed(line.slope_upper, 2)
        interval = f" (95 %: {low} to {high})"
    sets = counted(line.sets, "set")
    told = [f"{where}: {signed(line.slope, 2)} points per {per}{interval}, {sets}."]
    if line.left_out_error is not None and line.left_out_error_without_meter is not None:
        helps = line.left_out_error < line.left_out_error_without_meter
        told.append(
            f"A set left out is predicted within {line.left_out_error:.1f} points "
            f"({line.left_out_error_without_meter:.1f} without the meter"
            f"{'' if helps else ': the meter does not help'})."
        )
    told.append(line.warning)
    return " ".join(filter(None, told))
