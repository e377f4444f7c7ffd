"""Axes that are the same for every set, condition and channel, so that pictures can be compared."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.findings.measured import Measured
from ratings.findings.measured_figures import is_level_true as is_true_unit
from ratings.findings.run_curves import RunCurves, bands_over_speed, levels_over_speed

_STEP_DB = 10.0
#: A line of 1 Hz may lie this far under the mean of its third octave.
_ROOM_BELOW_DB = 10.0
_DIFFERENCE_STEP, _LEAST_DIFFERENCE, _MOST_TIMES = 2.0, 4.0, 3.0
_WIDTHS_HZ = {band.name: band.high_hz - band.low_hz for band in THIRD_OCTAVES}


@dataclass(frozen=True, slots=True)
class Axis:
    """The ends of an axis."""

    low: float
    high: float


def spectrum_axis(found: Measured, *, is_level_true: bool) -> Axis:
    """Return the level axis that holds every narrow-band spectrum of a study.

    A line cannot be above its third octave, and lies around the level per hertz in it.
    """
    known = list(_third_octave_means(found, is_level_true=is_level_true))
    if not known:
        return Axis(0.0, 100.0) if is_level_true else Axis(-140.0, 0.0)
    low = min(mean - 10 * math.log10(width) for mean, width in known) - _ROOM_BELOW_DB
    high = max(mean for mean, _ in known)
    return _whole(low, high, _STEP_DB)


def third_octave_axis(found: Measured, *, is_level_true: bool) -> Axis:
    """Return the level axis that holds every third octave of a study."""
    return levels_axis(mean for mean, _ in _third_octave_means(found, is_level_true=is_level_true))


def levels_axis(levels_db: Iterable[float]) -> Axis:
    """Return the axis that holds these levels."""
    known = [level for level in levels_db if math.isfinite(level)]
    return _whole(min(known), max(known), _STEP_DB) if known else Axis(0.0, 100.0)


def speed_levels_axis(curves: Sequence[RunCurves], channel: str, *, is_level_true: bool) -> Axis:
    """Return the level axis that holds every band of a channel over speed."""
    return levels_axis(
        float(level_db)
        for band in bands_over_speed(curves)
        for curve in levels_over_speed(curves, channel, band)
        if curve.is_level_true == is_level_true
        for level_db in curve.y
    )


def difference_axis(found: Measured) -> Axis:
    """Return the axis, alike on both sides of zero, that holds every difference of level.

    Intervals are held too, up to three times the largest difference: one run with a wrong
    calibration would press all others into the middle.
    """
    compared = [
        each
        for finding in found.findings
        if finding.is_compared_level
        for each in finding.differences
        if each.difference is not None
    ]
    largest = max((abs(each.difference or 0.0) for each in compared), default=0.0)
    furthest = max(
        (abs(end) for each in compared for end in (each.low, each.high) if end is not None),
        default=0.0,
    )
    held = max(_LEAST_DIFFERENCE, largest, min(furthest, _MOST_TIMES * largest))
    half = math.ceil(held / _DIFFERENCE_STEP) * _DIFFERENCE_STEP
    return Axis(-half, half)


def difference_step(axis: Axis) -> float:
    """Return the distance of the marks on such an axis: five on each side at most."""
    steps = (factor * 10.0**power for power in range(6) for factor in (1.0, 2.0, 5.0))
    return next(step for step in steps if step >= _DIFFERENCE_STEP and axis.high / step <= 5.0)


def _third_octave_means(found: Measured, *, is_level_true: bool) -> Iterable[tuple[float, float]]:
    for finding in found.findings:
        width = _WIDTHS_HZ.get(finding.key.removeprefix("third_octave_"))
        if width is None:
            continue
        for each in finding.sets:
            if each.mean is not None and is_true_unit(each.unit) == is_level_true:
                yield each.mean, width


def _whole(low: float, high: float, step: float) -> Axis:
    bottom, top = math.floor(low / step) * step, math.ceil(high / step) * step
    return Axis(bottom, max(top, bottom + step))
