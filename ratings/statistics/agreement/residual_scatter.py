"""How far each evaluator's scores lie from that evaluator's own means of set and condition."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class ResidualScatter:
    """Residuals of each evaluator's own fit, each of shape (attributes, evaluators).

    Attributes
    ----------
    squares
        Sum of squared residuals, in squared score points.
    df
        Residual degrees of freedom; 0 where a set and a condition fit every score.
    worst
        By how much the sum falls when the one score that takes most from it is left out.
    """

    squares: Matrix
    df: Matrix
    worst: Matrix

    @property
    def mean_square(self) -> Matrix:
        """Variance per evaluator and attribute; NaN without degrees of freedom."""
        return ratio(self.squares, self.df)

    def on(self, part: slice | Codes) -> "ResidualScatter":
        """Keep some attributes."""
        return ResidualScatter(self.squares[part], self.df[part], self.worst[part])


def residual_scatter(
    scores: Matrix, belongs: tuple[Codes, Codes, Codes, Codes], shape: tuple[int, int, int]
) -> ResidualScatter:
    """Fit set and condition to each evaluator's scores of each attribute, by least squares.

    Parameters
    ----------
    scores
        Shape (scores,), no NaN.
    belongs
        Attribute, evaluator, set and condition of each score, numbered from 0.
    shape
        Number of attributes, evaluators and conditions.

    Notes
    -----
    An evaluator's opinion of a set or a condition is not scatter; repeats are, and what remains of
    a set from condition to condition. The sum without one score falls by
    e^2 / (1 - leverage), as in R ``rstudent`` (Cook RD, Weisberg S 1982, Residuals and Influence in
    Regression, 2.2.1).
    """
    attribute, evaluator, set_, condition = belongs
    group = attribute * shape[1] + evaluator
    place = set_ * shape[2] + condition
    order = np.argsort(group * (int(place.max(initial=0)) + 1) + place, kind="stable")
    group, place, values = group[order], place[order], scores[order]
    starts = np.flatnonzero(np.diff(group, prepend=-1))
    squares, df, worst = (np.zeros(shape[0] * shape[1]) for _ in range(3))
    # Whoever rated the same things as often has the same design: one decomposition for all.
    alike: dict[bytes, list[int]] = {}
    ends = [*starts[1:].tolist(), group.size]
    for start, end in zip(starts.tolist(), ends, strict=True):
        alike.setdefault(place[start:end].tobytes(), []).append(start)
    for key, firsts in alike.items():
        places = np.frombuffer(key, dtype=place.dtype)
        rows = np.array(firsts)[None, :] + np.arange(places.size)[:, None]
        which = group[np.array(firsts)]
        residuals, free, rank = _residuals(values[rows], *np.divmod(places, shape[2]))
        squares[which] = np.square(residuals).sum(axis=0)
        df[which] = places.size - rank
        dropped = ratio(np.square(residuals), np.where(free > 1e-9, free, 0.0)[:, None])
        worst[which] = np.nan_to_num(dropped).max(axis=0, initial=0.0)
    squares[squares < 1e-18] = 0.0
    squares, df, worst = (values.reshape(shape[:2]) for values in (squares, df, worst))
    return ResidualScatter(squares, df, worst)


def _residuals(values: Matrix, sets: Codes, conditions: Codes) -> tuple[Matrix, Matrix, int]:
    """Return residuals, one minus leverage, and rank of a fit of set and condition."""
    columns = [sets[:, None] == np.unique(sets)]
    if np.unique(conditions).size > 1:
        columns.append(conditions[:, None] == np.unique(conditions))
    design = np.concatenate(columns, axis=1).astype(np.float64)
    left, size, _ = np.linalg.svd(design, full_matrices=False)
    basis = left[:, size > 1e-9 * size[0]]
    residuals = values - basis @ (basis.T @ values)
    return residuals, 1.0 - np.square(basis).sum(axis=1), basis.shape[1]
