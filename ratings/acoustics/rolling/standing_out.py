"""How far a line must exceed the background to be more than scatter of an averaged spectrum."""

import numpy as np
from numpy.typing import NDArray

#: Correlation of the power in a line with that in the lines beside it, Hann window: the squared
#: correlations 2/3 and 1/6 of the amplitudes (Harris 1978, Proc. IEEE 66, 51-83).
_HANN_NEIGHBOURS = (4.0 / 9.0, 1.0 / 36.0)


def smoothed(ratio: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Return the mean over `width` (odd) neighbouring lines, shape kept, ends repeated."""
    if width == 1:
        return ratio
    padded = np.pad(ratio, width // 2, mode="edge")
    return np.asarray(np.convolve(padded, np.full(width, 1.0 / width), mode="valid"))


def beside(ratio: NDArray[np.float64], nearest: int, farthest: int) -> NDArray[np.float64]:
    """Return the mean of the lines that lie so far to either side, at least 1, shape kept."""
    padded = np.pad(ratio, farthest, mode="edge")
    stretch = np.full(farthest - nearest + 1, 1.0 / (farthest - nearest + 1))
    below = np.convolve(padded, stretch, mode="valid")
    above = below[nearest + farthest :]
    return np.maximum((below[: ratio.size] + above[: ratio.size]) / 2.0, 1.0)


def noise_limit(averages: float, width: int, lines: int, chance: float) -> float:
    """Return the ratio to the background that pure noise exceeds anywhere with a given chance.

    Parameters
    ----------
    averages
        Equivalent number of independent spectra averaged.
    width
        Neighbouring lines joined by their mean.
    lines
        How many are looked at.
    chance
        Of one exceedance or more among them, 0 to 1.

    Notes
    -----
    An average of n spectra of Gaussian noise is distributed as chi-square with 2n degrees of
    freedom over 2n (Bendat and Piersol, Random Data, chapter 8; from memory); joining neighbours
    adds degrees of freedom, allowing for the Hann window's correlation. The limit is Bonferroni's,
    which holds whatever the dependence.
    """
    from scipy.special import gammaincinv

    inflation = 1.0
    for lag, squared in enumerate(_HANN_NEIGHBOURS, start=1):
        inflation += 2.0 * max(0.0, 1.0 - lag / width) * squared
    independent = averages * width / inflation
    return float(gammaincinv(independent, 1.0 - chance / lines) / independent)


def crest_limit(*stretches: NDArray[np.float64]) -> float:
    """Return how high the crests of stretches without lines are, as a ratio to the background.

    Parameters
    ----------
    stretches
        Each of shape (lines,): power over its background.

    Notes
    -----
    Road noise is not smooth: two axles over the same bumps comb it, resonances overlap. The limit
    is the height, in dB, below which nine of ten crests stay; with fewer than eight crests it is 1.
    """
    crests = np.concatenate([_crests(ratio) for ratio in stretches])
    return float(np.quantile(crests, 0.9)) if crests.size >= 8 else 1.0


def _crests(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    inner = ratio[1:-1]
    return inner[(inner > ratio[:-2]) & (inner >= ratio[2:])]
