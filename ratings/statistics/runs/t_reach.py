"""Half the width of an interval by Student's t, for whole arrays."""

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]


def t_reach(standard_error: Matrix, df: Matrix, confidence: float) -> Matrix:
    """Return how far the interval reaches on either side; NaN where `df` is not above zero."""
    return standard_error * t_of(0.5 + confidence / 2, df)


def t_of(probability: float, df: Matrix) -> Matrix:
    """Return the t that stays below with `probability`; NaN where `df` is not above zero.

    The same as R ``qt``.
    """
    from scipy.special import stdtrit

    usable = np.where(df > 0, df, np.nan)
    return np.asarray(stdtrit(usable, probability), dtype=np.float64)
