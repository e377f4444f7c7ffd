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


def separating_direction(
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
    design: Matrix, counts: Matrix, wins: Matrix
) -> tuple[str, tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """Say in words why the likelihood has no maximum.

    Parameters
    ----------
    design, counts
        As for `separating_direction`, without the order effect.
    wins
        How often the row was chosen over the column, shape (sets, sets).

    Returns
    -------
    tuple
        The reason, the sets at the top, the sets at the bottom, and all in one order if every
        decision agrees with it; without sets when the place has to do with it.
    """
    if separating_direction(design, counts) is None:
        return "The place, first or second, decided too much for a finite worth.", (), (), ()
    reason = "Sets were never passed over for others, so that no finite worth fits."
    return reason, *never_passed_over(wins)


def never_passed_over(
    wins: Matrix,
) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """Find the sets that lost to none, and that won over none, of those outside their circle.

    Parameters
    ----------
    wins
        How often the row was chosen over the column, shape (sets, sets).

    Returns
    -------
    tuple
        The sets at the top, the sets at the bottom, and all sets in one order if each was decided
        over the next and none passed over for one behind it; each empty where there are none.

    Notes
    -----
    Sets chosen over one another, directly or by way of others, stand together: they are the
    strongly connected components of the graph of decisions. "No difference" is no decision.
    """
    from scipy.sparse.csgraph import connected_components

    over = wins > 0
    circle = connected_components(over.astype(np.float64), directed=True, connection="strong")[1]
    outside = circle[:, None] != circle
    won, lost = (over & outside).any(axis=1), (over & outside).any(axis=0)
    members = circle[:, None] == circle
    won, lost = members @ won, members @ lost
    top, bottom = np.flatnonzero(won & ~lost), np.flatnonzero(lost & ~won)
    # Alone in their circles, sets stand in one order if each was decided over the next.
    order: list[int] = []
    if circle.max() + 1 == len(wins):
        ahead = over
        for _ in range(len(wins).bit_length()):
            ahead = ahead | (ahead @ ahead)
        order = np.argsort(ahead.sum(axis=0), kind="stable").tolist()
        if not over[order[:-1], order[1:]].all():
            order = []
    return tuple(top.tolist()), tuple(bottom.tolist()), tuple(order)
