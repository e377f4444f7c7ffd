"""How many of 100 decisions would fall on the better of two sets, and how surely."""

import math

from ratings.statistics.distributions import t_quantile


def share_interval(
    ahead: float, error: float, evaluators: int, choices: int, confidence: float = 0.95
) -> tuple[float, float]:
    """Return the interval of the share of decisions that falls on the set ahead.

    Parameters
    ----------
    ahead, error
        Log-odds and their standard error, as `ratings.statistics.preference.worth.Worths.lead`
        returns them.
    evaluators, choices
        How many made how many choices, of which no more can count.

    Notes
    -----
    Choices of one evaluator hang together, so that they are worth fewer: as many independent ones
    as would have this standard error, with the exact limits of a binomial share for them, and with
    t over the evaluators. Where every choice stands for itself that is the exact binomial
    interval. Korn EL, Graubard BI (1998) Survey Methodology 24:193-201 (from memory).
    """
    from scipy.special import betaincinv

    share = 1 / (1 + math.exp(-ahead))
    tail = (1 - confidence) / 2
    # The error over n evaluators is that of n - 1 choices.
    size = min(1 + 1 / (error**2 * share * (1 - share)), float(choices))
    sure = t_quantile(1 - tail, max(size - 1, 1.0)) / t_quantile(1 - tail, max(evaluators - 1, 1))
    size *= min(1.0, sure) ** 2
    won, lost = size * share, size * (1 - share)
    return float(betaincinv(won, lost + 1, tail)), float(betaincinv(won + 1, lost, 1 - tail))


def unanimous_share(evaluators: int, confidence: float = 0.95) -> float:
    """Return the least share of decisions that so many evaluators without exception prove.

    Notes
    -----
    The chance that an evaluator makes no exception is at most his share of decisions, so that the
    exact one-sided limit of the one (Clopper-Pearson) holds for the other.
    """
    return float((1 - confidence) ** (1 / evaluators))
