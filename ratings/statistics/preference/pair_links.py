"""Whether choices can be put on one scale: links between the sets, one-sided outcomes."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.preference.pair_counts import NONE, PairCounts

Matrix = npt.NDArray[np.float64]


def linked_groups(pairs: PairCounts) -> npt.NDArray[np.intp]:
    """Give a number to each group of sets that were compared, directly or by way of others.

    Returns
    -------
    numpy.ndarray
        Group of each set, shape (sets,); all 0 when every set is linked with every other.
    """
    group = np.arange(pairs.sets)
    for first, second in zip(pairs.first, pairs.second, strict=True):
        one, other = sorted((group[first], group[second]))
        group[group == other] = one
    return np.asarray(np.unique(group, return_inverse=True)[1], dtype=np.intp)


def endless_direction(
    design: Matrix, counts: Matrix, possible: npt.NDArray[np.bool_] | None = None
) -> Matrix | None:
    """Find the direction in which the likelihood grows without end, when there is one.

    Parameters
    ----------
    design
        What each parameter adds to the log of each outcome's chance, shape
        (pairs, outcomes, parameters).
    counts
        How often each outcome was observed, shape (pairs, outcomes).
    possible
        Outcomes that have a chance at all, the observed ones among them; None for all.

    Returns
    -------
    numpy.ndarray or None
        Shape (parameters,), at most 1 in size; None when the maximum is finite. Along it every
        observed outcome becomes more likely, or stays, against every other.

    References
    ----------
    Albert A, Anderson JA (1984) Biometrika 71:1-10 (separation; from memory); for pairs the
    condition that the winners' graph is strongly connected: Ford LR (1957) Amer. Math. Monthly
    64(8):28-33 (from memory).
    """
    from scipy.optimize import linprog

    if not design.shape[2]:
        return None
    gains = design[:, :, None, :] - design[:, None, :, :]
    seen = np.broadcast_to((counts > 0)[:, :, None], gains.shape[:3])
    if possible is not None:
        seen = seen & possible[:, None, :]
    rows = gains[seen].reshape(-1, design.shape[2])
    rows = np.unique(rows[rows.any(axis=1)], axis=0)
    if not rows.size:
        return None
    found = linprog(-rows.sum(axis=0), A_ub=-rows, b_ub=np.zeros(len(rows)), bounds=(-1, 1))
    direction = np.array(found.x, dtype=np.float64).round(9)
    return direction if float((rows @ direction).sum()) > 1e-7 else None


def reason_against_scale(pairs: PairCounts) -> str:
    """Say why these choices cannot be put on one scale; empty when nothing speaks against it."""
    if pairs.sets < 2:
        return "One set cannot be compared with itself."
    if not pairs.counts.any():
        return "There are no choices."
    if linked_groups(pairs).any():
        return "Some sets were never compared with the others, not even by way of a third."
    if not pairs.counts[:, :NONE].any():
        return 'Every answer was "no difference".'
    return ""


def one_sided_outcome(
    design: Matrix, counts: Matrix, sets: int
) -> tuple[str, tuple[int, ...], tuple[int, ...]]:
    """Say in words why the likelihood has no maximum.

    Parameters
    ----------
    design, counts
        As for `endless_direction`, without the order effect; the first parameters are the worths
        of sets 1 and on.

    Returns
    -------
    tuple
        The reason, the sets at the top and the sets at the bottom; without sets when the place
        has to do with it.
    """
    direction = endless_direction(design, counts)
    if direction is None:
        return "The place, first or second, decided too much for a finite worth.", (), ()
    growth = np.concatenate([[0.0], direction[: sets - 1]])
    top = tuple(int(one) for one in np.flatnonzero(growth == growth.max()))
    bottom = tuple(int(one) for one in np.flatnonzero(growth == growth.min()))
    return "Sets were never passed over for others, so that no finite worth fits.", top, bottom
