"""The smooth background of a spectrum, also under one or two resonances and their skirts."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.standing_out import smoothed

#: Half the span of one local fit. Wide enough to reach past a pair of lines, narrow enough for a
#: parabola to follow resonances of the body, 20 to 50 Hz wide.
HALF_SPAN_HZ = 40.0
_ROUNDS = 6
#: Scatter of the logarithm of one line, in nepers of power, beyond which it counts less.
_TUNING = 1.5
#: Widths at half power, in hertz, and heights, in dB, that are tried.
_WIDTHS_HZ = np.array([1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0])
_HEIGHTS_DB = np.arange(0.0, 40.1, 1.0)
_BESIDE_HZ = 45.0
_DEGREE = 2
#: The background is not taken to lie further below the lowest stretch beside the lines.
_LOWEST_SHARE, _LOWEST_WIDTH = 0.7, 5


def smooth_background(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    half_span_hz: float = HALF_SPAN_HZ,
) -> NDArray[np.float64]:
    """Return the expected power of each line if no narrow line stood out, shape (lines,).

    Parameters
    ----------
    power
        Shape (lines,), above zero.
    averages
        Equivalent number of independent spectra in the average; sets how far lines scatter.
    half_span_hz
        Half the span of one local fit.

    Notes
    -----
    Local regression of the logarithm by a parabola with tricube weights, repeated with weights
    that fall for lines above the fit only: what stands out pulls no background up (after
    Cleveland 1979, J. Am. Stat. Assoc. 74, 829-836; the one-sided weights are ours).
    """
    from scipy.special import digamma

    # The mean of the logarithm lies below the logarithm of the mean.
    logs = np.log(power) - (digamma(averages) - np.log(averages))
    scatter = 1.0 / np.sqrt(averages)
    windows = _windows(power.size, round(half_span_hz / resolution_hz))
    trust = np.ones_like(logs)
    fitted = logs
    for _ in range(_ROUNDS):
        fitted = _fit(logs, trust, *windows)
        over = np.maximum(logs - fitted, 0.0) / (_TUNING * scatter)
        trust = np.where(over <= 1.0, 1.0, np.exp(-((over - 1.0) ** 2)))
    return np.asarray(np.exp(fitted))


def _windows(lines: int, reach: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the indices (lines, span) of each fit's lines and their tricube weights."""
    offsets = np.arange(-reach, reach + 1)
    index = np.arange(lines)[:, np.newaxis] + offsets
    weight = np.where((index >= 0) & (index < lines), 1.0, 0.0)
    weight = weight * (1.0 - np.abs(offsets / (reach + 1.0)) ** 3) ** 3
    return np.clip(index, 0, lines - 1), weight


def _fit(
    logs: NDArray[np.float64],
    trust: NDArray[np.float64],
    index: NDArray[np.int64],
    weight: NDArray[np.float64],
) -> NDArray[np.float64]:
    reach = (weight.shape[1] - 1) // 2
    place = np.arange(-reach, reach + 1) / max(reach, 1)
    basis = np.stack([np.ones_like(place), place, place**2], axis=1)
    weighted = weight * trust[index]
    normal = np.einsum("ks,si,sj->kij", weighted, basis, basis)
    right = np.einsum("ks,si->ki", weighted * logs[index], basis)
    normal += 1e-6 * np.eye(3)
    return np.asarray(np.linalg.solve(normal, right[..., np.newaxis])[:, 0, 0])


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
    lowest = _LOWEST_SHARE * float(smoothed(power, _LOWEST_WIDTH)[near].min())
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
