"""p values adjusted for multiple tests."""

from collections.abc import Callable
from functools import partial

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]


def holm(p: npt.ArrayLike) -> Matrix:
    """Adjust so that the chance of any false claim stays below the level.

    Parameters
    ----------
    p
        Shape (tests,); NaN is no test: dropped before counting, and NaN in the result.

    References
    ----------
    Holm S (1979) Scandinavian Journal of Statistics 6:65-70; R ``p.adjust(p, "holm")``.
    """
    return _known(p, _holm)


def benjamini_hochberg(p: npt.ArrayLike) -> Matrix:
    """Adjust so that the expected share of false claims among the claims stays below the level.

    Parameters
    ----------
    p
        As for `holm`.

    References
    ----------
    Benjamini Y, Hochberg Y (1995) JRSS B 57:289-300; R ``p.adjust(p, "BH")``.
    """
    return _known(p, partial(_step_up, share=1.0))


def _known(p: npt.ArrayLike, adjust: Callable[[Matrix], Matrix]) -> Matrix:
    values = np.asarray(p, dtype=np.float64)
    result = np.full(values.shape, np.nan)
    known = ~np.isnan(values)
    if known.any():
        result[known] = adjust(values[known])
    return result


def _back(ordered: Matrix, order: npt.NDArray[np.intp]) -> Matrix:
    result = np.empty_like(ordered)
    result[order] = np.minimum(ordered, 1.0)
    return result


def _holm(p: Matrix) -> Matrix:
    order = np.argsort(p, kind="stable")
    return _back(np.maximum.accumulate(p[order] * np.arange(p.size, 0, -1)), order)


def _step_up(p: Matrix, share: float) -> Matrix:
    order = np.argsort(p, kind="stable")
    raised = p[order] * share * p.size / np.arange(1, p.size + 1)
    return _back(np.minimum.accumulate(raised[::-1])[::-1], order)
