"""What to look at in each evaluator, with the reason in plain words. Flags, never drops."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_scores import NumberedScores
from ratings.findings.pair_findings import PairHabits, pair_habits
from ratings.findings.pair_pace import PaceFinding, PaceLimits
from ratings.statistics.agreement.evaluators import PanelFitness, panel_fitness
from ratings.statistics.agreement.mandel import mandel_h_critical, mandel_k_critical
from ratings.statistics.cells import Cells
from ratings.study.attributes import Scale

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FitnessLimits:
    """When something about an evaluator is worth a look: settings, our judgement.

    Attributes
    ----------
    null_pair_error, repeat_pair_error, side_bias
        In score points; more than half a point on a scale of nine.
    correlation_with_others
        Below this an evaluator is said to rank the sets unlike the others; asked only where the
        panel as a whole agrees (ISO 11132:2021 judges on such attributes only, from memory).
    alpha
        Level for Mandel's h and k over all sets of an attribute; ISO 5725-2 calls 1 % an outlier.
    standing_out
        In score points: h and k are passed over below this deviation or scatter, because scores
        in steps make a panel of equal scores and one quarter-point an outlier.
    fewest_evaluators
        h and k are passed over in smaller panels: of three, whoever is not one of two who agree
        exactly would always stand out.
    fewest_discrimination_df
        With fewer degrees of freedom left by repeats and conditions, that an evaluator does not
        separate the sets says nothing: the test has no power.
    pace
        When an evaluator is much faster than the panel.
    """

    null_pair_error: float = 0.5
    repeat_pair_error: float = 0.5
    side_bias: float = 0.5
    correlation_with_others: float = 0.3
    alpha: float = 0.01
    standing_out: float = 0.5
    fewest_evaluators: int = 5
    fewest_discrimination_df: int = 8
    pace: PaceLimits = field(default_factory=PaceLimits)

    @classmethod
    def for_scale(cls, scale: Scale) -> "FitnessLimits":
        """Return the default limits, stretched to a scale of another length."""
        half_point = 0.5 * (scale.high - scale.low) / 9
        return cls(half_point, half_point, half_point, standing_out=half_point)


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
        What to look at, in words; empty when there is nothing.
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


def evaluator_findings(
    scores: NumberedScores,
    cells: Cells,
    kept_evaluators: npt.NDArray[np.intp],
    kept_sets: npt.NDArray[np.intp],
    limits: FitnessLimits,
    paces: Mapping[str, PaceFinding],
    *,
    panel_agrees: bool,
) -> tuple[EvaluatorFinding, ...]:
    """Judge every evaluator of a block.

    Parameters
    ----------
    scores
        The block's scores.
    cells
        The same gathered, evaluators and sets without a score left out.
    kept_evaluators, kept_sets
        Which ones were kept.
    paces
        Time per pair by evaluator, of those who have one.
    """
    fitness = panel_fitness(cells)
    habits = pair_habits(scores)
    scale_use = _scale_use(scores)
    sets = [scores.sets[index] for index in kept_sets]
    critical = _critical_values(cells, limits.alpha)
    findings = []
    for row, index in enumerate(kept_evaluators):
        reasons = _reasons(row, int(index), fitness, habits, limits, panel_agrees=panel_agrees)
        if len(kept_evaluators) >= limits.fewest_evaluators:
            reasons += _standing_out(row, fitness, sets, critical, limits.standing_out)
        evaluator = scores.evaluators[index]
        pace = paces.get(evaluator)
        if pace is not None and pace.reason:
            reasons.append(pace.reason)
        own_habits = _habits_of(habits, int(index))
        own_use = tuple(_known(values[index]) for values in scale_use)
        findings.append(
            _finding(evaluator, row, fitness, own_habits, own_use, pace, tuple(reasons))
        )
    return tuple(findings)


def _finding(
    evaluator: str,
    row: int,
    fitness: PanelFitness,
    habits: tuple[float | None, ...],
    scale_use: tuple[float | None, ...],
    pace: PaceFinding | None,
    reasons: tuple[str, ...],
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


def _critical_values(cells: Cells, alpha: float) -> tuple[float, float]:
    evaluators, sets, _ = cells.counts.shape
    repeats = int(cells.counts.max(initial=0))
    # Every set is one more chance to stand out, so each gets its share of the level.
    share = alpha / max(sets, 1)
    return mandel_h_critical(evaluators, share), mandel_k_critical(evaluators, repeats, share)


def _reasons(
    row: int,
    index: int,
    fitness: PanelFitness,
    habits: PairHabits | None,
    limits: FitnessLimits,
    *,
    panel_agrees: bool,
) -> list[str]:
    reasons = []
    if habits is not None:
        bias = habits.side_bias[index]
        if abs(bias) > limits.side_bias:
            reasons.append(f"rates {'A' if bias > 0 else 'B'} higher")
        if habits.null_pair_error[index] > limits.null_pair_error:
            reasons.append(f"scored the null pair {habits.null_pair_error[index]:.2f} apart")
        if habits.repeat_pair_error[index] > limits.repeat_pair_error:
            reasons.append(f"repeat differs by {habits.repeat_pair_error[index]:.2f}")
    if panel_agrees and fitness.correlation_with_others[row] < limits.correlation_with_others:
        reasons.append("ranks the sets unlike the others")
    has_repeats = fitness.discrimination_df2[row] >= limits.fewest_discrimination_df
    if panel_agrees and has_repeats and fitness.discrimination_p[row] > 0.05:
        reasons.append("does not separate the sets")
    return reasons


def _standing_out(
    row: int, fitness: PanelFitness, sets: list[str], critical: tuple[float, float], least: float
) -> list[str]:
    reasons = []
    h, k = np.nan_to_num(fitness.h[row]), np.nan_to_num(fitness.k[row])
    if h.size and np.abs(h).max() > critical[0]:
        column = int(np.argmax(np.abs(h)))
        apart = fitness.deviations[row, column]
        if abs(apart) > least:
            way = "higher" if apart > 0 else "lower"
            reasons.append(f"rates set {sets[column]} {way} than the panel by {abs(apart):.2f}")
    if k.size and k.max() > critical[1]:
        column = int(np.argmax(k))
        if fitness.repeat_sd_by_set[row, column] > least:
            reasons.append(f"scatters on set {sets[column]} more than the others")
    return reasons
