"""Differences of sets in a table that every evaluator filled alike: exact, without a fit."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.cells import Cells
from ratings.statistics.distributions import f_upper_tail, t_quantile
from ratings.statistics.mixed_models.mean_squares import complete_strata
from ratings.statistics.mixed_models.mixed_tests import Contrasts

Matrix = npt.NDArray[np.float64]

#: Mean squares below this part of the scores' own size are rounding.
_NONE = 1e-18


def balanced_contrasts(
    cells: Cells, control: int | None, rounding: float = 0.0
) -> Contrasts | None:
    """Compare every set with the control by the mean squares of evaluators and sets.

    Parameters
    ----------
    cells, control
        As for `ratings.statistics.differences.set_comparison.compare_sets`.
    rounding
        Variance of a value that its steps alone make, in squared score points: it stands for the
        scatter where evaluators do not disagree at all.

    Returns
    -------
    Contrasts or None
        In the order of the sets without the control. None with holes or unequal repeats, fewer
        than two evaluators, or no disagreement and no `rounding`.

    Notes
    -----
    Away from the boundary these are the mixed model's estimates, standard errors and degrees of
    freedom with Kenward and Roger's method. Where restricted maximum likelihood finds a variance
    of zero it pools what the evaluators disagree about with how well they repeat themselves; that
    is liberal on the tables on which it happens and conservative over all
    (``tests/benchmarks/false_claims.py``). The mean squares do not pool.

    With a control, differences have twice the interaction's mean square (Snedecor GW, Cochran WG
    (1989) Statistical Methods, 8th ed., 16.3; from memory). Differences within pairs already hold
    the evaluator's view of the control: a set's mean has the evaluators' mean square in it too,
    with Satterthwaite's degrees of freedom.
    """
    strata = complete_strata(cells)
    if strata is None:
        return None
    means, one = strata.means, strata.number
    evaluators, sets = means.shape
    of_set, of_evaluator = means.mean(axis=0), means.mean(axis=1)
    between = one * sets * float(np.square(of_evaluator - means.mean()).sum()) / (evaluators - 1)
    df = float((sets - 1) * (evaluators - 1))
    within = one * float(np.square(strata.left).sum()) / df if sets > 1 else 0.0
    least = _NONE * max(1.0, float(np.square(means).max()))
    if between + within <= least:
        between = within = rounding
    if control is not None:
        within = within if within > least else rounding
        if sets < 2 or within <= least:
            return None
        others = np.delete(np.arange(sets), control)
        variance = 2 * within / (evaluators * one)
        return _contrasts(of_set[others] - of_set[control], variance, df, 0.5)
    # A set's mean: the evaluators' mean square once, the interaction's for the other sets.
    total = between + (sets - 1) * within
    if total <= least:
        return None
    spread = between**2 / (evaluators - 1) + ((sets - 1) * within) ** 2 / max(df, 1.0)
    variance = total / (sets * evaluators * one)
    return _contrasts(of_set, variance, total**2 / spread, (between - within) / total)


def _contrasts(estimate: Matrix, variance: float, df: float, correlation: float) -> Contrasts:
    count = len(estimate)
    se = np.full(count, np.sqrt(variance))
    half = t_quantile(0.975, df) * se
    t = estimate / se
    return Contrasts(
        estimate=estimate,
        se=se,
        df=np.full(count, df),
        t=t,
        p=np.array([f_upper_tail(float(value) ** 2, 1.0, df) for value in t]),
        lower=estimate - half,
        upper=estimate + half,
        correlation=np.where(np.eye(count, dtype=np.bool_), 1.0, correlation),
    )
