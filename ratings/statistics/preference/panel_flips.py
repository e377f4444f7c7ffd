"""Whether a panel prefers any set: evaluators, not choices, could have been others."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import mean_of_known

Matrix = npt.NDArray[np.float64]

#: Up to so many evaluators all sign changes are listed, for more so many are drawn.
_MOST_LISTED, _DRAWN = 16, 20_000
_SEED = 20_310_731
#: What rounding may put below the observed value, beside the sum of all squares.
_ROUNDING = 1e-9


def panel_p(wins: Matrix) -> float | None:
    """Test whether the panel prefers any set.

    Parameters
    ----------
    wins
        How often each evaluator chose the row over the column, shape (evaluators, sets, sets).

    Returns
    -------
    float or None
        None when nobody decided anything.

    Notes
    -----
    Choices of one evaluator are correlated by his own taste: ten choices of one are not ten
    evaluators. If the panel prefers nothing, every evaluator's wins and losses could as well have
    been exchanged, all at once. The share of all such exchanges whose sum over the sets of
    (wins - losses)^2 / choices is at least as large is p: exact for up to 16 evaluators, from
    20,000 drawn ones above. Five evaluators cannot fall below 0.06, whatever they choose. The
    idea is Fisher's sign-change test (Fisher RA (1935) The Design of Experiments, section 21; from
    memory), with a vector for each evaluator.
    """
    scores = wins.sum(axis=2) - wins.sum(axis=1)
    decided = wins.any(axis=(1, 2))
    if not decided.any():
        return None
    scores, choices = scores[decided], wins.sum(axis=(0, 1)) + wins.sum(axis=(0, 2))
    return _share_of_flips(scores[:, choices > 0] / np.sqrt(choices[choices > 0]))


def pair_p(wins: Matrix, one: int, other: int) -> float | None:
    """Test whether the panel prefers one of two sets by the choices between the two alone."""
    return panel_p(wins[np.ix_(range(len(wins)), *[[one, other]] * 2)])


def condition_p(shares: Matrix) -> float | None:
    """Test whether the panel's preference depends on the condition.

    Parameters
    ----------
    shares
        By how much each evaluator chose the row more often than the column in each condition, as a
        share of his answers on the pair, shape (evaluators, conditions, sets, sets); NaN where he
        gave none.

    Returns
    -------
    float or None
        None when nobody differs from himself between conditions.

    Notes
    -----
    Each evaluator's departures from his own mean over the conditions are added up by set and
    condition. If the panel as a whole departs nowhere, his departures could as well have been
    turned round, all at once: the test is that of `panel_p` on them.
    """
    departures = np.nan_to_num(shares - mean_of_known(shares, axis=1)[:, None], nan=0.0)
    scores = departures.sum(axis=3).reshape(len(shares), -1)
    scores = scores[(np.abs(scores) > _ROUNDING).any(axis=1)]
    return _share_of_flips(scores) if len(scores) else None


def _share_of_flips(scores: Matrix) -> float:
    """Return the share of exchanges of signs, a row each, whose sum is at least as long."""
    observed = float(np.square(scores.sum(axis=0)).sum())
    signs = _signs(len(scores))
    least = observed - _ROUNDING * float(np.square(scores).sum())
    seen = np.square(signs @ scores).sum(axis=1) >= least
    if len(scores) <= _MOST_LISTED:
        return float(seen.mean())
    # What was observed is one of the exchanges too.
    return float((seen.sum() + 1) / (len(seen) + 1))


def _signs(evaluators: int) -> Matrix:
    if evaluators > _MOST_LISTED:
        rng = np.random.default_rng(_SEED)
        return rng.choice(np.array([-1.0, 1.0]), (_DRAWN, evaluators))
    # The first keeps his sign: exchanging everybody's changes nothing.
    listed = np.arange(2 ** (evaluators - 1))
    bits = (listed[:, None] >> np.arange(evaluators - 1)) & 1
    return np.column_stack([np.ones(len(listed)), 1.0 - 2.0 * bits])
