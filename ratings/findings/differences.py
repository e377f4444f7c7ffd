"""Is the difference real? Per attribute every set against the control, with the sentence."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from ratings.errors import ScoreTableError
from ratings.findings.differences_figures import (
    NO_CONTROL,
    InCondition,
    Judged,
    SetDifference,
    judge,
    unknown_differences,
)
from ratings.findings.differences_unit import Unit, step_of, unit_of
from ratings.findings.differences_words import (
    conditions_sentence,
    difference_sentence,
    unclaimed_sentence,
    verdict,
)
from ratings.findings.evaluator_reasons import EvaluatorJudgement, FitnessLimits, judge_evaluators
from ratings.findings.numbered_scores import NumberedScores, number_scores
from ratings.statistics.adjusted_p import holm
from ratings.statistics.agreement.kendall import Concordance, friedman_test
from ratings.statistics.differences.set_comparison import SetComparison
from ratings.statistics.mixed_models.mean_squares import mean_squares
from ratings.statistics.mixed_models.mixed_tests import FTest
from ratings.study.attributes import Scale
from ratings.study.constants import ALPHA
from ratings.study.wording import listed

if TYPE_CHECKING:
    import pandas as pd

#: Share of the scale that makes no odds unless the lead sets a margin: half a point on 1 to 10,
#: which a trained evaluator is sure of and a customer may miss (common practice, no source).
DEFAULT_MARGIN_SHARE = 0.5 / 9


@dataclass(frozen=True, slots=True)
class AttributeDifferences:
    """What one attribute's scores say about the sets.

    Attributes
    ----------
    attribute, control
        As in the score table.
    model
        The mixed model that answers, in words.
    margin
        In score points: a smaller difference does not matter.
    evaluators
        Everybody whose values are used.
    boundary
        Names of variance components that came out as zero.
    is_exact
        Whether the differences are judged by mean squares, which asks for a table that everybody
        filled alike; else by Kenward and Roger's method.
    components
        Variances by name, the residual last, in squared score points.
    kenward_roger, satterthwaite, balanced_ratio, friedman
        Whether the sets differ at all; None where it cannot be asked. The balanced ratio is exact.
    set_by_condition
        Whether the differences depend on the condition; None with one condition.
    set_by_condition_p_uneven
        Its p where some sets may scatter more than others; None for a table with holes.
    depends_on_condition
        Whether it is significant at 5 % after adjusting for the attributes (Holm), and also where
        sets scatter unevenly: then the average over conditions hides something, and claims are
        made by condition.
    differences
        One per set, in the order of the sets.
    flagged
        Evaluators flagged in the study, and the reasons; nobody is left out of the figures.
    notes
        What a reader must know beside them.
    reason
        Why nothing can be judged; empty when it can.
    """

    attribute: str
    control: str
    margin: float
    flagged: Mapping[str, tuple[str, ...]]
    model: str = ""
    evaluators: tuple[str, ...] = ()
    boundary: tuple[str, ...] = ()
    is_exact: bool = False
    components: Mapping[str, float] = field(default_factory=dict)
    kenward_roger: FTest | None = None
    satterthwaite: FTest | None = None
    balanced_ratio: FTest | None = None
    friedman: Concordance | None = None
    set_by_condition: FTest | None = None
    set_by_condition_p_uneven: float | None = None
    depends_on_condition: bool = False
    differences: tuple[SetDifference, ...] = ()
    notes: tuple[str, ...] = ()
    reason: str = ""


def differences(
    score_table: "pd.DataFrame", control: str, scale: Scale, margin: float | None = None
) -> tuple[AttributeDifferences, ...]:
    """Compare every set with the control, attribute by attribute.

    Parameters
    ----------
    score_table
        As for `ratings.findings.agreement.agreement`. With ``pair`` and ``side`` the differences
        within pairs are compared, see `ratings.findings.differences_unit.unit_of`.
    control
        Name of the set that the others are compared with.
    scale
        Scale of the scores.
    margin
        In score points: a smaller difference does not matter; None takes half a point on a scale
        of nine, in proportion on others.

    Returns
    -------
    tuple of AttributeDifferences
        In the order in which attributes first occur.

    Raises
    ------
    ScoreTableError
        When the control is not among the sets, or the margin is not positive.
    """
    numbered = number_scores(score_table)
    refuse_unknown_control("The score table", control, numbered.sets)
    chosen = DEFAULT_MARGIN_SHARE * (scale.high - scale.low) if margin is None else margin
    if not (np.isfinite(chosen) and chosen > 0):
        raise ScoreTableError(f"A margin of {chosen:g} points is not valid.", "Set it above zero.")
    looked = judge_evaluators(numbered, FitnessLimits.for_scale(scale), {})
    column = numbered.sets.index(control)
    step = step_of(numbered.score, DEFAULT_MARGIN_SHARE * (scale.high - scale.low))
    blocks = [
        _block(numbered, number, column, step, chosen, looked)
        for number in range(len(numbered.attributes))
    ]
    return _with_sentences(blocks)


def refuse_unknown_control(source: str, control: str, sets: Iterable[str]) -> None:
    """Raise `ScoreTableError`, naming the sets that exist, when the control is none of them."""
    known = list(sets)
    if control not in known:
        raise ScoreTableError(
            f'{source}, column set: there is no set "{control}"; there is {listed(known)}.',
            "Name one of them as the control.",
        )


def _flagged(
    numbered: NumberedScores, attribute: int, looked: Mapping[str, EvaluatorJudgement]
) -> dict[str, tuple[str, ...]]:
    rows = (numbered.attribute == attribute) & ~np.isnan(numbered.score)
    names = [numbered.evaluators[index] for index in np.unique(numbered.evaluator[rows])]
    return {name: looked[name].reasons for name in names if looked[name].reasons}


def _block(
    numbered: NumberedScores,
    attribute: int,
    control: int,
    step: float,
    margin: float,
    looked: Mapping[str, EvaluatorJudgement],
) -> AttributeDifferences:
    scores = numbered.only(numbered.attribute == attribute)
    flagged = _flagged(numbered, attribute, looked)
    unit = unit_of(scores, control, step)
    block = AttributeDifferences(
        numbered.attributes[attribute], numbered.sets[control], margin, flagged
    )
    if unit is None:
        rated = np.unique(scores.set_[~np.isnan(scores.score)])
        return replace(
            block,
            differences=unknown_differences([numbered.sets[index] for index in rated]),
            reason=NO_CONTROL,
        )
    judged = judge(unit, scores, margin, flagged, len(numbered.attributes))
    comparison, by_condition = judged.comparison, judged.interaction
    ratio = None if unit.control is None else mean_squares(unit.cells)
    return replace(
        block,
        model=_model(unit, comparison),
        evaluators=tuple(numbered.evaluators[index] for index in unit.evaluators),
        boundary=() if comparison.fit is None else comparison.fit.boundary,
        is_exact=comparison.is_exact,
        components=_components(comparison),
        kenward_roger=comparison.kenward_roger,
        satterthwaite=comparison.satterthwaite,
        balanced_ratio=None if ratio is None else ratio.ratio,
        friedman=_friedman(unit),
        set_by_condition=by_condition,
        set_by_condition_p_uneven=judged.interaction_p_uneven,
        differences=judged.differences,
        notes=(
            *_notes(scores, unit, judged, step, flagged),
            *_strays(numbered.attributes[attribute], looked),
        ),
        reason=comparison.reason,
    )


def _with_sentences(blocks: list[AttributeDifferences]) -> tuple[AttributeDifferences, ...]:
    """Adjust each set's p over the attributes, then say what it all means."""
    blocks = _by_condition(blocks)
    own = _over_attributes([{d.set: d for d in block.differences} for block in blocks])
    blocks = _with_own(blocks)
    again = _over_attributes(
        [
            {d.set: d.without_flagged for d in block.differences if d.without_flagged is not None}
            for block in blocks
        ]
    )
    result = []
    for place, block in enumerate(blocks):
        compared = sum(d.p_dunnett is not None for d in block.differences)
        told = []
        for difference in block.differences:
            row = replace(difference, p_holm=own.get((difference.set, place)))
            if row.without_flagged is not None:
                p_holm = again.get((difference.set, place))
                row = replace(row, without_flagged=replace(row.without_flagged, p_holm=p_holm))
            told.append(_told(row, block, compared, len(blocks)))
        result.append(replace(block, differences=tuple(told)))
    return tuple(result)


def _by_condition(blocks: list[AttributeDifferences]) -> list[AttributeDifferences]:
    """Find the attributes that depend on the condition, and adjust what is claimed in them."""
    asked = [place for place, block in enumerate(blocks) if block.set_by_condition is not None]
    p = holm([test.p for place in asked if (test := blocks[place].set_by_condition) is not None])
    depends = [
        place
        for place, each in zip(asked, p, strict=True)
        if max(each, blocks[place].set_by_condition_p_uneven or 0.0) <= ALPHA
    ]
    rows = [
        (place, number, each)
        for place in depends
        for number, difference in enumerate(blocks[place].differences)
        for each in difference.by_condition
    ]
    adjusted = iter(holm([max(each.p, each.p_own or 0.0) for *_, each in rows]).tolist())
    found: dict[tuple[int, int], list[InCondition]] = {}
    for place, number, each in rows:
        found.setdefault((place, number), []).append(replace(each, p_holm=next(adjusted)))
    result = list(blocks)
    for place in depends:
        told = tuple(
            replace(difference, by_condition=tuple(found.get((place, number), ())))
            for number, difference in enumerate(blocks[place].differences)
        )
        result[place] = replace(blocks[place], depends_on_condition=True, differences=told)
    return result


def _with_own(blocks: list[AttributeDifferences]) -> list[AttributeDifferences]:
    """Adjust what is judged by its own scatter for the attributes of its set (Holm).

    Only where most sets scatter more than the common error allows for: that is the control's
    doing, whose scatter is in every difference, and then this p alone decides and must hold the
    level by itself. Over the sets it does so without an adjustment, because they share that
    control. A single set that scatters more has the common error's adjusted p beside its own.
    """
    rows: dict[str, list[SetDifference]] = {}
    for block in blocks:
        for each in block.differences:
            if each.p is not None:
                rows.setdefault(each.set, []).append(each)
    adjusted: dict[int, float] = {}
    for of_set in rows.values():
        p = [(each.p or 0.0) if each.p_own is None else each.p_own for each in of_set]
        adjusted |= dict(zip(map(id, of_set), holm(p).tolist(), strict=True))
    return [
        replace(
            block,
            differences=tuple(
                replace(each, p_own_holm=adjusted[id(each)])
                if each.p_own is not None and _is_control_wide(block)
                else each
                for each in block.differences
            ),
        )
        for block in blocks
    ]


def _is_control_wide(block: AttributeDifferences) -> bool:
    compared = [each for each in block.differences if each.p is not None]
    return 2 * sum(each.p_own is not None for each in compared) > len(compared)


def _over_attributes(
    blocks: Sequence[Mapping[str, SetDifference]],
) -> dict[tuple[str, int], float]:
    """Adjust each set's p over the attributes (Holm); by set and place of the attribute."""
    adjusted: dict[tuple[str, int], float] = {}
    for name in dict.fromkeys(name for block in blocks for name in block):
        known = [
            (place, p)
            for place, block in enumerate(blocks)
            if name in block and (p := block[name].p_dunnett) is not None
        ]
        for (place, _), p in zip(known, holm([p for _, p in known]), strict=True):
            adjusted[name, place] = float(p)
    return adjusted


def _told(
    difference: SetDifference, block: AttributeDifferences, compared: int, attributes: int
) -> SetDifference:
    judged = verdict(difference)
    if judged == "unknown":
        why = difference.reason
        sentence = f"nothing can be said: {why[0].lower()}{why[1:]}"
        return replace(difference, verdict=judged, sentence=sentence)
    sentence = difference_sentence(difference, block.margin, compared, attributes)
    if block.depends_on_condition and difference.by_condition:
        sentence = f"{sentence}. {conditions_sentence(difference.by_condition)}"
    without = difference.without_flagged
    if without is not None:
        again = verdict(without)
        told_again = (
            difference_sentence(without, block.margin, compared, attributes)
            if again in ("not certain", judged)
            else unclaimed_sentence(without)
        )
        without = replace(without, verdict=again, sentence=told_again)
        difference = replace(difference, without_flagged=without)
        if again != judged:
            names = [name for name in block.evaluators if name in block.flagged]
            sentence = f"{sentence.rstrip('.')}. Without {listed(names)}: {told_again}"
    return replace(difference, verdict=judged, sentence=sentence)


def _model(unit: Unit, comparison: SetComparison) -> str:
    conditions = " + condition" if unit.conditions.size > 1 else ""
    answer = "score" if unit.control is not None else "difference within the pair"
    if comparison.fit is None:
        return f"{answer} ~ set{conditions}"
    terms = "".join(f" + (1|{name})" for name in comparison.fit.components)
    return f"{answer} ~ set{conditions}{terms}"


def _components(comparison: SetComparison) -> dict[str, float]:
    fit = comparison.fit
    if fit is None:
        return {}
    return {
        **dict(zip(fit.components, map(float, fit.variances), strict=True)),
        "residual": fit.residual,
    }


def _friedman(unit: Unit) -> Concordance:
    if unit.control is not None:
        return friedman_test(unit.cells.set_means())
    # Among differences the control is the set that never differs from itself.
    differences = unit.to_control
    return friedman_test(np.column_stack([np.zeros(len(differences)), differences]))


def _strays(attribute: str, looked: Mapping[str, EvaluatorJudgement]) -> tuple[str, ...]:
    return tuple(
        f"{name}: {look.stray.sentence}."
        for name, look in looked.items()
        if look.stray is not None and look.stray.attribute == attribute
    )


def _notes(
    scores: NumberedScores,
    unit: Unit,
    judged: Judged,
    step: float,
    flagged: Mapping[str, tuple[str, ...]],
) -> tuple[str, ...]:
    notes = []
    if judged.comparison.is_rounded:
        notes.append(
            "No evaluator differs from another: what rounding to steps of "
            f"{step:g} hides stands for their scatter."
        )
    if judged.comparison.repeats_averaged:
        notes.append("All repeats are identical, so that each counts once.")
    if unit.halves:
        lone = (
            "1 score stands without the control beside it"
            if unit.halves == 1
            else f"{unit.halves} scores stand without the control beside them"
        )
        notes.append(f"{lone}: not used.")
    missing = np.isnan(unit.to_control).any(axis=1)
    if missing.any():
        names = [scores.evaluators[index] for index in unit.evaluators[missing]]
        notes.append(
            f"{listed(names)} did not rate every set and the control: "
            "counted in the mixed model, where they can be."
        )
    if flagged:
        told = [f"{name} ({'; '.join(reasons)})" for name, reasons in flagged.items()]
        notes.append(f"To look at, and counted all the same: {listed(told)}.")
        if all(difference.without_flagged is None for difference in judged.differences):
            notes.append("Without them too few are left to compare the sets.")
    if scores.driven is not None and scores.driven.any() and not scores.driven.all():
        notes.append("Scores given driving and scores given listening are taken together.")
    return tuple(notes)
