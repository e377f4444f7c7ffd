"""How high over its background, and over what lies beside it, a cavity's line must stand."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.spectral_line import SpectrumView
from ratings.acoustics.rolling.standing_out import beside, crest_limit, noise_limit, smoothed

#: Chance that pure noise passes for a line, per spectrum.
FALSE_ALARM = 0.006
#: The same for two lines that stand out together only; what else they must do lets fewer pass.
FALSE_TOGETHER = 0.02
#: Widths of line that are looked for.
WIDTHS_HZ = (3.0, 5.0, 7.0)
_BESIDE_HZ = (5.0, 12.0)
#: Two lines nearer than this are one.
_APART_HZ = 4.0
#: Mean height over 15 Hz against that over 5 Hz: about 0.5 for a line 4 Hz wide at half power,
#: 0.65 for one of 8 Hz, 0.9 for a resonance of the body 20 Hz wide.
_NARROW_HZ, _WIDE_HZ, _WIDEST_SHARE = 5.0, 15.0, 0.8


@dataclass(frozen=True, slots=True)
class Rule:
    """What a line must do.

    Attributes
    ----------
    chance
        That noise passes for one.
    over_crests
        Height over what lies beside it, over that of the crests around, both in dB.
    over_beside
        Least ratio of the power within 5 Hz to that beside it, and what is added over the root of
        the averages: 2.2 for a line 6 dB high and 8 Hz wide, 1.7 for a resonance of the body 18 Hz
        wide.
    """

    chance: float
    over_crests: float
    over_beside: tuple[float, float]


# Chosen with `tests/benchmarks/cavity_confounders.py`, one ear, 8 s: pairs 6 dB high are found in
# 94 %, 9 dB in 98 %; each of the confounders passes in at most 1.2 %.
FIRST = Rule(FALSE_ALARM, 1.9, (1.58, 1.0))
#: Of the second line of a pair, once the first is there.
SECOND = Rule(0.03, 1.25, (1.58, 1.0))
#: Of each of two lines as far apart as a pair that stand out together only.
OF_PAIR = Rule(0.3, 1.25, (1.17, 0.86))


def is_narrow(view: SpectrumView, averages: float, rule: Rule) -> NDArray[np.bool_]:
    """Mark where power stands in 5 Hz and not in 15, and over what lies beside."""
    five = smoothed(view.ratio, view.width(_NARROW_HZ))
    wide = smoothed(view.ratio, view.width(_WIDE_HZ)) - 1.0
    nearest, farthest = (round(each_hz / view.resolution_hz) for each_hz in _BESIDE_HZ)
    sides = beside(view.ratio, nearest, farthest)
    least = rule.over_beside[0] + rule.over_beside[1] / float(np.sqrt(averages))
    return (wide <= _WIDEST_SHARE * (five - 1.0)) & (five >= least * sides)


def strength_of(
    view: SpectrumView, averages: float, searched: NDArray[np.bool_], rule: Rule
) -> NDArray[np.float64]:
    """Height over the limit, in shares of the limit's, highest of the widths looked for."""
    # The background scatters too, the more the fewer the averages; found by trying with noise.
    allowed = rule.chance / (1.0 + 4.0 / averages)
    nearest, farthest = (round(each_hz / view.resolution_hz) for each_hz in _BESIDE_HZ)
    sides = beside(view.ratio, nearest, farthest)
    strength = np.zeros(view.ratio.size)
    widths = sorted({max(1, view.width(wide_hz)) for wide_hz in WIDTHS_HZ})
    for width in widths:
        smooth = smoothed(view.ratio, width)
        limit = noise_limit(averages, width, int(searched.sum()), allowed / len(widths))
        limit = max(limit, crest_limit(*_outside(smooth, searched)))
        over_sides = smooth / sides
        side_limit = crest_limit(*_outside(over_sides, searched)) ** rule.over_crests
        high = (smooth - 1.0) / (limit - 1.0)
        if side_limit > 1.0:
            high = np.minimum(high, (over_sides - 1.0) / (side_limit - 1.0))
        strength = np.maximum(strength, high)
    return strength


def same_line(view: SpectrumView, strength: NDArray[np.float64], highest: int) -> NDArray[np.bool_]:
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
