"""Critical bands around a tone, and the power that a spectrum has in them."""

from typing import Final

import numpy as np
import numpy.typing as npt

TRUNCATED_BELOW_HZ: Final = 171.4
"""Below this the band under a tone's own begins at 20 Hz and is narrower than 100 Hz."""

_LOWEST_HZ: Final = 20.0


def critical_bandwidth_hz(frequency_hz: float) -> float:
    """Return the width of the critical band centred at a tone (ECMA-418-1, clause on TNR)."""
    return float(25 + 75 * (1 + 1.4 * (frequency_hz / 1000) ** 2) ** 0.69)


def critical_band_hz(frequency_hz: float) -> tuple[float, float]:
    """Return the edges of the critical band: centred up to 500 Hz, at equal ratios above."""
    width = critical_bandwidth_hz(frequency_hz)
    if frequency_hz <= 500:
        low = frequency_hz - width / 2
    else:
        low = float(np.hypot(width / 2, frequency_hz)) - width / 2
    return low, low + width


def lower_band_hz(frequency_hz: float) -> tuple[float, float]:
    """Return the edges of the band that ends where the tone's own begins."""
    high, _ = critical_band_hz(frequency_hz)
    if frequency_hz < TRUNCATED_BELOW_HZ:
        return _LOWEST_HZ, high
    if frequency_hz <= 1600:
        return -149.5 + 1.001 * frequency_hz - 6.90e-5 * frequency_hz**2, high
    return 6.8 + 0.806 * frequency_hz - 8.20e-6 * frequency_hz**2, high


def upper_band_hz(frequency_hz: float) -> tuple[float, float]:
    """Return the edges of the band that begins where the tone's own ends."""
    _, low = critical_band_hz(frequency_hz)
    if frequency_hz <= 1600:
        return low, 149.5 + 1.035 * frequency_hz + 7.70e-5 * frequency_hz**2
    return low, 3.3 + 1.215 * frequency_hz + 2.16e-5 * frequency_hz**2


def proximity_hz(frequency_hz: float) -> float:
    """Return how near a second tone in the band must be to be heard as one with the first."""
    if frequency_hz >= 1000:
        return critical_bandwidth_hz(frequency_hz) / 2
    return float(21 * 10 ** (1.2 * abs(np.log10(frequency_hz / 212)) ** 1.8))


def sum_between(
    lines: npt.NDArray[np.float64], resolution_hz: float, low_hz: float, high_hz: float
) -> float:
    """Return the sum of lines between two frequencies; one that an edge cuts counts in part.

    Parameters
    ----------
    lines
        Shape (lines,), the first at 0 Hz, each as wide as the resolution.
    """
    # In widths of a line, counted from the lower edge of the first.
    low = max(low_hz / resolution_hz + 0.5, 0.0)
    high = min(high_hz / resolution_hz + 0.5, float(len(lines)))
    first, last = int(low), min(int(high), len(lines) - 1)
    if first >= last:
        return float(lines[last] * max(high - low, 0.0))
    inner = float(lines[first + 1 : last].sum())
    return inner + float(lines[first] * (first + 1 - low) + lines[last] * (high - last))
