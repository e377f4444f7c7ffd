"""Is it enough? What may be said while sessions run, at any look, without cheating."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from ratings.findings.differences import DEFAULT_MARGIN_SHARE, refuse_unknown_control
from ratings.findings.differences_unit import Unit, step_of, unit_of
from ratings.findings.enough_words import headline, notes, reach_words, row_sentence
from ratings.findings.numbered_scores import NumberedScores, number_scores
from ratings.statistics.distributions import t_quantile
from ratings.statistics.missing import mean_of_known, ratio
from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM, claim_critical
from ratings.statistics.sequential.looks import Plan, bounds_by_holm, look_at
from ratings.statistics.sequential.mixture import t_to_reach
from ratings.statistics.sequential.outlook import LIKELY, Known, chance_to_settle
from ratings.study.attributes import Scale
from ratings.study.constants import ALPHA

if TYPE_CHECKING:
    import pandas as pd

Matrix = npt.NDArray[np.float64]

Analysis = Literal["looking", "final", "extended", "no plan"]
State = Literal[
    "settled: better", "settled: worse", "settled: too small to matter", "open", "too few"
]

#: So many more evaluators are looked ahead where no plan says how many may come (our judgement).
MOST_AHEAD = 12


@dataclass(frozen=True, slots=True)
class EnoughRow:
    """One set against the control on one attribute, as a look finds it.

    Attributes
    ----------
    attribute, set
        As in the score table.
    evaluators
        Of those who have finished, who rated both this set and the control.
    state
        What may be said now.
    difference
        Set minus control in score points, mean of the evaluators' own; positive is better. None
        where nobody rated both.
    lower, upper
        Interval of this difference alone that holds at every look: what the same test would not
        reject. Where a panel is planned, the final verdict's interval and all of these hold
        together with 94 %. None as long as so few evaluators leave every difference open.
    evidence
        Likelihood ratio for a difference against none; None with fewer than two evaluators.
    bound
        What the evidence must reach, adjusted for all sets and attributes (Holm).
    more
        Smallest number of further evaluators that would settle it with a chance of 80 %, the final
        verdict included; 0 where it is settled, None where no number in reach would.
    chance
        That it is settled once the plan is complete, or after `MOST_AHEAD` more evaluators where
        there is no plan; 1 where it is settled, None where too few tell.
    sentence
        The row in words.
    """

    attribute: str
    set: str
    evaluators: int
    state: State
    difference: float | None = None
    lower: float | None = None
    upper: float | None = None
    evidence: float | None = None
    bound: float | None = None
    more: int | None = None
    chance: float | None = None
    sentence: str = ""

    @property
    def is_settled(self) -> bool:
        """Whether more evaluators are not needed for it."""
        return self.state.startswith("settled")


@dataclass(frozen=True, slots=True)
class Enough:
    """What may be said of a study now, and how much more it would take.

    Attributes
    ----------
    analysis
        Which verdict is valid now: "final" when exactly the planned evaluators have finished,
        "looking" before, "extended" after, "no plan" where no number was planned.
    evaluators
        Who have finished.
    planned
        How many should; None where no number was planned.
    control, margin
        The set that others are compared with; difference in score points that does not matter.
    rows
        By attribute and set, in the order of the score table; none when the final verdict counts,
        which is `ratings.findings.differences.differences`.
    headline
        The finding in one or two sentences.
    notes
        What a reader must know beside it.
    """

    analysis: Analysis
    evaluators: int
    planned: int | None
    control: str
    margin: float
    rows: tuple[EnoughRow, ...]
    headline: str
    notes: tuple[str, ...]


def enough(
    score_table: "pd.DataFrame",
    finished: Collection[str],
    control: str,
    scale: Scale,
    margin: float | None = None,
    planned: int | None = None,
) -> Enough:
    """Judge the evaluators who have finished so that it may be done at any time.

    Parameters
    ----------
    score_table, control, scale, margin
        As for `ratings.findings.differences.differences`.
    finished
        Names of the evaluators who have finished; the scores of others are not used, because whom
        they rated first is no sample of what they will say.
    planned
        With how many evaluators the study ends, as it was said before the first look; None where
        it was not.

    Raises
    ------
    ScoreTableError
        When the control is not among the sets.

    Notes
    -----
    Each set is compared with the control on each attribute by the evaluators' own mean differences
    over conditions. No claim is made for single conditions: these belong to the final verdict. That
    a difference is too small to matter is judged row by row, as there.
    """
    everything = number_scores(score_table)
    refuse_unknown_control("The score table", control, everything.sets)
    points = scale.high - scale.low
    chosen = DEFAULT_MARGIN_SHARE * points if margin is None else margin
    wanted = np.array([name in finished for name in everything.evaluators], dtype=np.bool_)
    used = everything.only(wanted[everything.evaluator] & ~np.isnan(everything.score))
    count = int(np.unique(used.evaluator).size)
    analysis = _analysis(count, planned)
    rows: tuple[EnoughRow, ...] = ()
    if analysis != "final":
        step = step_of(used.score, DEFAULT_MARGIN_SHARE * points)
        plan = Plan(planned if analysis == "looking" else None)
        rows = _rows(used, everything.sets.index(control), step, chosen, plan, count)
    reach = reach_words(analysis, planned, MOST_AHEAD)
    alone = len(rows) < 2
    rows = tuple(
        replace(row, sentence=row_sentence(row, chosen, reach, is_alone=alone)) for row in rows
    )
    return Enough(
        analysis=analysis,
        evaluators=count,
        planned=planned,
        control=control,
        margin=chosen,
        rows=rows,
        headline=headline(analysis, rows, count, planned, reach),
        notes=notes(analysis),
    )


def _analysis(evaluators: int, planned: int | None) -> Analysis:
    if planned is None:
        return "no plan"
    if evaluators == planned:
        return "final"
    return "looking" if evaluators < planned else "extended"


def _rows(
    scores: NumberedScores, control: int, step: float, margin: float, plan: Plan, finished: int
) -> tuple[EnoughRow, ...]:
    others = [index for index in range(len(scores.sets)) if index != control]
    values, rounding, looked_in = _differences(scores, control, others, step)
    looked = look_at(values, rounding)
    judged = np.where(looked.evaluators < FEWEST_TO_CLAIM, np.nan, looked.evidence)
    bounds, is_clear = bounds_by_holm(judged, plan.bound)
    is_open = int((~is_clear).sum())
    family = _Family(plan, finished, len(others), len(scores.attributes), is_open, looked.usual_sd)
    rows = []
    for place, (attribute, set_) in enumerate(np.ndindex(len(scores.attributes), len(others))):
        count, mean, sd = (
            each[place].item() for each in (looked.evaluators, looked.mean, looked.sd)
        )
        half = plan.half_width(count, sd)
        reach = max(abs(mean) + half, float(looked_in[place]))
        state = _state(count, mean, reach, margin, is_clear=bool(is_clear[place]))
        chance = np.ones(1)
        if state == "open":
            evidence = looked.evidence[place].item()
            known = Known(count, mean, sd, evidence, math.sqrt(rounding[place]), family.usual_sd)
            chance = family.chance(known, margin)
        row = EnoughRow(
            attribute=scores.attributes[attribute],
            set=scores.sets[others[set_]],
            evaluators=count,
            state=state,
            difference=None if math.isnan(mean) else mean,
            lower=mean - half if math.isfinite(half) else None,
            upper=mean + half if math.isfinite(half) else None,
            evidence=None if count < 2 else _ratio(looked.evidence[place].item()),
            bound=_ratio(bounds[place].item()),
            more=_more(state, chance),
            chance=None if state == "too few" else float(chance[-1]),
        )
        rows.append(row)
    return tuple(rows)


def _differences(
    scores: NumberedScores, control: int, others: Sequence[int], step: float
) -> tuple[Matrix, Matrix, Matrix]:
    """Return differences to the control by evaluator, and what rounding alone scatters them by.

    Shapes (evaluators, comparisons) and (comparisons,): attribute by attribute, then set by set.
    The third is the largest mean difference in any condition: an average that is small because
    conditions point opposite ways is not.
    """
    largest = np.zeros((len(scores.attributes), len(others)))
    values = np.full((len(scores.evaluators), len(scores.attributes), len(others)), np.nan)
    rounding = np.full(values.shape[1:], step**2 / 6)
    for attribute in range(len(scores.attributes)):
        unit = unit_of(scores.only(scores.attribute == attribute), control, step)
        if unit is None:
            continue
        columns = {int(index): column for column, index in enumerate(unit.sets)}
        for place, set_ in enumerate(others):
            if set_ in columns:
                column = columns[set_]
                values[unit.evaluators, attribute, place] = unit.to_control[:, column]
                rounding[attribute, place] = _rounding(unit, column)
                in_each = [unit.in_condition(column, c) for c in range(unit.conditions.size)]
                means = [abs(float(mean_of_known(each, axis=0))) for each in in_each]
                largest[attribute, place] = max(m for m in means if not math.isnan(m))
    return values.reshape(len(values), -1), rounding.ravel(), largest.ravel()


def _rounding(unit: Unit, column: int) -> float:
    """Return the variance that steps give an evaluator's difference, the mean over evaluators."""
    counts = unit.cells.counts
    parts = (
        [counts[:, column]]
        if unit.control is None
        else [counts[:, column], counts[:, unit.control]]
    )
    both = np.all([part > 0 for part in parts], axis=0)
    of_one = sum(ratio(np.where(both, 1.0, 0.0), part) for part in parts)
    known = both.sum(axis=1)
    each = ratio(np.where(both, of_one, 0.0).sum(axis=1), np.square(known))
    return float(unit.rounding * mean_of_known(each, axis=0)) if known.any() else unit.rounding


@dataclass(frozen=True, slots=True)
class _Family:
    """What further evaluators must show, for comparisons that share the level."""

    plan: Plan
    finished: int
    candidates: int
    attributes: int
    open: int
    usual_sd: float | None

    def chance(self, known: Known, margin: float) -> Matrix:
        """Return the chance that a comparison is settled by each of the next evaluators."""
        return chance_to_settle(known, *_asked(self, known.evaluators), margin)


@lru_cache(maxsize=64)
def _asked(family: _Family, evaluators: int) -> tuple[Matrix, Matrix]:
    """Return the t that calls a comparison clear, and too small, after each of the next."""
    plan = family.plan
    ahead = MOST_AHEAD if plan.planned is None else plan.planned - family.finished
    counts = range(evaluators + 1, evaluators + ahead + 1)
    clear = [t_to_reach(plan.bound(family.open), count) for count in counts]
    same = [t_to_reach(plan.bound(), count) for count in counts]
    if plan.planned is not None:
        # The last one completes the panel: the final verdict decides.
        clear[-1] = claim_critical(counts[-1], family.candidates, family.attributes)
        same[-1] = t_quantile(1 - ALPHA, counts[-1] - 1)
    return np.array(clear), np.array(same)


def _state(count: int, mean: float, reach: float, margin: float, *, is_clear: bool) -> State:
    if count < FEWEST_TO_CLAIM:
        return "too few"
    if is_clear:
        return "settled: better" if mean > 0 else "settled: worse"
    return "settled: too small to matter" if reach <= margin else "open"


def _more(state: State, chance: Matrix) -> int | None:
    if state == "too few":
        return None
    if state != "open":
        return 0
    return int(np.argmax(chance >= LIKELY)) + 1 if chance[-1] >= LIKELY else None


def _ratio(logarithm: float) -> float | None:
    return math.exp(min(logarithm, 700.0)) if math.isfinite(logarithm) else None
