"""The cavity line in a narrow-band spectrum: found, measured, or said not to be there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.levels import REFERENCE_PRESSURE_PA
from ratings.acoustics.rolling.cavity_prediction import CavityPrediction
from ratings.acoustics.rolling.line_shape import background_under
from ratings.acoustics.rolling.order_series import series_spacing_hz
from ratings.acoustics.rolling.smooth_background import smooth_background
from ratings.acoustics.rolling.standing_out import beside, crest_limit, joined, noise_limit
from ratings.errors import MeasurementError

#: Chance that pure noise passes for a line, per spectrum.
FALSE_ALARM = 0.006
#: The same for the second line of a pair, once the first is there.
_FALSE_SECOND = 0.03
#: Height over what lies beside it, over that of the crests around, both in dB, of the first line
#: and of the second. Chosen with `tests/benchmarks/cavity_confounders.py`, one ear, 8 s: pairs 6 dB
#: high are found in 92 %, 9 dB in 98 %; tones, mains, orders and humps pass in at most 1.2 %, an
#: order that sweeps through and invented road noise without a cavity in 3 %.
_OVER_BESIDE, _SECOND_OVER_BESIDE = 1.9, 1.25
_BESIDE_HZ = (5.0, 12.0)
#: Least ratio of the power within 5 Hz to that beside it, and what is added over the root of the
#: averages: 2.2 for a line 6 dB high and 8 Hz wide, 1.7 for a resonance of the body 18 Hz wide.
_LEAST_OVER_BESIDE = (1.58, 1.0)
#: What is asked of each of two lines as far apart as a pair that stand out together only.
_PAIR_OVER_BESIDE, _FALSE_OF_PAIR, _PAIR_OVER_CRESTS = (1.17, 0.86), 0.3, 1.25
#: Widths of line that are looked for.
_WIDTHS_HZ = (3.0, 5.0, 7.0)
_SURROUNDINGS_HZ = 120.0
#: Two lines nearer than this are one.
_APART_HZ = 4.0
#: Half the stretch whose power above the background is a line's own.
_HALF_LINE_HZ = 5.0
#: Mean height over 15 Hz against that over 5 Hz: about 0.5 for a line 4 Hz wide at half power,
#: 0.65 for one of 8 Hz, 0.9 for a resonance of the body 20 Hz wide.
_NARROW_HZ, _WIDE_HZ, _WIDEST_SHARE = 5.0, 15.0, 0.8
_NEAR_HZ = 2.0
#: Steadiness of the phase from which a line is a tone, and chance that noise reaches its limit.
_STEADY, _STEADY_BY_CHANCE = 0.45, 0.02
#: Share of a line's power that lies 1.5 to 3.5 Hz from its middle: 0.02 for a sine, up to 0.1 for
#: one that wanders by 0.5 Hz, 0.3 for a resonance 2.5 Hz wide at half power (Q of 84).
_OUTER_SHARE, _INNER_HZ, _OUTER_HZ = 0.14, 1.5, 3.5
#: What lies further below the strongest line of a spectrum is the skirt of that line, or rounding.
_FAINTEST = 1e-10
#: Lines of two recordings further apart than this are not compared.
_SAME_LINE_HZ = 6.0


@dataclass(frozen=True, slots=True)
class SpectralLine:
    """One narrow line.

    Attributes
    ----------
    frequency_hz
        Centre of gravity of what stands above the background.
    level_db
        Level of the power above the background within 5 Hz to either side, in dB.
    height_db
        Highest point of the line, above the background.
    """

    frequency_hz: float
    level_db: float
    height_db: float


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
class PassedOver:
    """A line that stands out as a cavity line would and is taken for something else.

    Attributes
    ----------
    why
        ``steady tone``: its phase goes on as that of a sine, or it is as narrow as one; ``order
        series``: it stands in a row of lines at one spacing.
    spacing_hz
        Of that row, else None.
    """

    frequency_hz: float
    why: Literal["steady tone", "order series"]
    spacing_hz: float | None = None


@dataclass(frozen=True, slots=True)
class CavitySearch:
    """The cavity line, or None, and what else stood out where it was looked for."""

    line: CavityLine | None
    passed_over: tuple[PassedOver, ...] = ()


def find_cavity_line(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    expected: CavityPrediction | tuple[float, float],
    reference: float = REFERENCE_PRESSURE_PA,
    steadiness: NDArray[np.float64] | None = None,
) -> CavityLine | None:
    """Return the line of `search_cavity_line`; None when nothing there is one."""
    return search_cavity_line(power, resolution_hz, averages, expected, reference, steadiness).line


def search_cavity_line(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    expected: CavityPrediction | tuple[float, float],
    reference: float = REFERENCE_PRESSURE_PA,
    steadiness: NDArray[np.float64] | None = None,
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
    steadiness
        Coherence of each line's phase over time, shape as of `power` but fewer lines, see
        `NarrowBandSpectrum`; without it a steady tone passes for a line.

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
    the mains does not, (6) stand in no series of lines at one spacing. The second line of a pair
    may stand lower. What lies 100 dB below the strongest line of the whole spectrum is no line.
    The rules are ours; what they find and what they let pass is printed by
    `tests/benchmarks/cavity_confounders.py`.
    """
    low_hz, high_hz = expected.range_hz if isinstance(expected, CavityPrediction) else expected
    view = _view(power, resolution_hz, averages, (low_hz, high_hz), reference)
    if view is None:
        return CavitySearch(None)
    searched = (view.frequency_hz >= low_hz) & (view.frequency_hz <= high_hz)
    apart_hz = expected.apart_hz if isinstance(expected, CavityPrediction) else None
    if steadiness is not None and steadiness.ndim == 2:
        steadiness = steadiness.mean(axis=0)
    judge = _Judge(view, averages, steadiness)
    found, passed_over = _standing_out(view, averages, searched, judge)
    if not found and apart_hz is not None:
        found = _standing_out_together(view, averages, searched, apart_hz, judge)
    view = _without_skirts(view, averages, found)
    lines = sorted((_measured(view, at) for at in found), key=lambda line: line.frequency_hz)
    if not lines:
        return CavitySearch(None, passed_over)
    line = CavityLine(
        strongest=max(lines, key=lambda line: line.height_db),
        lower=lines[0] if len(lines) == 2 else None,
        upper=lines[1] if len(lines) == 2 else None,
    )
    return CavitySearch(line, passed_over)


def lines_at(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    at_hz: tuple[float, ...],
    reference: float = REFERENCE_PRESSURE_PA,
) -> tuple[SpectralLine, ...]:
    """Measure at given frequencies whatever stands there, be it a line or not.

    To compare a set whose line is gone with one that has it. Parameters as of `find_cavity_line`;
    each line is measured at its highest point within 2 Hz. A spectrum of zeros has lines of minus
    infinity and a height of 0 dB.
    """
    if not at_hz:
        return ()
    view = _view(power, resolution_hz, averages, (min(at_hz), max(at_hz)), reference)
    if view is None:
        return tuple(SpectralLine(each_hz, float("-inf"), 0.0) for each_hz in at_hz)
    near = [np.flatnonzero(np.abs(view.frequency_hz - each_hz) <= _NEAR_HZ) for each_hz in at_hz]
    highest = [int(lines[np.argmax(view.ratio[lines])]) for lines in near]
    view = _without_skirts(view, averages, highest)
    return tuple(_measured(view, at) for at in highest)


def line_change_db(before: CavityLine, after: CavityLine) -> float:
    """Return how much louder the lines became that both recordings have, in dB.

    The mean over the lines that lie within 6 Hz of each other; NaN when there are none.
    """
    changes_db = [
        new.level_db - old.level_db
        for old in before.lines
        for new in after.lines
        if abs(new.frequency_hz - old.frequency_hz) <= _SAME_LINE_HZ
    ]
    return float(np.mean(changes_db)) if changes_db else float("nan")


@dataclass(frozen=True, slots=True)
class _Rule:
    """What a line must do: the chance of noise passing for it, and its height in crests."""

    chance: float
    over_beside: float


_FIRST = _Rule(FALSE_ALARM, _OVER_BESIDE)
_OF_PAIR = _Rule(_FALSE_OF_PAIR, _PAIR_OVER_CRESTS)
_SECOND = _Rule(_FALSE_SECOND, _SECOND_OVER_BESIDE)


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    frequency_hz: NDArray[np.float64]
    power: NDArray[np.float64]
    background: NDArray[np.float64]
    resolution_hz: float
    reference: float

    @property
    def ratio(self) -> NDArray[np.float64]:
        return self.power / self.background

    def width(self, wide_hz: float) -> int:
        return 2 * round((wide_hz / self.resolution_hz - 1.0) / 2.0) + 1


def _view(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    range_hz: tuple[float, float],
    reference: float,
) -> _View | None:
    """Cut out the range with its surroundings; None when there is no sound in it."""
    mean = power.mean(axis=0) if power.ndim == 2 else power
    _refuse_unsuitable(mean.size, resolution_hz, averages, range_hz)
    first = max(1, round((range_hz[0] - _SURROUNDINGS_HZ) / resolution_hz))
    part = mean[first : round((range_hz[1] + _SURROUNDINGS_HZ) / resolution_hz) + 1]
    part = np.maximum(part, _FAINTEST * mean[2:].max())  # a constant offset is no line
    if not (part > 0.0).all():
        return None
    background = smooth_background(part, resolution_hz, averages)
    frequency_hz = (first + np.arange(part.size)) * resolution_hz
    return _View(frequency_hz, part, background, resolution_hz, reference)


def _without_skirts(view: _View, averages: float, lines: Sequence[int]) -> _View:
    # A line as narrow as the window's has none.
    ordered = sorted({at for at in lines if _outer_share(view, at) >= _OUTER_SHARE})
    if not ordered:
        return view
    background = background_under(view.power, view.resolution_hz, averages, ordered)
    return replace(view, background=background)


def _standing_out(
    view: _View, averages: float, searched: NDArray[np.bool_], judge: "_Judge"
) -> tuple[list[int], tuple[PassedOver, ...]]:
    """Find the one or two lines that pass all rules, highest first, and those taken for others."""
    allowed = searched & _is_narrow(view, averages, _LEAST_OVER_BESIDE)
    found: list[int] = []
    passed_over: list[PassedOver] = []
    while len(found) < 2:
        rule = _SECOND if found else _FIRST
        strength = np.where(allowed, _strength(view, averages, searched, rule), 0.0)
        highest = int(np.argmax(strength))
        if strength[highest] <= 1.0:
            break
        other = judge.something_else(highest)
        if other is None:
            found.append(highest)
        else:
            passed_over.append(other)
        allowed &= ~_same_line(view, strength, highest)
    return found, tuple(passed_over)


def _standing_out_together(
    view: _View,
    averages: float,
    searched: NDArray[np.bool_],
    apart_hz: tuple[float, float],
    judge: "_Judge",
) -> list[int]:
    """Find two lines as far apart as a pair that stand out together, if neither does alone."""
    strength = _strength(view, averages, searched, _OF_PAIR)
    crest = (strength >= np.roll(strength, 1)) & (strength > np.roll(strength, -1))
    allowed = searched & _is_narrow(view, averages, _PAIR_OVER_BESIDE) & crest & (strength > 1.0)
    lines = np.flatnonzero(allowed)
    lower, upper = (each.ravel() for each in np.meshgrid(lines, lines))
    distance_hz = (upper - lower) * view.resolution_hz
    fits = (distance_hz >= apart_hz[0] - 1.0) & (distance_hz <= apart_hz[1] + 1.0)
    lower, upper = lower[fits], upper[fits]
    # Both may lie anywhere in the range, within the distances that a pair has.
    trials = int(searched.sum()) * max(1, round((apart_hz[1] - apart_hz[0]) / view.resolution_hz))
    over = np.zeros(lower.size)
    widths = [max(1, view.width(wide_hz)) for wide_hz in _WIDTHS_HZ]
    for width in widths:
        smooth = joined(view.ratio, width)
        limit = noise_limit(2.0 * averages, width, trials, FALSE_ALARM / len(widths))
        over = np.maximum(over, (smooth[lower] + smooth[upper]) / 2.0 / limit)
    for place in np.argsort(-over):
        pair = [int(lower[place]), int(upper[place])]
        if over[place] > 1.0 and not any(judge.something_else(at) for at in pair):
            return pair
    return []


def _is_narrow(view: _View, averages: float, over_beside: tuple[float, float]) -> NDArray[np.bool_]:
    """Mark where power stands in 5 Hz and not in 15, and over what lies beside."""
    five = joined(view.ratio, view.width(_NARROW_HZ))
    wide = joined(view.ratio, view.width(_WIDE_HZ)) - 1.0
    nearest, farthest = (round(each_hz / view.resolution_hz) for each_hz in _BESIDE_HZ)
    sides = beside(view.ratio, nearest, farthest)
    least = over_beside[0] + over_beside[1] / float(np.sqrt(averages))
    return (wide <= _WIDEST_SHARE * (five - 1.0)) & (five >= least * sides)


def _outer_share(view: _View, at: int) -> float:
    """Return the share of a line's power that lies beside its middle; 1 where it has no power."""
    away_hz = np.abs(view.frequency_hz - view.frequency_hz[at])
    excess = view.ratio - 1.0
    inner = float(excess[away_hz <= _INNER_HZ].sum())
    outer = float(excess[(away_hz > _INNER_HZ) & (away_hz <= _OUTER_HZ)].sum())
    return outer / (inner + outer) if inner + outer > 0.0 else 1.0


@dataclass(frozen=True, slots=True, eq=False)
class _Judge:
    """Tells a line that rings from tones of machines and from members of an order series."""

    view: _View
    averages: float
    steadiness: NDArray[np.float64] | None

    def something_else(self, at: int) -> PassedOver | None:
        """Return what a line is taken for; None for what may ring."""
        view = self.view
        frequency_hz = float(view.frequency_hz[at])
        if self._is_tone(at):
            return PassedOver(frequency_hz, "steady tone")
        spacing_hz = series_spacing_hz(view.ratio, view.resolution_hz, self.averages, at)
        if spacing_hz is not None:
            return PassedOver(frequency_hz, "order series", spacing_hz)
        return None

    def _is_tone(self, at: int) -> bool:
        if self.steadiness is None:
            return False
        first = round(self.view.frequency_hz[0] / self.view.resolution_hz) + at
        steadiness = float(self.steadiness[first - 1 : first + 2].max(initial=0.0))
        # The phase of noise goes on by chance like a sum of so many random arrows (Rayleigh).
        by_chance = np.sqrt(-np.log(_STEADY_BY_CHANCE) / max(1.0, self.averages - 2.0))
        is_steady = steadiness > max(_STEADY, by_chance)
        return bool(is_steady) or _outer_share(self.view, at) < _OUTER_SHARE


def _strength(
    view: _View, averages: float, searched: NDArray[np.bool_], rule: _Rule
) -> NDArray[np.float64]:
    """Height over the limit, in shares of the limit's, highest of the widths looked for."""
    # The background scatters too, the more the fewer the averages; found by trying with noise.
    allowed = rule.chance / (1.0 + 4.0 / averages)
    nearest, farthest = (round(each_hz / view.resolution_hz) for each_hz in _BESIDE_HZ)
    sides = beside(view.ratio, nearest, farthest)
    strength = np.zeros(view.ratio.size)
    widths = sorted({max(1, view.width(wide_hz)) for wide_hz in _WIDTHS_HZ})
    for width in widths:
        smooth = joined(view.ratio, width)
        limit = noise_limit(averages, width, int(searched.sum()), allowed / len(widths))
        limit = max(limit, crest_limit(*_outside(smooth, searched)))
        over_sides = smooth / sides
        side_limit = crest_limit(*_outside(over_sides, searched)) ** rule.over_beside
        high = (smooth - 1.0) / (limit - 1.0)
        if side_limit > 1.0:
            high = np.minimum(high, (over_sides - 1.0) / (side_limit - 1.0))
        strength = np.maximum(strength, high)
    return strength


def _same_line(view: _View, strength: NDArray[np.float64], highest: int) -> NDArray[np.bool_]:
    """Mark the lines near the highest, and its slopes down to where they first rise again."""
    away_hz = np.abs(view.frequency_hz - view.frequency_hz[highest])
    same = np.asarray(away_hz < _APART_HZ)
    for step in (-1, 1):
        at = highest
        while 0 <= at + step < strength.size and 0.0 < strength[at + step] <= strength[at]:
            at += step
            same[at] = True
    return same


def _outside(
    smooth: NDArray[np.float64], searched: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    inside = np.flatnonzero(searched)
    return smooth[: inside[0]], smooth[inside[-1] + 1 :]


def _measured(view: _View, at: int) -> SpectralLine:
    half = max(1, round(_HALF_LINE_HZ / view.resolution_hz))
    span = slice(max(0, at - half), at + half + 1)
    excess = view.power[span] - view.background[span]
    middle = slice(max(0, at - half // 2), at + half // 2 + 1)
    above = np.maximum(view.power[middle] - view.background[middle], 0.0)
    ratio = view.power[middle] / view.background[middle]
    height_db = float(10.0 * np.log10(ratio.max()))
    if not above.any():
        return SpectralLine(float(view.frequency_hz[at]), float("-inf"), height_db)
    total = float(excess.sum())
    if total <= 0.0:  # the line's surroundings lie as far below the background as it lies above
        total = float(above.sum())
    return SpectralLine(
        frequency_hz=float((above * view.frequency_hz[middle]).sum() / above.sum()),
        level_db=float(10.0 * np.log10(total / view.reference**2)),
        height_db=height_db,
    )


def _refuse_unsuitable(
    lines: int, resolution_hz: float, averages: float, range_hz: tuple[float, float]
) -> None:
    low_hz, high_hz = range_hz
    if resolution_hz > 2.5:
        raise MeasurementError(
            f"A resolution of {resolution_hz:.2g} Hz is too coarse for a cavity line.",
            "Use a spectrum of about 1 Hz, from a recording of some seconds.",
        )
    if averages < 1.0 or not 0.0 < low_hz <= high_hz < (lines - 1) * resolution_hz:
        raise MeasurementError(
            f"The spectrum does not reach over {low_hz:.0f} to {high_hz:.0f} Hz.",
            "Use a recording with a higher sample rate, or another range.",
        )
