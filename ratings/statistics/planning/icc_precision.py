"""How closely will this panel pin down an intraclass correlation? The interval to expect."""

from dataclasses import dataclass

from ratings.statistics.distributions import f_quantile


@dataclass(frozen=True, slots=True)
class IccPrecision:
    """The 95 % interval to expect, for one evaluator and for the panel's mean."""

    value: float
    lower: float
    upper: float
    mean_value: float
    mean_lower: float
    mean_upper: float


def icc_precision(value: float, sets: int, evaluators: int) -> IccPrecision | None:
    """Return the interval that a complete table would give if ICC(C,1) came out at `value`.

    Parameters
    ----------
    value
        From 0 up to, not including, 1.
    sets, evaluators
        Two or more of each.

    Returns
    -------
    IccPrecision or None
        None outside these limits.

    Notes
    -----
    The exact interval of the consistency forms; for absolute agreement it is a little wider. The
    number of sets sets a limit that no number of evaluators passes.

    References
    ----------
    McGraw KO, Wong SP (1996) Psychological Methods 1:30-46, table 7 (from memory).
    """
    if sets < 2 or evaluators < 2 or not 0 <= value < 1:
        return None
    df1, df2 = sets - 1, (sets - 1) * (evaluators - 1)
    f = (1 + (evaluators - 1) * value) / (1 - value)
    low, high = f / f_quantile(0.975, df1, df2), f * f_quantile(0.975, df2, df1)
    one = [(ratio - 1) / (ratio + evaluators - 1) for ratio in (low, high)]
    mean = [1 - 1 / ratio for ratio in (f, low, high)]
    return IccPrecision(value, one[0], one[1], mean[0], mean[1], mean[2])
