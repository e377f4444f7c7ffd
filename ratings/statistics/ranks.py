"""Mean ranks within each evaluator, in doubled units so that ties stay whole numbers."""

import numpy as np
import numpy.typing as npt

#: Decimals that an average keeps before it is ranked. A floating-point mean breaks ties that the
#: scores had: 7.1 averaged three times is not 7.1.
AVERAGE_DECIMALS = 9


def doubled_ranks(scores: npt.NDArray[np.float64]) -> npt.NDArray[np.int64]:
    """Rank each row, ties by their mean, times two.

    Parameters
    ----------
    scores
        Shape (evaluators, sets), no NaN; rounded to 1e-9 here.

    Returns
    -------
    numpy.ndarray
        Shape (evaluators, sets). Twice R ``rank(x)`` of every row.
    """
    rounded = np.round(scores, AVERAGE_DECIMALS)
    order = np.argsort(rounded, axis=1, kind="stable")
    ascending = np.take_along_axis(rounded, order, axis=1)
    sets = scores.shape[1]
    place = np.broadcast_to(np.arange(sets), scores.shape)
    starts = np.ones(scores.shape, dtype=bool)
    starts[:, 1:] = ascending[:, 1:] != ascending[:, :-1]
    ends = np.ones(scores.shape, dtype=bool)
    ends[:, :-1] = starts[:, 1:]
    first = np.maximum.accumulate(np.where(starts, place, 0), axis=1)
    last = np.minimum.accumulate(np.where(ends, place, sets - 1)[:, ::-1], axis=1)[:, ::-1]
    ranks = np.empty(scores.shape, dtype=np.int64)
    np.put_along_axis(ranks, order, first + last + 2, axis=1)
    return ranks
