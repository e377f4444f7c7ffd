"""Tails and quantiles of the F, t and chi-square distributions, without scipy.stats' start-up."""

import math

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]


def f_upper_tail(f: float, df1: float, df2: float) -> float:
    """Return P(F >= f); the same as R ``pf(f, df1, df2, lower.tail = FALSE)``."""
    from scipy.special import fdtrc

    return 0.0 if math.isinf(f) else float(fdtrc(df1, df2, f))


def f_upper_tails(f: Matrix, df1: Matrix, df2: Matrix) -> Matrix:
    """Do as `f_upper_tail` for finite values of one shape; NaN where anything is undefined."""
    from scipy.special import fdtrc

    return np.asarray(fdtrc(df1, np.where(df2 > 0, df2, np.nan), f), dtype=np.float64)


def f_quantile(probability: float, df1: float, df2: float) -> float:
    """Return the value that F stays below with `probability`; the same as R ``qf``."""
    from scipy.special import fdtri

    return float(fdtri(df1, df2, probability))


def chi_square_upper_tail(chi_square: float, df: float) -> float:
    """Return P(chi-square >= value); the same as R ``pchisq(..., lower.tail = FALSE)``."""
    from scipy.special import chdtrc

    return float(chdtrc(df, chi_square))


def t_quantile(probability: float, df: float) -> float:
    """Return the value that Student's t stays below with `probability`; the same as R ``qt``."""
    from scipy.special import stdtrit

    return float(stdtrit(df, probability))


def t_quantiles(probability: float, df: Matrix) -> Matrix:
    """Do as `t_quantile`, element by element; NaN where `df` is not above zero."""
    from scipy.special import stdtrit

    return np.asarray(stdtrit(np.where(df > 0, df, np.nan), probability), dtype=np.float64)


def interval_half_width(standard_error: Matrix, df: Matrix, confidence: float) -> Matrix:
    """Return half the width of a confidence interval by Student's t, as `t_quantiles`."""
    return standard_error * t_quantiles(0.5 + confidence / 2, df)


def t_lower_tails(t: Matrix, df: Matrix) -> Matrix:
    """Return P(T <= t), element by element; the same as R ``pt``. NaN where undefined."""
    from scipy.special import stdtr

    return np.asarray(stdtr(np.where(df > 0, df, np.nan), t), dtype=np.float64)


def normal_quantile(probability: float) -> float:
    """Return the standard normal quantile; the same as R ``qnorm``."""
    from scipy.special import ndtri

    return float(ndtri(probability))
