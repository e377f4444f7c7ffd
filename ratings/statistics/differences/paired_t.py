"""One set beside the control by Student's t: difference and equivalence."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail

#: An own standard error above the common one by this factor is taken for more scatter: small panels
#: exceed less by chance, and would pay for it in power (our judgement).
MORE = 1.2


class OwnMean(NamedTuple):
    """Mean of the evaluators' differences with its standard error and degrees of freedom."""

    mean: float
    se: float
    df: float

    @property
    def p(self) -> float:
        """Two-sided p of no difference, `scipy.stats.ttest_1samp`."""
        return f_upper_tail((self.mean / self.se) ** 2, 1.0, self.df)

    def equivalent_p(self, margin: float) -> float:
        """Return the p of a difference of `margin` points or more."""
        return equivalence_p(self.mean, self.se, self.df, margin)


def own_mean_if_wider(differences: npt.NDArray[np.float64], common_se: float) -> OwnMean | None:
    """Judge a set by its own differences where these scatter more than a common error allows for.

    Parameters
    ----------
    differences
        One mean difference per evaluator, in score points, shape (evaluators,); NaN is left out.
    common_se
        Standard error of the mean difference by the scatter of all sets.

    Returns
    -------
    OwnMean or None
        None where they scatter about as much or less, and below two evaluators.

    Notes
    -----
    The common error is the sharper judge where sets scatter alike. Beside a set, or a control, that
    scatters more it is too small: with a control of four times the others' scatter 13 % of null
    panels of eight were claimed.
    """
    values = differences[~np.isnan(differences)]
    if values.size < 2:
        return None
    se = float(values.std(ddof=1)) / values.size**0.5
    return OwnMean(float(values.mean()), se, values.size - 1.0) if se > MORE * common_se else None


def equivalence_p(difference: float, se: float, df: float, margin: float) -> float:
    """Return the p of two one-sided tests that the difference is smaller than a margin.

    Parameters
    ----------
    difference, se
        Estimate and its standard error, in score points.
    df
        Degrees of freedom of the standard error.
    margin
        In score points, positive: a smaller difference does not matter. Set before listening.

    Returns
    -------
    float
        The larger of both one-sided p; below 0.05 exactly when the 90 % interval lies inside the
        margin on both sides. A large p does not say that there is a difference.

    References
    ----------
    Schuirmann DJ (1987) Journal of Pharmacokinetics and Biopharmaceutics 15:657-680;
    R ``emmeans::test(side = "equivalence", delta = margin)``.
    """
    from scipy.special import stdtr

    if se <= 0:
        return 0.0 if abs(difference) < margin else 1.0
    return float(stdtr(df, (abs(difference) - margin) / se))
