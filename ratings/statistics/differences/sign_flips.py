"""Exact permutation test of a mean difference: every evaluator's sign could have been the other."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.ranks import AVERAGE_DECIMALS

#: With more differences half of the signs are too many to list.
MOST_DIFFERENCES = 30


def sign_flip_p(differences: npt.NDArray[np.float64]) -> float | None:
    """Test whether the mean difference is zero, without belief in any distribution.

    Parameters
    ----------
    differences
        One mean difference per evaluator, in score points, shape (evaluators,); NaN is left out.

    Returns
    -------
    float or None
        Two-sided: the share of all sign changes whose mean is at least as far from zero. None for
        no differences, or more than `MOST_DIFFERENCES`, where Student's t says the same.

    Notes
    -----
    The evaluators are split in halves; all sums of one half are looked up among the sorted sums of
    the other, so that 2^n sign changes cost 2^(n/2).

    References
    ----------
    Fisher RA (1935) The Design of Experiments, section 21 (from memory).
    """
    values = np.asarray(differences, dtype=np.float64)
    values = np.abs(np.round(values[~np.isnan(values)], AVERAGE_DECIMALS))
    # Only the sum matters, and a zero has no sign.
    total = abs(float(np.nansum(np.round(differences, AVERAGE_DECIMALS))))
    counted = values[values > 0]
    if not values.size or counted.size > MOST_DIFFERENCES:
        return None
    half = counted.size // 2
    first, second = _sums(counted[:half]), np.sort(_sums(counted[half:]))
    # A sum as large as the one found must count in spite of rounding.
    least = total - 10.0**-AVERAGE_DECIMALS * (1 + counted.size)
    if least <= 0:
        return 1.0
    above = second.size - np.searchsorted(second, least - first, side="left")
    return min(1.0, 2 * float(above.sum()) / (first.size * second.size))


def _sums(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    sums = np.zeros(1)
    for value in values:
        sums = np.concatenate([sums - value, sums + value])
    return sums
