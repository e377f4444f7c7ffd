"""The background under one or two resonances: what is left when their skirts are taken off."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.smooth_background import smooth_background
from ratings.acoustics.rolling.standing_out import joined

#: Widths at half power, in hertz, and heights, in dB, that are tried.
_WIDTHS_HZ = np.array([1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0])
_HEIGHTS_DB = np.arange(0.0, 40.1, 1.0)
_BESIDE_HZ = 45.0
_DEGREE = 2
#: The background is not taken to lie further below the lowest stretch beside the lines.
_LOWEST_SHARE, _LOWEST_WIDTH = 0.7, 5


def background_under(
    power: NDArray[np.float64], resolution_hz: float, averages: float, lines: Sequence[int]
) -> NDArray[np.float64]:
    """Return the smooth background of a spectrum with resonances at known lines, shape (lines,).

    Parameters
    ----------
    lines
        Indices of one or two.

    Notes
    -----
    The skirts of a resonance 5 Hz wide and 18 dB high stand 5 dB high over 15 Hz to either side,
    and pass for background. All resonances are fitted together, as the response of one degree of
    freedom each (a Lorentzian) of one width, over a polynomial, by least squares of the logarithm;
    they are divided out, and the background is what is smooth of the rest.
    """
    reach = round(_BESIDE_HZ / resolution_hz)
    near = slice(max(0, min(lines) - reach), max(lines) + reach + 1)
    place = np.linspace(-1.0, 1.0, power[near].size)
    course, _ = np.linalg.qr(np.vander(place, _DEGREE + 1))

    def rest(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(values - (values @ course) @ course.T)

    heights = 10.0 ** (_HEIGHTS_DB / 10.0) - 1.0
    seen = rest(np.log(power[near]))
    away_hz = np.abs(np.arange(power.size) - np.array(lines)[:, np.newaxis]) * resolution_hz
    best_error, best = np.inf, np.ones(power.size)
    for width_hz in _WIDTHS_HZ:
        response = 1.0 / (1.0 + (2.0 * away_hz / width_hz) ** 2)
        tried = [rest(np.log1p(heights[:, np.newaxis] * each[near])) for each in response]
        chosen, error = _least_squares(seen, tried)
        if error < best_error:
            best_error = error
            best = (1.0 + heights[chosen][:, np.newaxis] * response).prod(axis=0)
    background = smooth_background(power / best, resolution_hz, averages)
    lowest = _LOWEST_SHARE * float(joined(power, _LOWEST_WIDTH)[near].min())
    return np.maximum(background, np.minimum(lowest, power))


def _least_squares(
    seen: NDArray[np.float64], tried: Sequence[NDArray[np.float64]]
) -> tuple[list[int], float]:
    """Return the heights of each resonance whose sum leaves least, and the squares left."""
    first, last = tried[0], tried[-1]
    alone = [(each**2).sum(axis=1) - 2.0 * each @ seen for each in tried]
    if len(tried) == 1:
        height = int(np.argmin(alone[0]))
        return [height], float(alone[0][height])
    errors = alone[0][:, np.newaxis] + alone[1] + 2.0 * first @ last.T
    place = np.unravel_index(int(np.argmin(errors)), errors.shape)
    return [int(each) for each in place], float(errors.min())
