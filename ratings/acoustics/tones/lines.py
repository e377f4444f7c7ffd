"""Lines of a spectrum that stand up like a tone."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from ratings.acoustics.tones.bands import critical_band_hz, critical_bandwidth_hz

# ECMA-418-1: the lines of a tone take at most this share of the critical band.
_WIDEST_SHARE: Final = 0.15
_HANN_LINES: Final = 2
# A tone of that width and 0 dB over the noise stands at least 8 dB above it.
_LEAST_RISE: Final = 10**0.8
_SKIRT_RISE: Final = 2.0
_FEWEST_LINES_PER_BAND: Final = 20
_FEWEST_AROUND: Final = 7
_MOST_LINES: Final = 40


@dataclass(frozen=True, slots=True)
class StandingLine:
    """A peak with its skirts.

    Attributes
    ----------
    frequency_hz
        Between the lines, by a parabola through the levels of three.
    power
        Sum of the lines, in the square of the signal's unit.
    lines
        Which lines of the spectrum it takes; none is taken twice.
    """

    frequency_hz: float
    power: float
    lines: slice


def standing_lines(
    power: npt.NDArray[np.float64], resolution_hz: float, low_hz: float, high_hz: float
) -> list[StandingLine]:
    """Return the lines that stand well above the background, strongest first.

    Parameters
    ----------
    power
        Shape (lines,), averaged under a Hann window.
    low_hz, high_hz
        Where to look. Frequencies at which the critical band holds fewer than 20 lines are left
        out, because there a tone cannot be told from its band.
    """
    centres_hz, background = _background(power, resolution_hz, low_hz, high_hz)
    if len(centres_hz) == 0:
        return []
    first = max(1, int(np.ceil(centres_hz[0] / resolution_hz)))
    last = min(len(power) - 2, int(centres_hz[-1] / resolution_hz))
    places = np.arange(first, last + 1)
    around = np.interp(places * resolution_hz, centres_hz, background)
    rise = np.full(len(power), 0.0)
    rise[places] = power[places] / np.maximum(around, np.finfo(float).tiny)
    is_peak = (power[places] > power[places - 1]) & (power[places] >= power[places + 1])
    peaks = places[is_peak & (rise[places] > _LEAST_RISE)]
    highest_first = peaks[np.argsort(-rise[peaks])]
    taken = np.zeros(len(power), dtype=bool)
    found: list[StandingLine] = []
    for peak in highest_first.tolist():
        if not taken[peak] and len(found) < _MOST_LINES:
            found.append(_with_skirts(power, rise, taken, peak, resolution_hz))
    return sorted(found, key=lambda line: -line.power)


def _background(
    power: npt.NDArray[np.float64], resolution_hz: float, low_hz: float, high_hz: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return medians of lines, and the frequencies at which they stand."""
    highest_hz = (len(power) - 0.5) * resolution_hz
    centres_hz: list[float] = []
    medians: list[float] = []
    centre_hz = low_hz
    while centre_hz < high_hz * 1.05 and critical_band_hz(centre_hz)[1] < highest_hz:
        band_hz = critical_bandwidth_hz(centre_hz)
        if band_hz >= _FEWEST_LINES_PER_BAND * resolution_hz:
            # Twice a tone's widest: it does not lift the median, but a broad hump does.
            half = max(round(_WIDEST_SHARE * band_hz / resolution_hz), _FEWEST_AROUND)
            place = round(centre_hz / resolution_hz)
            centres_hz.append(centre_hz)
            medians.append(float(np.median(power[max(place - half, 0) : place + half + 1])))
        centre_hz += 0.1 * band_hz
    return np.array(centres_hz), np.array(medians)


def _with_skirts(
    power: npt.NDArray[np.float64],
    rise: npt.NDArray[np.float64],
    taken: npt.NDArray[np.bool_],
    peak: int,
    resolution_hz: float,
) -> StandingLine:
    widest_hz = _WIDEST_SHARE * critical_bandwidth_hz(peak * resolution_hz)
    reach = max(_HANN_LINES, int(widest_hz / resolution_hz / 2))
    ends = []
    for step in (-1, 1):
        end = peak
        while abs(end - peak) < reach:
            following = end + step
            if not 0 < following < len(power) or taken[following]:
                break
            if abs(following - peak) > _HANN_LINES and rise[following] < _SKIRT_RISE:
                break
            end = following
        ends.append(end)
    lines = slice(ends[0], ends[1] + 1)
    taken[lines] = True
    frequency_hz = (peak + _offset(power[peak - 1 : peak + 2])) * resolution_hz
    return StandingLine(frequency_hz, float(power[lines].sum()), lines)


def _offset(three: npt.NDArray[np.float64]) -> float:
    """Return where between lines the peak of a parabola through three levels lies."""
    left, middle, right = np.log(np.maximum(three, np.finfo(float).tiny))
    bend = left - 2 * middle + right
    return float(0.5 * (left - right) / bend) if bend < 0 else 0.0
