"""The figures of every set against the control, for one attribute."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ratings.findings.differences_unit import Unit
from ratings.findings.differences_words import Verdict
from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.cells import Cells
from ratings.statistics.differences.paired_t import equivalence_p, own_mean_if_wider
from ratings.statistics.differences.set_comparison import (
    TOO_FEW,
    TOO_FEW_EVALUATORS,
    ConditionComparison,
    SetComparison,
    compare_by_condition,
    compare_sets,
)
from ratings.statistics.differences.signed_rank import sign_flip_p, signed_rank
from ratings.statistics.largest_t import dunnett_critical
from ratings.statistics.mixed_models.mixed_tests import FTest
from ratings.statistics.planning.claim_power import reliable_difference
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]

#: Why no set can be compared.
NO_CONTROL = "The control has no score on this attribute."
#: Why a set cannot be compared although others can.
NOT_TOGETHER = "It was not rated in the same condition as the control."


@dataclass(frozen=True, slots=True)
class InCondition:
    """Set minus control in one condition, in score points, with its own 95 % interval.

    Attributes
    ----------
    p_own
        Of the evaluators' own differences, where these scatter more than the common error allows
        for; else None.
    p_holm
        Adjusted for all sets, conditions and attributes that depend on the condition; None where
        the attribute does not.
    evaluators
        Who rated both the set and the control here.
    equivalent_p
        Small when the difference is smaller than the margin, by all sets' scatter and by its own.
    """

    condition: str
    difference: float
    lower: float
    upper: float
    p: float
    p_own: float | None = None
    p_holm: float | None = None
    evaluators: int = 0
    equivalent_p: float = 1.0


@dataclass(frozen=True, slots=True)
class SetDifference:
    """One set against the control on one attribute; None where a figure is undefined.

    Attributes
    ----------
    set
        As in the score table.
    difference, se, df, lower, upper, t, p
        Set minus control in score points, by the mixed model with Kenward and Roger's degrees of
        freedom; 95 % interval of this difference alone. Positive is better.
    p_dunnett, lower_simultaneous, upper_simultaneous
        Adjusted for comparing every set with the control.
    p_holm
        `p_dunnett` adjusted for the attributes as well (Holm over the attributes of this set).
    p_own
        Of this set's own differences, where these scatter more than the error that is common to
        all sets allows for; else None.
    p_own_holm
        `p_own` adjusted for the attributes of this set (Holm), where most sets have one: then the
        control scatters more; else None.
    p_signed_rank_exact, p_sign_flip
        Of the evaluators' mean differences, without belief in a distribution.
    equivalent_p, equivalent_own_p
        Small when the difference is smaller than the margin; by all sets' scatter, and by its own
        as `p_own`.
    smallest_detectable
        True difference that another panel like this would claim four times in five, if it were the
        only one: by Dunnett's critical value at the share that Holm leaves to each attribute.
    evaluators
        Who rated both this set and the control.
    is_unheard
        Whether every evaluator scored the set like the control each time.
    by_condition
        In each condition, when there are several.
    without_flagged
        The same without the evaluators that have something to look at; None when nobody has, or
        fewer than two others are left. To look at: what it alone shows is no claim.
    reason
        Why the figures are undefined; empty when they are not.
    """

    set: str
    evaluators: int
    difference: float | None = None
    se: float | None = None
    df: float | None = None
    lower: float | None = None
    upper: float | None = None
    t: float | None = None
    p: float | None = None
    p_dunnett: float | None = None
    lower_simultaneous: float | None = None
    upper_simultaneous: float | None = None
    p_holm: float | None = None
    p_own: float | None = None
    p_own_holm: float | None = None
    p_signed_rank_exact: float | None = None
    p_sign_flip: float | None = None
    equivalent_p: float | None = None
    equivalent_own_p: float | None = None
    smallest_detectable: float | None = None
    is_unheard: bool = False
    by_condition: tuple[InCondition, ...] = ()
    without_flagged: "SetDifference | None" = None
    reason: str = ""
    verdict: Verdict = "unknown"
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class Judged:
    """One attribute judged: the comparison, set by condition, and a row per set."""

    comparison: SetComparison
    interaction: FTest | None
    interaction_p_uneven: float | None
    differences: tuple[SetDifference, ...]


def unknown_differences(names: Sequence[str]) -> tuple[SetDifference, ...]:
    """Return rows without figures for sets that cannot be compared."""
    return tuple(SetDifference(name, 0, reason=NO_CONTROL) for name in names)


def judge(
    unit: Unit,
    scores: NumberedScores,
    margin: float,
    flagged: Mapping[str, tuple[str, ...]],
    attributes: int,
) -> Judged:
    """Work out every figure of one attribute.

    Parameters
    ----------
    unit
        The values to compare.
    scores
        The attribute's scores, for the names.
    margin
        In score points.
    flagged
        Evaluators with something to look at.
    attributes
        How many are claimed about.
    """
    comparison = compare_sets(unit.cells, unit.control, unit.rounding)
    by_condition = compare_by_condition(unit.cells, unit.control, unit.rounding)
    reach = _reach(comparison, attributes)
    without = _without(unit, scores, margin, flagged, attributes)
    rows = []
    for column, index in enumerate(unit.sets):
        if column == unit.control:
            continue
        own = unit.to_control[:, column]
        ranks = signed_rank(own)
        row = SetDifference(
            set=scores.sets[index],
            evaluators=int((~np.isnan(own)).sum()),
            p_signed_rank_exact=ranks.p_exact if ranks.differences else None,
            p_sign_flip=sign_flip_p(own),
            is_unheard=_is_unheard(unit, column),
            by_condition=_in_conditions(by_condition, column, unit, scores, margin),
            without_flagged=without.get(column),
        )
        rows.append(_compared(row, comparison, own, column, margin, reach))
    interaction, uneven = (
        (None, None) if by_condition is None else (by_condition.interaction, by_condition.p_uneven)
    )
    return Judged(comparison, interaction, uneven, tuple(rows))


def _reach(comparison: SetComparison, attributes: int) -> Matrix:
    """Return what would be claimed reliably, for each set that is compared."""
    if comparison.differences is None:
        return np.empty(0)
    each = comparison.differences.each
    critical = dunnett_critical(each.correlation, each.df, ALPHA / attributes)
    figures = zip(each.se.tolist(), each.df.tolist(), critical.tolist(), strict=True)
    return np.array([reliable_difference(*of_set) for of_set in figures])


def _compared(
    row: SetDifference,
    comparison: SetComparison,
    differences: Matrix,
    column: int,
    margin: float,
    reach: Matrix,
) -> SetDifference:
    """Fill in what the mixed model says of the set in this column, if it says anything."""
    found = comparison.differences
    if found is None or column not in found.others:
        return replace(row, reason=comparison.reason or _why_not(comparison, column))
    place = int(np.flatnonzero(found.others == column)[0])
    each = found.each
    estimate, se, df = (float(a[place]) for a in (each.estimate, each.se, each.df))
    own = own_mean_if_wider(differences, se)
    return replace(
        row,
        p_own=None if own is None else own.p,
        equivalent_own_p=None if own is None else own.equivalent_p(margin),
        difference=estimate,
        se=se,
        df=df,
        lower=float(each.lower[place]),
        upper=float(each.upper[place]),
        t=float(each.t[place]),
        p=float(each.p[place]),
        p_dunnett=float(found.p_dunnett[place]),
        lower_simultaneous=float(found.lower_simultaneous[place]),
        upper_simultaneous=float(found.upper_simultaneous[place]),
        equivalent_p=equivalence_p(estimate, se, df, margin),
        smallest_detectable=float(reach[place]),
    )


def _is_unheard(unit: Unit, column: int) -> bool:
    cells = unit.cells
    if float(cells.scatter[:, column].sum()):
        return False
    given = cells.counts[:, column] > 0
    means = cells.means[:, column]
    if unit.control is not None:
        if float(cells.scatter[:, unit.control].sum()):
            return False
        given = given & (cells.counts[:, unit.control] > 0)
        means = means - cells.means[:, unit.control]
    return bool(given.any()) and bool((np.abs(means[given]) <= 1e-9).all())


def _why_not(comparison: SetComparison, column: int) -> str:
    if column in comparison.unshared:
        return TOO_FEW_EVALUATORS
    return TOO_FEW if column in comparison.unjudged else NOT_TOGETHER


def _in_conditions(
    found: ConditionComparison | None,
    column: int,
    unit: Unit,
    scores: NumberedScores,
    margin: float,
) -> tuple[InCondition, ...]:
    if found is None:
        return ()
    return tuple(
        _in_condition(found, int(place), unit, scores, margin)
        for place in np.flatnonzero(found.set_ == column)
    )


def _in_condition(
    found: ConditionComparison, place: int, unit: Unit, scores: NumberedScores, margin: float
) -> InCondition:
    set_, condition, each = int(found.set_[place]), int(found.condition[place]), found.differences
    estimate, se, df = (float(a[place]) for a in (each.estimate, each.se, each.df))
    given = unit.in_condition(set_, condition)
    own = own_mean_if_wider(given, se)
    tests = [equivalence_p(estimate, se, df, margin)]
    tests += [] if own is None else [own.equivalent_p(margin)]
    return InCondition(
        condition=scores.conditions[unit.conditions[condition]],
        difference=estimate,
        lower=float(each.lower[place]),
        upper=float(each.upper[place]),
        p=float(each.p[place]),
        p_own=None if own is None else own.p,
        evaluators=int((~np.isnan(given)).sum()),
        equivalent_p=max(tests),
    )


def _without(
    unit: Unit,
    scores: NumberedScores,
    margin: float,
    flagged: Mapping[str, tuple[str, ...]],
    attributes: int,
) -> dict[int, SetDifference]:
    """Compare again without the flagged; by column of the set."""
    names = np.array([scores.evaluators[index] for index in unit.evaluators])
    kept = ~np.isin(names, list(flagged))
    if kept.all() or kept.sum() < 2:
        return {}
    cells = unit.cells
    fewer = Cells(cells.counts[kept], cells.means[kept], cells.scatter[kept])
    if not fewer.counts.any(axis=(0, 2)).all() or not fewer.counts.any(axis=(0, 1)).all():
        return {}
    comparison = compare_sets(fewer, unit.control, unit.rounding)
    reach = _reach(comparison, attributes)
    rows = {}
    for column, index in enumerate(unit.sets):
        own = unit.to_control[kept, column]
        evaluators = int((~np.isnan(own)).sum())
        row = SetDifference(scores.sets[index], evaluators)
        row = _compared(row, comparison, own, column, margin, reach)
        if row.difference is not None:
            rows[column] = row
    return rows
