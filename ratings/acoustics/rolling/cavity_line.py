"""The cavity line in a narrow-band spectrum: found, measured, or said not to be there."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.lines_over_time import LinesOverTime
from ratings.acoustics.rolling.cavity_prediction import CavityPrediction
from ratings.acoustics.rolling.line_confounders import ConfounderJudge, PassedOver
from ratings.acoustics.rolling.line_rules import (
    FALSE_TOGETHER,
    FIRST,
    OF_PAIR,
    SECOND,
    WIDTHS_HZ,
    is_narrow,
    same_line,
    strength_of,
)
from ratings.acoustics.rolling.spectral_line import (
    SpectralLine,
    SpectrumView,
    measured_line,
    view_of,
    without_skirts,
)
from ratings.acoustics.rolling.standing_out import noise_limit, smoothed
from ratings.study.constants import REFERENCE_PRESSURE_PA


@dataclass(frozen=True, slots=True)
class CavityLine:
    """What was found of the cavity resonance.

    Attributes
    ----------
    strongest
        The line that stands highest.
    lower, upper
        The two lines of the pair; None when only one stands out.
    """

    strongest: SpectralLine
    lower: SpectralLine | None
    upper: SpectralLine | None

    @classmethod
    def of(cls, lines: Sequence[SpectralLine]) -> Self:
        """Put one or two measured lines in order."""
        in_order = sorted(lines, key=lambda line: line.frequency_hz)
        lower, upper = in_order if len(in_order) == 2 else (None, None)
        return cls(max(in_order, key=lambda line: line.prominence_db), lower, upper)

    @property
    def lines(self) -> tuple[SpectralLine, ...]:
        """All lines found, lower one first."""
        if self.lower is None or self.upper is None:
            return (self.strongest,)
        return self.lower, self.upper

    @property
    def level_db(self) -> float:
        """Level of all lines together, in dB."""
        return float(10.0 * np.log10(sum(10.0 ** (each.level_db / 10.0) for each in self.lines)))


@dataclass(frozen=True, slots=True)
class CavitySearch:
    """The cavity line, or None, and what else stood out where it was looked for."""

    line: CavityLine | None
    passed_over: tuple[PassedOver, ...] = ()


def search_cavity_line(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    expected: CavityPrediction | tuple[float, float],
    reference: float = REFERENCE_PRESSURE_PA,
    over_time: LinesOverTime | None = None,
) -> CavitySearch:
    """Find the cavity line or pair in a spectrum, or nothing.

    Parameters
    ----------
    power
        Shape (lines,), or (channels, lines) of which the mean is searched: mean square per line,
        from a Hann window. Line k lies at k times `resolution_hz`, best about 1 Hz.
    averages
        Equivalent number of independent spectra in the average.
    expected
        A prediction, or the lowest and highest frequency to look at, in hertz.
    reference
        20 uPa for pressure in pascal, 1.0 relative to full scale.
    over_time
        What the lines do meanwhile, see `NarrowBandSpectrum`; without it a steady tone, and one
        that passes through, pass for a line.

    Raises
    ------
    MeasurementError
        When the resolution is coarser than 2.5 Hz or the spectrum ends below the range.

    Notes
    -----
    A line must (1) exceed what pure noise reaches anywhere in the range in 0.6 % of recordings,
    (2) stand above the crests of the spectrum around the range, (3) stand well above theirs over
    what lies 5 to 12 Hz beside it, where a resonance of the body still stands, (4) be narrow,
    (5) lose its phase within a second, as what rings down in less does and a tone of a machine or
    the mains does not, (6) stand in no series of lines at one spacing, (7) stand where it is all
    the time, as no order does while the speed changes. The second line of a pair may stand lower.
    What lies 100 dB below the strongest line of the whole spectrum is no line.
    The rules are ours; what they find and what they let pass is printed by
    `tests/benchmarks/cavity_confounders.py`.
    """
    low_hz, high_hz = expected.range_hz if isinstance(expected, CavityPrediction) else expected
    view = view_of(power, resolution_hz, averages, (low_hz, high_hz), reference)
    if view is None:
        return CavitySearch(None)
    searched = (view.frequency_hz >= low_hz) & (view.frequency_hz <= high_hz)
    apart_hz = expected.apart_hz if isinstance(expected, CavityPrediction) else None
    judge = ConfounderJudge(view, averages, over_time)
    found, passed_over = _standing_out(view, averages, searched, judge)
    if not found and apart_hz is not None:
        found = _standing_out_together(view, averages, searched, apart_hz, judge)
    if not found:
        return CavitySearch(None, passed_over)
    view = without_skirts(view, averages, found)
    return CavitySearch(CavityLine.of([measured_line(view, at) for at in found]), passed_over)


def _standing_out(
    view: SpectrumView, averages: float, searched: NDArray[np.bool_], judge: ConfounderJudge
) -> tuple[list[int], tuple[PassedOver, ...]]:
    """Find the one or two lines that pass all rules, highest first, and those taken for others."""
    allowed = searched & is_narrow(view, averages, FIRST)
    found: list[int] = []
    passed_over: list[PassedOver] = []
    while len(found) < 2:
        rule = SECOND if found else FIRST
        strength = np.where(allowed, strength_of(view, averages, searched, rule), 0.0)
        highest = int(np.argmax(strength))
        if strength[highest] <= 1.0:
            break
        other = judge.something_else(highest)
        if other is None:
            found.append(highest)
        else:
            passed_over.append(other)
        allowed &= ~same_line(view, strength, highest)
    return found, tuple(passed_over)


def _standing_out_together(
    view: SpectrumView,
    averages: float,
    searched: NDArray[np.bool_],
    apart_hz: tuple[float, float],
    judge: ConfounderJudge,
) -> list[int]:
    """Find two lines as far apart as a pair that stand out together, if neither does alone."""
    strength = strength_of(view, averages, searched, OF_PAIR)
    crest = (strength >= np.roll(strength, 1)) & (strength > np.roll(strength, -1))
    allowed = searched & is_narrow(view, averages, OF_PAIR) & crest & (strength > 1.0)
    lines = np.flatnonzero(allowed)
    lower, upper = (each.ravel() for each in np.meshgrid(lines, lines))
    distance_hz = (upper - lower) * view.resolution_hz
    fits = (distance_hz >= apart_hz[0] - 1.0) & (distance_hz <= apart_hz[1] + 1.0)
    lower, upper = lower[fits], upper[fits]
    # Both may lie anywhere in the range, within the distances that a pair has.
    trials = int(searched.sum()) * max(1, round((apart_hz[1] - apart_hz[0]) / view.resolution_hz))
    over = np.zeros(lower.size)
    widths = [max(1, view.width(wide_hz)) for wide_hz in WIDTHS_HZ]
    for width in widths:
        smooth = smoothed(view.ratio, width)
        limit = noise_limit(2.0 * averages, width, trials, FALSE_TOGETHER / len(widths))
        over = np.maximum(over, (smooth[lower] + smooth[upper]) / 2.0 / limit)
    for place in np.argsort(-over):
        pair = [int(lower[place]), int(upper[place])]
        if over[place] > 1.0 and not any(judge.something_else(at) for at in pair):
            return pair
    return []
