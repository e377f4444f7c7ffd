"""Scores put back into the pairs that they were given in."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.agreement.pair_habits import (
    SideTest,
    mean_per_evaluator,
    null_pair_error,
    repeat_pair_error,
    side_bias,
    side_test,
)
from ratings.statistics.missing import mean_of_known

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

_NULL, _REPEAT = 1, 2


@dataclass(frozen=True, slots=True)
class PairHabits:
    """Per evaluator, shape (evaluators,), NaN where there is none; see `ratings.statistics`."""

    null_pair_error: Matrix
    repeat_pair_error: Matrix
    side_bias: Matrix


@dataclass(frozen=True, slots=True)
class _Pairs:
    pair: Codes
    attribute: Codes
    evaluator: Codes
    condition: Codes
    set_a: Codes
    set_b: Codes
    role: Codes
    a_minus_b: Matrix


def pair_habits(scores: NumberedScores) -> PairHabits | None:
    """Find the errors on hidden pairs, and the side bias, in one attribute's scores.

    Returns
    -------
    PairHabits or None
        None when the table has no pairs and sides. Without roles a pair with the same set on both
        sides is a null pair; a repeat needs its role, and is matched to the pair of the same
        two sets in the same condition that is not one.
    """
    if scores.pair is None or scores.side is None:
        return None
    pairs = _pairs(scores, scores.pair, scores.side)
    evaluators = len(scores.evaluators)
    null = (pairs.role == _NULL) | (pairs.set_a == pairs.set_b)
    first, second, repeated = _repeated(pairs)
    return PairHabits(
        null_pair_error(pairs.a_minus_b[null], pairs.evaluator[null], evaluators),
        repeat_pair_error(first, second, pairs.evaluator[repeated], evaluators),
        side_bias(pairs.a_minus_b, _expected(scores, pairs), pairs.evaluator, evaluators),
    )


@dataclass(frozen=True, slots=True)
class HiddenPairs:
    """Errors on hidden pairs as variances of a single score.

    Attributes
    ----------
    squares, counts, worst
        Sum over null pairs of half the squared difference, and over repeats of a quarter of the
        squared change: each has the variance of one score. How many, and the largest. Each of shape
        (attributes, evaluators).
    null_apart, repeat_apart
        Root mean square of the difference and of the change, in score points, shape (evaluators,);
        NaN without any.
    """

    squares: Matrix
    counts: Matrix
    worst: Matrix
    null_apart: Matrix
    repeat_apart: Matrix


def hidden_pairs(scores: NumberedScores) -> HiddenPairs | None:
    """Gather the errors on hidden pairs of a whole study; None without pairs and sides."""
    if scores.pair is None or scores.side is None:
        return None
    pairs = _pairs(scores, scores.pair, scores.side)
    is_null = (pairs.role == _NULL) | (pairs.set_a == pairs.set_b)
    first, second, repeated = _repeated(pairs)
    nulls, changes = np.square(pairs.a_minus_b[is_null]), np.square(second - first)
    attribute = np.concatenate([pairs.attribute[is_null], pairs.attribute[repeated]])
    by_null, by_repeat = pairs.evaluator[is_null], pairs.evaluator[repeated]
    shape = len(scores.attributes), len(scores.evaluators)
    where = attribute, np.concatenate([by_null, by_repeat])
    values = np.concatenate([nulls / 2, changes / 4])
    squares, counts, worst = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    np.add.at(squares, where, values)
    np.add.at(counts, where, 1.0)
    np.maximum.at(worst, where, values)
    return HiddenPairs(
        squares=squares,
        counts=counts,
        worst=worst,
        null_apart=np.sqrt(mean_per_evaluator(nulls, by_null, shape[1])),
        repeat_apart=np.sqrt(mean_per_evaluator(changes, by_repeat, shape[1])),
    )


def side_of_pairs(scores: NumberedScores, least_scatter: float) -> SideTest | None:
    """Test the side bias over all attributes of a study, each pair by its mean over them.

    Returns
    -------
    SideTest or None
        None without pairs and sides. Attributes judged in one pair are one hearing of it.
    """
    if scores.pair is None or scores.side is None:
        return None
    pairs = _pairs(scores, scores.pair, scores.side)
    sets, conditions = len(scores.sets), len(scores.conditions)
    key = np.ravel_multi_index(
        (pairs.pair, pairs.evaluator, pairs.condition, pairs.set_a, pairs.set_b),
        (int(scores.pair.max(initial=0)) + 1, len(scores.evaluators), conditions, sets, sets),
    )
    _, first, hearing = np.unique(key, return_index=True, return_inverse=True)
    means = np.bincount(hearing, pairs.a_minus_b) / np.maximum(np.bincount(hearing), 1)
    return side_test(
        means,
        pairs.set_a[first],
        pairs.set_b[first],
        pairs.evaluator[first],
        len(scores.evaluators),
        least_scatter,
    )


def _pairs(scores: NumberedScores, pair: Codes, side: Codes) -> _Pairs:
    """Join side A and side B of every pair that has both."""
    given = (side >= 0) & (pair >= 0) & ~np.isnan(scores.score)
    evaluators = len(scores.evaluators)
    key = (pair * evaluators + scores.evaluator) * len(scores.conditions) + scores.condition
    key = key * len(scores.attributes) + scores.attribute
    on_a, on_b = np.flatnonzero(given & (side == 0)), np.flatnonzero(given & (side == 1))
    _, from_a, from_b = np.intersect1d(key[on_a], key[on_b], return_indices=True)
    a, b = on_a[from_a], on_b[from_b]
    role = np.full(a.size, -1, dtype=np.intp) if scores.role is None else scores.role[a]
    return _Pairs(
        pair=pair[a],
        attribute=scores.attribute[a],
        evaluator=scores.evaluator[a],
        condition=scores.condition[a],
        set_a=scores.set_[a],
        set_b=scores.set_[b],
        role=role,
        a_minus_b=scores.score[a] - scores.score[b],
    )


def _repeated(pairs: _Pairs) -> tuple[Matrix, Matrix, Codes]:
    """Return the difference at first, again, and which pairs are the repeats."""
    turned = np.where(pairs.set_a > pairs.set_b, -1.0, 1.0)
    difference = pairs.a_minus_b * turned
    low, high = np.minimum(pairs.set_a, pairs.set_b), np.maximum(pairs.set_a, pairs.set_b)
    sets = int(high.max(initial=0)) + 1
    conditions = int(pairs.condition.max(initial=0)) + 1
    key = ((pairs.evaluator * conditions + pairs.condition) * sets + low) * sets + high
    key = key * (int(pairs.attribute.max(initial=0)) + 1) + pairs.attribute
    repeats = np.flatnonzero(pairs.role == _REPEAT)
    originals = np.flatnonzero((pairs.role != _REPEAT) & (pairs.role != _NULL))
    # An original that itself occurs several times counts by its mean.
    keys, where = np.unique(key[originals], return_inverse=True)
    sums = np.bincount(where, difference[originals], keys.size)
    means = sums / np.maximum(np.bincount(where, minlength=keys.size), 1)
    at = np.minimum(np.searchsorted(keys, key[repeats]), max(keys.size - 1, 0))
    known = keys[at] == key[repeats] if keys.size else np.zeros(repeats.size, dtype=bool)
    found = repeats[known]
    return means[at[known]], difference[found], found


def _expected(scores: NumberedScores, pairs: _Pairs) -> Matrix:
    """Difference of the two sets in the mean of all evaluators, in the pair's condition."""
    shape = len(scores.evaluators), len(scores.conditions), len(scores.sets)
    given = ~np.isnan(scores.score)
    cell = np.ravel_multi_index(
        (scores.evaluator[given], scores.condition[given], scores.set_[given]), shape
    )
    size = int(np.prod(shape))
    counts = np.bincount(cell, minlength=size)
    sums = np.bincount(cell, scores.score[given], size)
    own = np.divide(sums, counts, out=np.full(size, np.nan), where=counts > 0).reshape(shape)
    panel = mean_of_known(own, axis=0)
    return panel[pairs.condition, pairs.set_a] - panel[pairs.condition, pairs.set_b]
