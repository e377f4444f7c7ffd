"""Do the sets differ when every evaluator heard only some of them? Durbin's rank test."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import chi_square_upper_tail, f_upper_tail
from ratings.statistics.mixed_models.mixed_tests import FTest
from ratings.statistics.ranks import doubled_ranks

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DurbinTest:
    """Durbin's test for a balanced incomplete design.

    Attributes
    ----------
    chi_square, df, p_chi_square
        Durbin's T1 with its approximate p.
    f
        Conover's T2, closer to the level; f is infinite where the ranks agree completely.
    concordance
        Kendall's W for incomplete rankings.
    """

    chi_square: float
    df: int
    p_chi_square: float
    f: FTest
    concordance: float


def durbin_test(scores: Matrix) -> DurbinTest | None:
    """Test whether the sets differ, by ranks among those that each evaluator heard.

    Parameters
    ----------
    scores
        Shape (evaluators, sets); NaN where an evaluator did not hear a set.

    Returns
    -------
    DurbinTest or None
        None when the design is not balanced incomplete (as many sets for every evaluator, as many
        evaluators for every set, every two sets together equally often), or nobody tells the sets
        apart.

    References
    ----------
    Durbin J (1951) British Journal of Psychology 4:85-90; Conover WJ (1999) Practical
    Nonparametric Statistics, 3rd ed., pp. 388-391; R ``PMCMRplus::durbinTest``.
    """
    heard = ~np.isnan(scores)
    evaluators, sets = scores.shape
    together = heard.T.astype(np.int64) @ heard
    pairs = together[np.triu_indices(sets, 1)]
    each, rated = heard.sum(axis=1), heard.sum(axis=0)
    if min(scores.shape) < 2 or any(np.ptp(count) for count in (each, rated, pairs)):
        return None
    size, times = int(each[0]), int(rated[0])
    if size < 2:
        return None
    sums = np.zeros(sets)
    squares = 0.0
    for row, known in zip(scores, heard, strict=True):
        ranks = doubled_ranks(row[known][None])[0] / 2
        sums[known] += ranks
        squares += float(np.square(ranks).sum())
    correction = evaluators * size * (size + 1) ** 2 / 4
    if squares - correction <= 1e-12:
        return None
    apart = float(np.square(sums - times * (size + 1) / 2).sum())
    t1 = (sets - 1) * apart / (squares - correction)
    df2 = evaluators * size - evaluators - sets + 1
    left = evaluators * (size - 1) - t1
    f = t1 / (sets - 1) * df2 / left if left > 1e-9 else np.inf
    together_each = int(pairs[0])
    return DurbinTest(
        chi_square=t1,
        df=sets - 1,
        p_chi_square=chi_square_upper_tail(t1, sets - 1),
        f=FTest(float(f), sets - 1.0, float(df2), f_upper_tail(float(f), sets - 1, df2)),
        concordance=12 * apart / (together_each**2 * sets * (sets**2 - 1)),
    )
