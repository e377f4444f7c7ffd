"""p values adjusted for having asked several questions."""

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


def benjamini_yekutieli(p: npt.ArrayLike) -> Matrix:
    """Do as `benjamini_hochberg`, whatever the tests depend on; R ``p.adjust(p, "BY")``."""
    number = np.isfinite(np.asarray(p, dtype=np.float64)).sum()
    return _known(p, partial(_step_up, share=float((1 / np.arange(1, number + 1)).sum())))


def bonferroni(p: npt.ArrayLike) -> Matrix:
    """Multiply by the number of tests; R ``p.adjust(p, "bonferroni")``."""
    return _known(p, lambda known: np.minimum(known * known.size, 1.0))


def hochberg(p: npt.ArrayLike) -> Matrix:
    """Step up with Holm's factors, for independent tests; R ``p.adjust(p, "hochberg")``."""
    return _known(p, _hochberg)


def hommel(p: npt.ArrayLike) -> Matrix:
    """Close Simes' test, for independent tests.

    References
    ----------
    Hommel G (1988) Biometrika 75:383-386; Wright SP (1992) Biometrics 48:1005-1013;
    R ``p.adjust(p, "hommel")``.
    """
    return _known(p, _hommel)


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


def _hochberg(p: Matrix) -> Matrix:
    order = np.argsort(p, kind="stable")
    raised = p[order] * np.arange(p.size, 0, -1)
    return _back(np.minimum.accumulate(raised[::-1])[::-1], order)


def _hommel(p: Matrix) -> Matrix:
    order = np.argsort(p, kind="stable")
    ordered, number = p[order], p.size
    adjusted = ordered.copy()
    for size in range(number, 1, -1):
        # Simes' p of the largest tests, and what is left for the smaller ones.
        largest = ordered[number - size + 1 :]
        simes = float((size * largest / np.arange(2, size + 1)).min())
        adjusted[number - size + 1 :] = np.maximum(adjusted[number - size + 1 :], simes)
        smaller = ordered[: number - size + 1]
        adjusted[: number - size + 1] = np.maximum(
            adjusted[: number - size + 1], np.minimum(simes, size * smaller)
        )
    return _back(adjusted, order)
