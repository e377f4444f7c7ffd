"""How long each evaluator takes over a pair."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.missing import ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class PairPace:
    """The usual time for a pair.

    Attributes
    ----------
    pairs
        Timed pairs, shape (evaluators,).
    median_s
        Median seconds per pair, shape (evaluators,); NaN for an evaluator without a timed pair.
    median_hearings
        Median of how often both sides could have been heard in that time, shape (evaluators,).
    timed_evaluators
        Evaluators with enough timed pairs to speak for the panel.
    panel_median_s
        Median of their medians, so that nobody counts more for being further on; NaN without any.
    """

    pairs: Codes
    median_s: Matrix
    median_hearings: Matrix
    timed_evaluators: int
    panel_median_s: float


def pair_pace(
    seconds: Matrix,
    both_sides_s: Matrix,
    evaluator: Codes,
    evaluators: int,
    fewest_pairs: int = 1,
) -> PairPace:
    """Return each evaluator's usual time for a pair, and the panel's.

    Parameters
    ----------
    seconds
        Time spent on each pair, shape (pairs,); NaN is missing and passed over.
    both_sides_s
        Length of the clips of its two sides together, in seconds, shape (pairs,).
    evaluator
        Whose pair it is, numbered from 0, shape (pairs,).
    fewest_pairs
        Timed pairs from which an evaluator speaks for the panel.

    Notes
    -----
    A median, so that a pause does not count. The same as pandas ``groupby(...).median()``.
    Evaluators are comparable when they rated the same conditions: a pair with more attributes, or
    longer clips, takes longer.
    """
    known = ~np.isnan(seconds)
    who = evaluator[known]
    pairs = np.bincount(who, minlength=evaluators)
    median_s = _median_per_evaluator(seconds[known], who, pairs)
    speaks = pairs >= max(fewest_pairs, 1)
    return PairPace(
        pairs=pairs,
        median_s=median_s,
        median_hearings=_median_per_evaluator(
            ratio(seconds[known], both_sides_s[known]), who, pairs
        ),
        timed_evaluators=int(speaks.sum()),
        panel_median_s=float(np.median(median_s[speaks])) if speaks.any() else float("nan"),
    )


def _median_per_evaluator(values: Matrix, evaluator: Codes, counts: Codes) -> Matrix:
    in_order = values[np.lexsort((values, evaluator))]
    first = np.cumsum(counts) - counts
    medians = np.full(counts.size, np.nan)
    has_any = counts > 0
    below = first[has_any] + (counts[has_any] - 1) // 2
    above = first[has_any] + counts[has_any] // 2
    medians[has_any] = (in_order[below] + in_order[above]) / 2
    return medians
