"""Every set against the control, conditions averaged, and in each condition."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ratings.statistics.cells import Cells
from ratings.statistics.largest_t import dunnett_critical, dunnett_p
from ratings.statistics.mixed_models.balanced_tests import balanced_contrasts
from ratings.statistics.mixed_models.mean_squares import set_by_condition
from ratings.statistics.mixed_models.mixed_fit import MixedFit, fit_mixed
from ratings.statistics.mixed_models.mixed_tests import (
    Contrasts,
    FTest,
    can_be_judged,
    contrasts,
    estimable,
    joint_test,
    kenward_roger,
    satterthwaite,
)
from ratings.statistics.mixed_models.model_cells import (
    EVALUATOR,
    EVALUATOR_CONDITION,
    EVALUATOR_SET,
    EVALUATOR_SET_CONDITION,
)

Matrix = npt.NDArray[np.float64]

#: Why a difference that the scores show cannot be judged.
TOO_FEW = "There are too few scores to tell a difference from scatter."
TOO_FEW_EVALUATORS = "Fewer than two evaluators rated both it and the control."

#: So many must have rated both a set and the control: how far evaluators disagree about a set
#: cannot be told from one, and what one alone hears would be taken for the set.
FEWEST_EVALUATORS = 2


@dataclass(frozen=True, slots=True)
class ToControl:
    """Differences to the control, one per set that could be compared.

    Attributes
    ----------
    others
        Columns of the sets, shape (comparisons,).
    each
        Set minus control, with Kenward and Roger's degrees of freedom, each by itself.
    p_dunnett
        Adjusted for comparing all of them with one control, shape (comparisons,).
    lower_simultaneous, upper_simultaneous
        95 % bounds that hold for all comparisons at once.
    """

    others: npt.NDArray[np.intp]
    each: Contrasts
    p_dunnett: Matrix
    lower_simultaneous: Matrix
    upper_simultaneous: Matrix


@dataclass(frozen=True, slots=True)
class SetComparison:
    """Sets against the control, conditions averaged.

    Attributes
    ----------
    fit
        The mixed model; None when nothing can be judged, see `reason`.
    kenward_roger, satterthwaite
        Whether the sets differ at all; None where that cannot be asked.
    differences
        Every set against the control; None where nothing can be judged.
    unjudged
        Columns of sets whose difference shows, with too few scores to judge it by.
    unshared
        Columns of sets that fewer than two evaluators rated beside the control.
    is_exact
        Whether `differences` come from mean squares, as every evaluator filled the table alike.
    is_rounded
        Whether the evaluators do not disagree at all, so that rounding stands for their scatter.
    repeats_averaged
        Whether repeats were identical throughout, so that each cell counts once.
    reason
        Why nothing can be judged, in words; empty when it can.
    """

    fit: MixedFit | None = None
    kenward_roger: FTest | None = None
    satterthwaite: FTest | None = None
    differences: ToControl | None = None
    unjudged: tuple[int, ...] = ()
    unshared: tuple[int, ...] = ()
    is_exact: bool = False
    is_rounded: bool = False
    repeats_averaged: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class ConditionComparison:
    """Whether the difference to the control depends on the condition.

    Attributes
    ----------
    interaction
        Kenward and Roger's test of set x condition; None when a set was not rated in a condition.
    p_uneven
        Of the same, where some sets may scatter more than others; None for a table with holes.
    set_, condition
        Index of each comparison that can be made, shape (comparisons,).
    differences
        Set minus control within the condition.
    """

    interaction: FTest | None
    set_: npt.NDArray[np.intp]
    condition: npt.NDArray[np.intp]
    differences: Contrasts
    p_uneven: float | None = None


def compare_sets(cells: Cells, control: int | None, rounding: float = 0.0) -> SetComparison:
    """Compare every set with the control in a mixed model.

    Parameters
    ----------
    cells
        Scores by evaluator, set and condition; every evaluator, set and condition has some.
    control
        Column of the control. None when the values are differences to it already, taken within
        pairs: then every set is compared with zero.
    rounding
        Variance that the steps of the scale alone give a value, in squared score points: a
        twelfth of a squared step for a score (Sheppard WF (1898) Proc. London Math. Soc.
        29:353-380; from memory), twice that for a difference. Where evaluators of a complete table
        do not disagree at all, it stands for their scatter; 0 then judges nothing.

    Notes
    -----
    ``score ~ set (+ condition) + (1 | evaluator) + (1 | evaluator:set)``. The evaluators are a
    sample of people who could have been asked, so that a difference must stand out from how much
    they disagree about it, not only from how well each repeats it. Where every evaluator gave a
    set one score, the disagreement is the residual and the last term is left out.

    Which unit answers what: scores answer how the sets lie to each other over the whole session,
    whatever they were heard beside. Where each candidate was heard back to back with the control,
    the difference within the pair is the judgement that was made: what both clips of the pair
    share (the hour, fatigue, how the scale was used just then) cancels in it, and does not cancel
    when every candidate is compared with one average of all the control's scores. In that model
    the same terms mean the evaluator's own view of the control, which all of his differences
    share, and his view of each candidate. A/B sides are balanced by the design, not modelled.

    A table that every evaluator filled alike is compared by its mean squares, see
    `ratings.statistics.mixed_models.balanced_tests.balanced_contrasts`.

    With several conditions the sets are averaged over them alike. Whether they should be is asked
    by `compare_by_condition`.
    """
    evaluators, sets, conditions = cells.counts.shape
    if evaluators < 2:
        return SetComparison(reason="One evaluator alone cannot stand for a panel.")
    if sets < (1 if control is None else 2):
        return SetComparison(reason="There is no other set to compare with the control.")
    cells, averaged = _without_identical_repeats(cells)
    fixed, means = _additive_design(sets, conditions)
    fit = fit_mixed(cells, fixed, (EVALUATOR, EVALUATOR_SET))
    to_control, others = _against(means, control)
    if fit is None:
        return _without_scatter(cells, control, rounding, others, averaged=averaged)
    joint = _joint_rows(means, control)
    found = _compared(cells, control, fit, fixed, (to_control, others, joint))
    return replace(found, repeats_averaged=averaged and found.fit is not None)


def _compared(
    cells: Cells,
    control: int | None,
    fit: MixedFit,
    fixed: Matrix,
    asked: tuple[Matrix, npt.NDArray[np.intp], Matrix],
) -> SetComparison:
    """Judge differences to the control, their columns, and whether any set differs, by a fit."""
    to_control, others, joint_rows = asked
    filled = cells.counts.any(axis=0).ravel()
    possible = estimable(fit, fixed[filled], to_control)
    if not possible.any():
        return SetComparison(reason="No set was rated in the same condition as the control.")
    by_kenward_roger = kenward_roger(fit)
    joint = joint_rows if possible.all() else None
    by_both = _rated_by(cells, others, control) >= FEWEST_EVALUATORS
    exact = balanced_contrasts(cells, control)
    shown = possible.copy()
    possible &= by_both
    if exact is None:
        possible[possible] = can_be_judged(by_kenward_roger, to_control[possible])
    if not possible.any():
        return SetComparison(reason=TOO_FEW if by_both.any() else TOO_FEW_EVALUATORS)
    unjudged = tuple(int(column) for column in others[shown & by_both & ~possible])
    unshared = tuple(int(column) for column in others[shown & ~by_both])
    rows, others = to_control[possible], others[possible]
    each = contrasts(by_kenward_roger, rows) if exact is None else exact
    return SetComparison(
        fit=fit,
        unjudged=unjudged,
        unshared=unshared,
        kenward_roger=None if joint is None else joint_test(by_kenward_roger, joint),
        satterthwaite=None if joint is None else joint_test(satterthwaite(fit), joint),
        differences=_to_control(each, others),
        is_exact=exact is not None,
    )


def _without_scatter(
    cells: Cells,
    control: int | None,
    rounding: float,
    others: npt.NDArray[np.intp],
    *,
    averaged: bool,
) -> SetComparison:
    """Compare where no evaluator repeats himself otherwise, nor perhaps differs from another."""
    alone = balanced_contrasts(cells, control)
    each = balanced_contrasts(cells, control, rounding) if alone is None else alone
    if each is None:
        return SetComparison(reason="The scores leave no scatter to judge a difference by.")
    return SetComparison(
        differences=_to_control(each, others),
        is_exact=True,
        is_rounded=alone is None,
        repeats_averaged=averaged,
    )


def _to_control(each: Contrasts, others: npt.NDArray[np.intp]) -> ToControl:
    half = dunnett_critical(each.correlation, each.df) * each.se
    return ToControl(
        others=others,
        each=each,
        p_dunnett=dunnett_p(each.t, each.correlation, each.df),
        lower_simultaneous=each.estimate - half,
        upper_simultaneous=each.estimate + half,
    )


def compare_by_condition(
    cells: Cells, control: int | None, rounding: float = 0.0
) -> ConditionComparison | None:
    """Compare the sets with the control in each condition, and ask whether that differs.

    Parameters
    ----------
    cells, control, rounding
        As for `compare_sets`.

    Returns
    -------
    ConditionComparison or None
        None with a single condition, or where nothing can be judged.

    Notes
    -----
    ``score ~ set * condition`` with everything in which evaluators can differ as random
    intercepts, as far as the table tells it apart: evaluator, evaluator:set, evaluator:condition,
    and with repeats evaluator:set:condition. Without the last two an opinion of one evaluator
    about one set in one condition, repeated, would pass for an effect of the condition.
    """
    evaluators, sets, conditions = cells.counts.shape
    if evaluators < 2 or conditions < 2 or sets < (1 if control is None else 2):
        return None
    cells, _ = _without_identical_repeats(cells)
    fixed: Matrix = np.eye(sets * conditions)
    components = EVALUATOR, EVALUATOR_SET, EVALUATOR_CONDITION, EVALUATOR_SET_CONDITION
    fit = fit_mixed(cells, fixed, components)
    if fit is None:
        return _conditions_apart(cells, control, rounding)
    inference = kenward_roger(fit)
    to_control, others = _against(np.eye(sets), control)
    rows = np.asarray(np.kron(to_control, np.eye(conditions)), dtype=np.float64)
    filled = cells.counts.any(axis=0).ravel()
    possible = estimable(fit, fixed[filled], rows)
    possible[possible] = can_be_judged(inference, rows[possible])
    if not possible.any():
        return None
    interaction = None
    if filled.all() and (sets > 1 or control is None):
        between = np.eye(conditions)[1:] - np.eye(conditions)[0]
        interaction = joint_test(inference, np.kron(_joint_rows(np.eye(sets), control), between))
    set_, condition = np.indices((len(others), conditions)).reshape(2, -1)
    uneven = set_by_condition(_with_control(cells, control))
    return ConditionComparison(
        interaction=interaction,
        p_uneven=None if uneven is None else uneven.p_uneven,
        set_=others[set_[possible]],
        condition=condition[possible],
        differences=contrasts(inference, rows[possible]),
    )


def _conditions_apart(
    cells: Cells, control: int | None, rounding: float
) -> ConditionComparison | None:
    """Compare in each condition by itself where no model over all of them leaves scatter."""
    found = [
        balanced_contrasts(
            Cells(*(part[:, :, [layer]] for part in (cells.counts, cells.means, cells.scatter))),
            control,
            rounding,
        )
        for layer in range(cells.counts.shape[2])
    ]
    each = [one for one in found if one is not None]
    if not each or len(each) < len(found):
        return None
    _, others = _against(np.eye(cells.counts.shape[1]), control)
    set_, condition = np.indices((len(others), len(each))).reshape(2, -1)
    figures = {
        name: np.stack([getattr(one, name) for one in each], axis=1).ravel()
        for name in ("estimate", "se", "df", "t", "p", "lower", "upper")
    }
    alike = (set_[:, None] == set_) & (condition[:, None] == condition)
    found_by_condition = set_by_condition(_with_control(cells, control), rounding)
    return ConditionComparison(
        interaction=None if found_by_condition is None else found_by_condition.test,
        p_uneven=None if found_by_condition is None else found_by_condition.p_uneven,
        set_=others[set_],
        condition=condition,
        differences=Contrasts(**figures, correlation=alike.astype(np.float64)),
    )


def _with_control(cells: Cells, control: int | None) -> Cells:
    """Add the control to differences within pairs, from which it never differs."""
    if control is not None:
        return cells
    counts, means, scatter = (
        np.concatenate([fill(part[:, :1]), part], axis=1)
        for fill, part in (
            (np.ones_like, cells.counts),
            (np.zeros_like, cells.means),
            (np.zeros_like, cells.scatter),
        )
    )
    return Cells(counts, means, scatter)


def _rated_by(
    cells: Cells, others: npt.NDArray[np.intp], control: int | None
) -> npt.NDArray[np.intp]:
    """Count the evaluators who rated both a set and the control."""
    rated = cells.counts.sum(axis=2) > 0
    if control is not None:
        rated &= rated[:, [control]]
    return np.asarray(rated.sum(axis=0), dtype=np.intp)[others]


def _without_identical_repeats(cells: Cells) -> tuple[Cells, bool]:
    """Count a cell once where no repeat ever differed: such repeats say nothing of the scatter."""
    if cells.counts.max(initial=0) <= 1 or float(cells.scatter.sum()) > 0:
        return cells, False
    return Cells(np.minimum(cells.counts, 1.0), cells.means, cells.scatter), True


def _additive_design(sets: int, conditions: int) -> tuple[Matrix, Matrix]:
    """Return the design of ``set + condition`` and the rows that average a set over conditions."""
    set_, condition = np.indices((sets, conditions)).reshape(2, -1)
    fixed: Matrix = np.hstack([np.eye(sets)[set_], np.eye(conditions)[condition][:, 1:]])
    means: Matrix = np.hstack([np.eye(sets), np.full((sets, conditions - 1), 1 / conditions)])
    return fixed, means


def _against(means: Matrix, control: int | None) -> tuple[Matrix, npt.NDArray[np.intp]]:
    if control is None:
        return means, np.arange(len(means))
    others = np.delete(np.arange(len(means)), control)
    return means[others] - means[control], others


def _joint_rows(means: Matrix, control: int | None) -> Matrix:
    """Return independent rows that are all zero when no set differs.

    Satterthwaite's denominator depends a little on their choice; deviations from the mean of all
    sets are R's, and favour no set.
    """
    return means if control is None else (means - means.mean(axis=0))[:-1]
