"""The smooth course of a spectrum under its narrow lines."""

import numpy as np
from numpy.typing import NDArray

#: Half the span of one local fit. Wide enough to reach past a pair of lines, narrow enough for a
#: parabola to follow resonances of the body, 20 to 50 Hz wide.
HALF_SPAN_HZ = 40.0
_ROUNDS = 6
#: Scatter of the logarithm of one line, in nepers of power, beyond which it counts less.
_TUNING = 1.5


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
