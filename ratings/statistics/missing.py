"""One way to treat what is missing: NaN goes in, is passed over, and comes out where undefined."""

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]


def ratio(above: npt.ArrayLike, below: npt.ArrayLike) -> Matrix:
    """Divide where `below` is positive; NaN elsewhere. Shapes broadcast."""
    over, under = np.asarray(above, dtype=np.float64), np.asarray(below, dtype=np.float64)
    result = np.full(np.broadcast_shapes(over.shape, under.shape), np.nan)
    np.divide(over, under, out=result, where=under > 0)
    return result


def mean_of_known(values: Matrix, axis: int) -> Matrix:
    """Average along `axis` over what is not NaN; NaN where nothing is known."""
    known = ~np.isnan(values)
    return ratio(np.where(known, values, 0.0).sum(axis=axis), known.sum(axis=axis))


def median_of_known(values: Matrix, axis: int) -> Matrix:
    """Return the median along `axis` of what is not NaN, as numpy ``nanmedian``."""
    size = values.shape[axis]
    if not size:
        return np.full(values.sum(axis=axis).shape, np.nan)
    # NaN is sorted behind everything else.
    ordered = np.sort(values, axis=axis)
    low, high = (ordered.take(place, axis=axis) for place in ((size - 1) // 2, size // 2))
    known = ~np.isnan(ordered)
    if not known.all():
        last = np.maximum(known.sum(axis=axis, keepdims=True), 1) - 1
        low, high = (
            np.take_along_axis(ordered, place, axis).squeeze(axis)
            for place in (last // 2, (last + 1) // 2)
        )
    middle: Matrix = (low + high) / 2
    return middle


def without_empty(scores: Matrix) -> Matrix:
    """Leave out rows and columns that hold nothing but NaN."""
    known = ~np.isnan(scores)
    return scores[known.any(axis=1)][:, known.any(axis=0)]


def complete_part(scores: Matrix) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Choose what to leave out of a table with holes where a method needs a complete one.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN is a missing score.

    Returns
    -------
    tuple of numpy.ndarray
        Which evaluators and which sets to keep, shapes (evaluators,) and (sets,): either every
        set and the evaluators who rated them all, or every evaluator and the sets that all of
        them rated, whichever keeps more scores for at least two evaluators and two sets. In doubt
        the sets are kept, because they are what the study is about.
    """
    known = ~np.isnan(scores)
    every_evaluator = np.ones(scores.shape[0], dtype=np.bool_)
    every_set = np.ones(scores.shape[1], dtype=np.bool_)
    full_evaluators = np.asarray(known.all(axis=1), dtype=np.bool_)
    full_sets = np.asarray(known.all(axis=0), dtype=np.bool_)
    with_all_sets = int(full_evaluators.sum()), scores.shape[1]
    with_all_evaluators = scores.shape[0], int(full_sets.sum())
    if _usable_scores(with_all_evaluators) > _usable_scores(with_all_sets):
        return every_evaluator, full_sets
    return full_evaluators, every_set


def _usable_scores(shape: tuple[int, int]) -> int:
    return shape[0] * shape[1] if min(shape) >= 2 else 0
