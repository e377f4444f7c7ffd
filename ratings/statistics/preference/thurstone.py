"""How far apart are the sets, in units of what a listener scatters: Thurstone's Case V."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.binomial_fit import fit_binomial
from ratings.statistics.preference.pair_counts import FIRST, SECOND, PairCounts
from ratings.statistics.preference.pair_links import (
    one_sided_outcome,
    reason_against_scale,
    separating_direction,
)
from ratings.statistics.preference.worth import ChiSquareTest, chi_square_test

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ThurstoneScale:
    """Place of each set; everything is None when it is undefined, and `reason` says why.

    Attributes
    ----------
    place, se
        Shape (sets,), set 0 fixed at 0; the unit is the standard deviation of the difference of
        two sets as heard.
    fit
        Deviance from the model that fits every pair by itself.
    left_out
        Answers "no difference", which this model does not know.
    """

    place: Matrix | None = None
    se: Matrix | None = None
    fit: ChiSquareTest | None = None
    left_out: int = 0
    reason: str = ""


def thurstone_case_five(pairs: PairCounts) -> ThurstoneScale:
    """Fit places by maximum likelihood.

    Notes
    -----
    The chance of i over j is the normal distribution at the difference of their places. Unlike
    the mean of normal quantiles it needs no filling of pairs that all decided alike. The same as
    R ``glm(binomial(probit))`` on a +1/-1 design; orders are taken together, and "no difference"
    is left out.

    References
    ----------
    Thurstone LL (1927) Psychological Review 34:273-286.
    """
    left_out = int(pairs.counts[:, 2].sum())
    cells = pairs.without_order().decided()
    reason = reason_against_scale(cells)
    if reason:
        return ThurstoneScale(left_out=left_out, reason=reason)
    design = np.zeros((len(cells.first), 2, cells.sets))
    cell = np.arange(len(cells.first))
    design[cell, FIRST, cells.first] = 1.0
    design[cell, SECOND, cells.second] = 1.0
    design, counts = design[:, :, 1:], cells.counts[:, :2]
    if separating_direction(design, counts) is not None:
        reason = one_sided_outcome(design, counts, cells.wins())[0]
        return ThurstoneScale(left_out=left_out, reason=reason)
    between = design[:, FIRST] - design[:, SECOND]
    fitted = fit_binomial(between, counts[:, FIRST], counts.sum(axis=1), "probit")
    return ThurstoneScale(
        place=np.concatenate([[0.0], fitted.coefficients]),
        se=np.concatenate([[0.0], fitted.se]),
        fit=chi_square_test(fitted.deviance, len(cells.first) - cells.sets + 1),
        left_out=left_out,
    )
