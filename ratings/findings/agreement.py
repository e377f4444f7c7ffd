"""Does the panel agree? One block per attribute, with the sentence that says what it means."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from ratings.findings.agreement_words import (
    Degree,
    agreement_notes,
    agreement_sentence,
    by_condition_words,
    family_words,
)
from ratings.findings.evaluator_findings import EvaluatorFinding, evaluator_findings
from ratings.findings.evaluator_reasons import EvaluatorJudgement, FitnessLimits, judge_evaluators
from ratings.findings.numbered_scores import NumberedScores, number_scores
from ratings.findings.pair_pace import PaceFinding, pace_findings
from ratings.statistics.adjusted_p import holm
from ratings.statistics.agreement.icc import (
    FORMS,
    IntraclassCorrelation,
    IntraclassCorrelations,
    intraclass_correlations,
)
from ratings.statistics.agreement.kendall import (
    NOBODY_DISCRIMINATES,
    Concordance,
    concordance,
    smallest_significant_w,
)
from ratings.statistics.agreement.mandel import mandel_h_critical, mandel_k_critical
from ratings.statistics.cells import Cells, gather_cells
from ratings.statistics.condition_levels import can_be_separated
from ratings.statistics.missing import mean_of_known
from ratings.statistics.mixed_models.mean_squares import set_by_condition
from ratings.study.attributes import Scale
from ratings.study.constants import ALPHA

if TYPE_CHECKING:
    import pandas as pd

Matrix = npt.NDArray[np.float64]

#: W from which a panel is good enough to be built on (common practice, no source).
USABLE_W = 0.7
#: Degrees at which a panel is said to agree.
CERTAIN: tuple[Degree, ...] = ("well", "loosely")
#: What the adjusted p of a single condition must pass to lead where all together do not agree.
SINGLE_ALPHA = 0.01
#: Why nothing is said over conditions that no set ties together.
_UNTIED = "Sets were rated in different conditions that none of them links: see each condition."


@dataclass(frozen=True, slots=True)
class MandelCritical:
    """Beyond these, one h or k of one set stands out at 1 % (ISO 5725-2); None where undefined."""

    h: float | None
    k: float | None


@dataclass(frozen=True, slots=True)
class AttributeAgreement:
    """What one attribute's scores say about the panel.

    Attributes
    ----------
    attribute
        As in the score table.
    condition
        None when an evaluator's scores are averaged over repeats, then over conditions.
    sets, evaluators
        Names in the order of the matrices' columns and rows; those without a single score of
        this attribute are not among them.
    missing
        Cells of evaluator and set without a score.
    scores
        Mean score, shape (evaluators, sets), rounded to 1e-9; NaN where missing.
    deviations
        Score minus the panel's mean of the set, shape (evaluators, sets).
    level_free_deviations
        The same with each evaluator's own mean deviation taken off: what is left is not that he
        rates everything higher, but that he hears this set otherwise.
    kendall, icc
        Agreement in order, and in numbers.
    evaluators_detail
        One per evaluator, with what to look at in words.
    mandel_critical
        What the evaluators' h and k are published with; nobody is flagged by them.
    p_holm
        That chance alone gives such a W, adjusted for all attributes that were looked at (Holm);
        in a block of one condition for all conditions of all attributes.
    chance_w
        The largest W that chance explains among so many: below it nobody is said to agree. None
        when it explains any.
    agrees
        Whether it agrees more than by chance: `p_holm` is at most 5 %. None when W is undefined, or
        the panel too small for any W to be told. How well is another question: see `degree`.
    degree, degree_without
        What the panel is said to do, with everybody and without those who are flagged; the latter
        is shown and never claimed, since these scores chose whom to leave out, and None where
        nobody is flagged.
    p_by_condition
        That the order of the sets is the same in all conditions, for this attribute alone; None
        in a block of one condition, with one condition, or with holes.
    agrees_in, w_in
        Conditions in which the panel agrees by itself although that is not certain over all of
        them, and W there; see `claimed_together`.
    sentence
        What the figure means for this panel.
    notes
        What a reader must know beside it: scores left out, missing or of two origins.
    without_flagged
        Kendall's W without the evaluators who are flagged in the study; None when nobody is, or
        fewer than two are left. Nobody is dropped from any other figure.
    """

    attribute: str
    condition: str | None
    sets: tuple[str, ...]
    evaluators: tuple[str, ...]
    missing: int
    scores: Matrix
    deviations: Matrix
    level_free_deviations: Matrix
    kendall: Concordance
    icc: IntraclassCorrelations
    evaluators_detail: tuple[EvaluatorFinding, ...]
    mandel_critical: MandelCritical
    sentence: str
    notes: tuple[str, ...]
    without_flagged: Concordance | None
    p_by_condition: float | None = None
    p_holm: float | None = None
    chance_w: float | None = None
    agrees: bool | None = None
    degree: Degree = "unknown"
    degree_without: Degree | None = None
    agrees_in: tuple[str, ...] = ()
    w_in: tuple[float, ...] = ()

    @property
    def reason(self) -> str:
        """Why W is undefined, in words; empty when it is defined."""
        if self.kendall.reason == NOBODY_DISCRIMINATES and self.p_by_condition is not None:
            return "Averaged over the conditions, nobody told the sets apart."
        return self.kendall.reason

    @property
    def nobody_discriminates(self) -> bool:
        """Whether every evaluator gave all sets the same score."""
        return self.reason == NOBODY_DISCRIMINATES


def agreement(
    score_table: "pd.DataFrame",
    scale: Scale,
    limits: FitnessLimits | None = None,
    pair_times: "pd.DataFrame | None" = None,
    only: str | None = None,
) -> tuple[AttributeAgreement, ...]:
    """Judge the agreement on every attribute.

    Parameters
    ----------
    score_table
        As `ratings.study.score_table.read_score_table` returns it: columns ``evaluator, set,
        attribute, score``, and optionally ``condition, repeat, origin``. With ``pair``, ``side``
        (A or B) and ``role`` (candidate, null or repeat) also the errors on hidden pairs and the
        side bias are found; else they are None. A NaN score is missing.
    scale
        The scale of the scores; limits in points follow its length.
    limits
        When something about an evaluator is worth a look; defaults in `FitnessLimits`.
    pair_times
        As `ratings.storage.lead_desk.LeadDesk.pair_times` returns it; None when nobody was timed.
    only
        Return this attribute alone, by the same names, conditions and flags; None returns all.

    Returns
    -------
    tuple of AttributeAgreement
        In the order in which attributes first occur: first over all conditions (an evaluator's
        scores for a set averaged over repeats, then over conditions, as in
        `ratings.statistics.cells.Cells.set_means`), then one per condition when the table holds
        several. Evaluators and sets are in alphabetical order, numbers in
        them by value.
    """
    numbered = number_scores(score_table)
    chosen = limits or FitnessLimits.for_scale(scale)
    paces = {} if pair_times is None else pace_findings(pair_times, chosen.pace)
    looked = judge_evaluators(numbered, chosen, paces)
    blocks = []
    for attribute, name in enumerate(numbered.attributes):
        if only not in (None, name):
            continue
        of_attribute = numbered.attribute == attribute
        blocks.append(_block(numbered, of_attribute, attribute, None, looked, paces))
        if len(numbered.conditions) > 1:
            for condition in np.unique(numbered.condition[of_attribute]):
                rows = of_attribute & (numbered.condition == condition)
                blocks.append(_block(numbered, rows, attribute, int(condition), looked, paces))
    return claimed_together(blocks)


def claimed_together(blocks: Sequence[AttributeAgreement]) -> tuple[AttributeAgreement, ...]:
    """Say on what the panel agrees, each attribute in the light of how many were looked at.

    Parameters
    ----------
    blocks
        All blocks of a study; what was claimed of them apart is claimed anew.

    Notes
    -----
    Over the conditions the attributes are one family at 5 %, all conditions of all attributes
    another (Holm). From the second something is claimed of an attribute at `SINGLE_ALPHA` alone,
    and where the panel does not surely agree over the conditions. An attribute of one condition is
    no further W there: what is said of it over all conditions stands for both. Of null panels no
    more than 6 % are said to agree on anything (``tests/benchmarks/agreement_claims.py``).
    """
    whole = _family([block for block in blocks if block.condition is None])
    single = _single_conditions(blocks, {block.attribute: block for block in whole})
    asked = [block for block in whole if block.p_by_condition is not None]
    p = holm([b.p_by_condition for b in asked if b.p_by_condition is not None])
    shifting = {b.attribute for b, each in zip(asked, p, strict=True) if each <= ALPHA}
    told = [_with_conditions(block, single, block.attribute in shifting) for block in whole]
    by_place = {(block.attribute, block.condition): block for block in (*told, *single)}
    return tuple(by_place[block.attribute, block.condition] for block in blocks)


def _single_conditions(
    blocks: Sequence[AttributeAgreement], whole: Mapping[str, AttributeAgreement]
) -> list[AttributeAgreement]:
    """Judge the blocks of single conditions, each beside the block over all of them."""
    count = Counter(block.attribute for block in blocks if block.condition is not None)
    single = [block for block in blocks if block.condition is not None]
    names = "p_holm", "chance_w", "agrees", "degree", "degree_without", "sentence"
    return _family([block for block in single if count[block.attribute] > 1]) + [
        replace(block, **{name: getattr(whole[block.attribute], name) for name in names})
        for block in single
        if count[block.attribute] == 1
    ]


def _with_conditions(
    whole: AttributeAgreement, single: Sequence[AttributeAgreement], is_shifting: bool
) -> AttributeAgreement:
    """Name the conditions in which the panel agrees, where it does not surely over all of them."""
    if whole.degree in CERTAIN:
        return whole
    found = [
        (block.condition, block.kendall.w)
        for block in single
        if block.attribute == whole.attribute and block.condition and block.kendall.w is not None
        if block.degree in CERTAIN and block.p_holm is not None and block.p_holm <= SINGLE_ALPHA
    ]
    if not found:
        return whole
    conditions, w = tuple(title for title, _ in found), tuple(value for _, value in found)
    words = by_condition_words(conditions, w, is_shifting=is_shifting)
    return replace(whole, agrees_in=conditions, w_in=w, sentence=f"{whole.sentence} {words}")


def _family(blocks: Sequence[AttributeAgreement]) -> list[AttributeAgreement]:
    """Judge blocks that are looked at together."""
    asked = [block.kendall.p for block in blocks if block.kendall.p is not None]
    adjusted = iter(holm(asked).tolist())
    p_holm = [None if block.kendall.p is None else float(next(adjusted)) for block in blocks]
    agreed = sum(p is not None and p <= ALPHA for p in p_holm)
    family = family_words([(b.attribute, b.condition) for b in blocks if b.kendall.p is not None])
    # Every p that Holm accepts lies at or below this level, and every other above it.
    level = ALPHA / max(len(asked) - agreed, 1)
    return [_judged(block, p, level, family) for block, p in zip(blocks, p_holm, strict=True)]


def _judged(
    block: AttributeAgreement, p_holm: float | None, level: float, family: str
) -> AttributeAgreement:
    kendall, without = block.kendall, block.without_flagged
    chance_w = smallest_significant_w(kendall.evaluators, kendall.sets, level)
    is_told = p_holm is not None and (p_holm <= ALPHA or chance_w is not None)
    agrees = p_holm <= ALPHA if p_holm is not None and is_told else None
    degree = degree_of(kendall, agrees)
    return replace(
        block,
        p_holm=p_holm,
        chance_w=chance_w,
        agrees=agrees,
        degree=degree,
        degree_without=(
            None
            if without is None
            else degree_of(without, None if without.p is None else without.p <= level)
        ),
        agrees_in=(),
        w_in=(),
        sentence=(
            block.reason
            if kendall.w is None
            else agreement_sentence(kendall, degree, chance_w, p_holm, family)
        ),
    )


def degree_of(kendall: Concordance, agrees: bool | None) -> Degree:
    """Say how far a panel agrees that does so more than by chance, or does not.

    "Well" is a W of `USABLE_W`, "loosely" one below it, and "not certain" either of them where the
    interval reaches down to what chance alone gives on average: a panel may then be held together
    by some of its evaluators.
    """
    if agrees is None or kendall.w is None:
        return "unknown"
    if not agrees:
        return "not above chance"
    if not kendall.is_common_order_certain:
        return "not certain"
    return "well" if kendall.w >= USABLE_W else "loosely"


def _block(
    numbered: NumberedScores,
    rows: npt.NDArray[np.bool_],
    attribute: int,
    condition: int | None,
    looked: Mapping[str, EvaluatorJudgement],
    paces: Mapping[str, PaceFinding],
) -> AttributeAgreement:
    scores = numbered.only(rows)
    shape = len(scores.evaluators), len(scores.sets), len(scores.conditions)
    cells = gather_cells(scores.score, scores.evaluator, scores.set_, scores.condition, shape)
    cells, kept_evaluators, kept_sets = _rated(cells)
    means = cells.set_means()
    kendall, icc = concordance(means), intraclass_correlations(means)
    if not can_be_separated(cells.counts > 0):
        kendall = Concordance(len(means), means.shape[1], left_out=0, reason=_UNTIED)
        icc = replace(icc, forms=tuple(IntraclassCorrelation(f, reason=_UNTIED) for f in FORMS))
    evaluators = tuple(scores.evaluators[i] for i in kept_evaluators)
    sets = tuple(scores.sets[i] for i in kept_sets)
    detail = evaluator_findings(scores, cells, kept_evaluators, looked, paces)
    deviations = means - mean_of_known(means, axis=0)
    flagged = np.array([bool(finding.reasons) for finding in detail], dtype=bool)
    return AttributeAgreement(
        attribute=scores.attributes[attribute],
        condition=None if condition is None else scores.conditions[condition],
        sets=sets,
        evaluators=evaluators,
        missing=int(np.isnan(means).sum()),
        scores=means,
        deviations=deviations,
        level_free_deviations=deviations - mean_of_known(deviations, axis=1)[:, None],
        kendall=kendall,
        icc=icc,
        evaluators_detail=detail,
        mandel_critical=_mandel_critical(cells),
        sentence="",
        notes=agreement_notes(scores, cells, kendall, evaluators, sets),
        without_flagged=(
            concordance(means[~flagged]) if flagged.any() and (~flagged).sum() >= 2 else None
        ),
        p_by_condition=None if condition is not None else _p_by_condition(cells),
    )


def _mandel_critical(cells: Cells) -> MandelCritical:
    evaluators, repeats = cells.counts.shape[0], int(cells.counts.max(initial=0))
    h, k = mandel_h_critical(evaluators, 0.01), mandel_k_critical(evaluators, repeats, 0.01)
    return MandelCritical(None if np.isnan(h) else h, None if np.isnan(k) else k)


def _p_by_condition(cells: Cells) -> float | None:
    found = set_by_condition(cells)
    return None if found is None else found.p_uneven


def _rated(cells: Cells) -> tuple[Cells, npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Leave out evaluators and sets that have no score at all in this block."""
    evaluators = np.flatnonzero(cells.counts.any(axis=(1, 2)))
    sets = np.flatnonzero(cells.counts.any(axis=(0, 2)))
    chosen = np.ix_(evaluators, sets, np.arange(cells.counts.shape[2]))
    kept = Cells(cells.counts[chosen], cells.means[chosen], cells.scatter[chosen])
    return kept, evaluators, sets
