"""Figures of each evaluator on one attribute, with what to look at. Flags, never drops."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.findings.evaluator_reasons import EvaluatorJudgement
from ratings.findings.numbered_scores import NumberedScores
from ratings.findings.pair_findings import PairHabits, pair_habits
from ratings.findings.pair_pace import PaceFinding
from ratings.findings.stray_scores import StrayScore
from ratings.statistics.agreement.evaluators import PanelFitness, panel_fitness
from ratings.statistics.cells import Cells

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EvaluatorFinding:
    """One evaluator on one attribute. None where a figure is undefined.

    Attributes
    ----------
    repeat_sd
        Standard deviation of repeats of the same set in the same condition, in score points.
    discrimination_f, discrimination_p
        Whether the sets are separated beyond that; `discrimination_f` may be infinite.
    bias
        Mean of own score minus the panel's, in score points.
    correlation_with_others
        With the mean of the others, over sets.
    mandel_h, mandel_k
        The largest over sets, in magnitude and with its sign for h.
    mandel_h_by_set, mandel_k_by_set
        All of them, in the order of the block's sets.
    null_pair_error, repeat_pair_error, side_bias
        In score points; see `ratings.statistics.agreement.pair_habits`.
    lowest, highest, whole_number_share, set_sd, slope_on_panel
        How the scale is used.
    pace
        Time per pair, the same for every attribute; None without timed pairs.
    reasons
        Why this evaluator is flagged, over the whole study and so the same for every attribute and
        condition; empty when there is nothing. See `ratings.findings.evaluator_reasons`.
    stray
        One score of this block that looks like a slip, in words; no flag. Empty without one.
    """

    evaluator: str
    repeat_sd: float | None
    discrimination_f: float | None
    discrimination_p: float | None
    bias: float | None
    correlation_with_others: float | None
    mandel_h: float | None
    mandel_k: float | None
    mandel_h_by_set: tuple[float | None, ...]
    mandel_k_by_set: tuple[float | None, ...]
    null_pair_error: float | None
    repeat_pair_error: float | None
    side_bias: float | None
    lowest: float | None
    highest: float | None
    whole_number_share: float | None
    set_sd: float | None
    slope_on_panel: float | None
    pace: PaceFinding | None
    reasons: tuple[str, ...]
    stray: str

    @property
    def remarks(self) -> tuple[str, ...]:
        """The reasons, and what is to be checked in this block."""
        return (*self.reasons, self.stray) if self.stray else self.reasons


def evaluator_findings(
    scores: NumberedScores,
    cells: Cells,
    kept_evaluators: npt.NDArray[np.intp],
    judgements: Mapping[str, EvaluatorJudgement],
    paces: Mapping[str, PaceFinding],
) -> tuple[EvaluatorFinding, ...]:
    """Work out every evaluator's figures in a block.

    Parameters
    ----------
    scores
        The block's scores.
    cells
        The same gathered, evaluators and sets without a score left out.
    kept_evaluators
        Which ones were kept.
    judgements
        What to look at, by evaluator.
    paces
        Time per pair by evaluator, of those who have one.
    """
    fitness = panel_fitness(cells)
    habits = pair_habits(scores)
    scale_use = _scale_use(scores)
    findings = []
    for row, index in enumerate(kept_evaluators):
        evaluator = scores.evaluators[index]
        own_habits = _habits_of(habits, int(index))
        own_use = tuple(_known(values[index]) for values in scale_use)
        judgement, pace = judgements.get(evaluator, EvaluatorJudgement()), paces.get(evaluator)
        stray = (
            ""
            if judgement.stray is None or not _holds(scores, judgement.stray)
            else judgement.stray.sentence
        )
        findings.append(
            _finding(evaluator, row, fitness, own_habits, own_use, pace, judgement.reasons, stray)
        )
    return tuple(findings)


def _holds(scores: NumberedScores, stray: StrayScore) -> bool:
    if not scores.score.size or scores.attributes[scores.attribute[0]] != stray.attribute:
        return False
    return stray.condition in {scores.conditions[each] for each in np.unique(scores.condition)}


def _finding(
    evaluator: str,
    row: int,
    fitness: PanelFitness,
    habits: tuple[float | None, ...],
    scale_use: tuple[float | None, ...],
    pace: PaceFinding | None,
    reasons: tuple[str, ...],
    stray: str,
) -> EvaluatorFinding:
    return EvaluatorFinding(
        evaluator=evaluator,
        repeat_sd=_known(fitness.repeat_sd[row]),
        discrimination_f=_known(fitness.discrimination_f[row]),
        discrimination_p=_known(fitness.discrimination_p[row]),
        bias=_known(fitness.bias[row]),
        correlation_with_others=_known(fitness.correlation_with_others[row]),
        mandel_h=_largest(fitness.h[row]),
        mandel_k=_largest(fitness.k[row]),
        mandel_h_by_set=tuple(_known(value) for value in fitness.h[row]),
        mandel_k_by_set=tuple(_known(value) for value in fitness.k[row]),
        null_pair_error=habits[0],
        repeat_pair_error=habits[1],
        side_bias=habits[2],
        lowest=scale_use[0],
        highest=scale_use[1],
        whole_number_share=scale_use[2],
        set_sd=_known(fitness.set_sd[row]),
        slope_on_panel=_known(fitness.slope_on_panel[row]),
        pace=pace,
        reasons=reasons,
        stray=stray,
    )


def _known(value: float) -> float | None:
    return None if math.isnan(value) else float(value)


def _largest(values: Matrix) -> float | None:
    known = values[~np.isnan(values)]
    return float(known[np.argmax(np.abs(known))]) if known.size else None


def _habits_of(habits: PairHabits | None, index: int) -> tuple[float | None, ...]:
    if habits is None:
        return None, None, None
    figures = habits.null_pair_error, habits.repeat_pair_error, habits.side_bias
    return tuple(_known(values[index]) for values in figures)


def _scale_use(scores: NumberedScores) -> tuple[Matrix, Matrix, Matrix]:
    given = ~np.isnan(scores.score)
    who, values = scores.evaluator[given], scores.score[given]
    evaluators = len(scores.evaluators)
    lowest, highest = np.full(evaluators, np.inf), np.full(evaluators, -np.inf)
    np.minimum.at(lowest, who, values)
    np.maximum.at(highest, who, values)
    number = np.bincount(who, minlength=evaluators)
    whole = np.bincount(who, np.abs(values - np.round(values)) < 1e-9, evaluators)
    nobody = number == 0
    lowest[nobody] = highest[nobody] = np.nan
    return lowest, highest, np.where(nobody, np.nan, whole / np.maximum(number, 1))
