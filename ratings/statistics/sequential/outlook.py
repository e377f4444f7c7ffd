"""How many more evaluators would likely settle a difference, by what is known of it so far."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]

#: "Likely" (common practice for power, no source).
LIKELY = 0.8
#: Futures that are drawn; a chance of 80 % is good to 1.3 %.
_FUTURES = 1000
_SEED = 20261127
#: Evaluators that the study's usual scatter counts for beside a difference's own (our judgement).
_USUAL_WEIGHT = 4


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one difference so far.

    Attributes
    ----------
    evaluators
        Two or more.
    mean, sd
        Of their differences, in score points; `sd` above zero.
    evidence
        Logarithm of the likelihood ratio for a difference.
    least_sd
        Smallest scatter that is counted with, in score points.
    usual_sd
        Of the study's differences, in score points; None where only this one is known.
    """

    evaluators: int
    mean: float
    sd: float
    evidence: float = math.inf
    least_sd: float = 0.0
    usual_sd: float | None = None


def chance_to_settle(known: Known, clear_t: Matrix, same_t: Matrix, margin: float) -> Matrix:
    """Return the chance that a difference is settled by each of the next evaluators.

    Parameters
    ----------
    clear_t
        |t| that settles a difference after 1, 2, ... more evaluators, shape (more,).
    same_t
        Standard errors that must lie within the margin on both sides to settle that it is too
        small to matter, shape (more,).
    margin
        In score points.

    Returns
    -------
    numpy.ndarray
        Shape (more,), rising: settled at this look or at one before.

    Notes
    -----
    Neither the difference nor the scatter is known: both are drawn from what the scores so far
    leave open (normal values, prior flat in the mean and in the logarithm of the SD, so that the
    next value is a Student's t around the mean; Gelman A et al. (2013) Bayesian Data Analysis, 3rd
    ed., 3.2; from memory), and then evaluators with them. Two things are known besides: that there
    may be no difference at all, with even odds before the scores and 1 to the likelihood ratio
    after them, and how much evaluators usually scatter. Without these only half of what looked
    likely after three or four evaluators came true: among many differences those that luck favours
    look likely first. With them 86 to 92 % do (`tests/benchmarks/looks.py`). Drawn with a fixed
    seed: the same scores give the same answer.
    """
    n, more = known.evaluators, clear_t.size
    usual, weight = (0.0, 0) if known.usual_sd is None else (known.usual_sd, _USUAL_WEIGHT)
    squares = (n - 1) * known.sd**2
    drawn = _drawn(n - 1 + weight, more)
    true_sd = np.sqrt(squares + weight * usual**2) * drawn.sd
    moved_by = true_sd * drawn.mean / np.sqrt(n)
    is_none = drawn.share < 1 / (1 + math.exp(min(known.evidence, 700.0)))
    moved_by = np.where(is_none, -known.mean, moved_by)
    # Deviations from the mean so far: no digits are lost.
    values = moved_by[:, None] + true_sd[:, None] * drawn.values
    count = n + np.arange(1, more + 1)
    moved = values.cumsum(axis=1) / count
    squares = squares + np.square(values).cumsum(axis=1) - count * np.square(moved)
    se = np.sqrt(np.maximum(squares / (count - 1), known.least_sd**2) / count)
    size = np.abs(known.mean + moved)
    settled = (size >= clear_t * se) | (size + same_t * se <= margin)
    chance: Matrix = np.logical_or.accumulate(settled, axis=1).mean(axis=0)
    return chance


class _Drawn(NamedTuple):
    """Futures in units of what is known; arrays (futures,), values (futures, more)."""

    sd: Matrix
    mean: Matrix
    share: Matrix
    values: Matrix


@lru_cache(maxsize=64)
def _drawn(df: int, more: int) -> _Drawn:
    generator = np.random.default_rng(_SEED)
    return _Drawn(
        sd=1 / np.sqrt(generator.chisquare(df, _FUTURES)),
        mean=generator.standard_normal(_FUTURES),
        share=generator.random(_FUTURES),
        values=generator.standard_normal((_FUTURES, more)),
    )
