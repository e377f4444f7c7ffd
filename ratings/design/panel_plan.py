"""How many evaluators, how long: what a study of so many sets asks, and what it can find."""

from dataclasses import dataclass

from ratings.design.session_length import LONGEST_STRETCH_S, break_positions, seconds_per_pair
from ratings.errors import DesignError
from ratings.statistics.agreement.icc import IccPrecision, icc_precision
from ratings.statistics.agreement.kendall import smallest_significant_w
from ratings.statistics.planning.claim_power import (
    claim_power,
    claimable_difference,
    evaluators_to_claim,
)
from ratings.statistics.planning.paired_power import (
    detectable_difference,
    evaluators_needed,
    fewest_for_an_exact_test,
    paired_power,
)
from ratings.study.constants import ALPHA

#: A short rest between two stretches, in seconds: our judgement, no source.
BREAK_S = 5 * 60.0
#: Agreement of one evaluator with another at which the interval is shown: common practice.
TYPICAL_ICC = 0.75
MOST_SETS, MOST_EVALUATORS, MOST_ATTRIBUTES = 1000, 1000, 1000


@dataclass(frozen=True, slots=True)
class PlannedStudy:
    """What is asked for.

    Attributes
    ----------
    sets
        With the control.
    evaluators, conditions, attributes
        Of the panel and the form.
    clip_s
        Length of a clip in seconds.
    difference
        True difference to the control, in score points, that should be found.
    sd
        Standard deviation over evaluators of that difference, in score points: of each evaluator's
        own mean over conditions and repeats. It holds how far they disagree about the set, how
        well each repeats himself, and the steps of the scale. An earlier study tells it: the
        standard error of a difference times the root of the number of evaluators.
    """

    sets: int
    evaluators: int
    conditions: int = 1
    attributes: int = 7
    clip_s: float = 8.0
    difference: float = 0.5
    sd: float = 0.75


@dataclass(frozen=True, slots=True)
class Finding:
    """What a panel can find, two-sided at 5 %.

    Attributes
    ----------
    power
        Chance that the difference is found; None with one evaluator.
    detectable_difference
        Difference found with a chance of 80 %; None where there is none.
    evaluators_needed
        Panel that finds the difference with a chance of 80 %; None for more than any panel has.
    """

    power: float | None
    detectable_difference: float | None
    evaluators_needed: int | None


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """What it takes and what it can find.

    Attributes
    ----------
    study
        What was asked for.
    pairs_per_session
        Every candidate against the control in every condition, one null pair and one repeat.
    minutes_listening, minutes
        Without and with breaks.
    breaks_after_pairs
        After how many pairs a break is proposed.
    all_pairs
        Pairs when every set is compared with every other in one condition, each once.
    smallest_w
        Smallest W that means anything for this panel; None when even complete agreement would
        not.
    chance_w
        The same among all planned attributes.
    claim
        That the verdict calls one named set clear on one named attribute, adjusted for the other
        candidates and attributes; at least, if the set differs on others as well.
    alone
        That one comparison on one attribute is significant, as if nothing else were asked.
    fewest_for_exact_test
        Panel under which the exact signed-rank test cannot be significant.
    icc
        The interval of ICC to expect; None with one evaluator.
    """

    study: PlannedStudy
    pairs_per_session: int
    minutes_listening: float
    minutes: float
    breaks_after_pairs: tuple[int, ...]
    all_pairs: int
    smallest_w: float | None
    chance_w: float | None
    claim: Finding
    alone: Finding
    fewest_for_exact_test: int
    icc: IccPrecision | None


def plan_panel(study: PlannedStudy) -> PanelPlan:
    """Work out a plan.

    Raises
    ------
    DesignError
        When a number cannot be what it is said to be.

    Notes
    -----
    Power and panel size stand on the standard deviation over evaluators, which only an earlier
    study tells; between 0.5 and 1 point are common practice, no source.
    """
    _refuse_nonsense(study)
    pairs = (study.sets - 1) * study.conditions + 2
    pair_s = seconds_per_pair(study.attributes, study.clip_s)
    breaks = break_positions(pairs, pair_s)
    seconds = pairs * pair_s
    return PanelPlan(
        study=study,
        pairs_per_session=pairs,
        minutes_listening=seconds / 60,
        minutes=(seconds + BREAK_S * len(breaks)) / 60,
        breaks_after_pairs=breaks,
        all_pairs=study.sets * (study.sets - 1) // 2,
        smallest_w=smallest_significant_w(study.evaluators, study.sets),
        chance_w=smallest_significant_w(study.evaluators, study.sets, ALPHA / study.attributes),
        claim=_claim(study),
        alone=_alone(study),
        fewest_for_exact_test=fewest_for_an_exact_test(),
        icc=icc_precision(TYPICAL_ICC, study.sets, study.evaluators),
    )


def _claim(study: PlannedStudy) -> Finding:
    of_all = study.sets - 1, study.attributes
    return Finding(
        claim_power(study.difference, study.sd, study.evaluators, *of_all)
        if study.evaluators > 1
        else None,
        claimable_difference(study.sd, study.evaluators, *of_all),
        evaluators_to_claim(study.difference, study.sd, *of_all),
    )


def _alone(study: PlannedStudy) -> Finding:
    return Finding(
        paired_power(study.difference, study.sd, study.evaluators)
        if study.evaluators > 1
        else None,
        detectable_difference(study.sd, study.evaluators),
        evaluators_needed(study.difference, study.sd),
    )


def _refuse_nonsense(study: PlannedStudy) -> None:
    refusals = (
        (study.sets < 2, "A study needs two sets or more: the control and a candidate."),
        (study.sets > MOST_SETS, f"More than {MOST_SETS} sets cannot be planned."),
        (study.evaluators < 1, "A panel needs at least one evaluator."),
        (
            study.evaluators > MOST_EVALUATORS,
            f"More than {MOST_EVALUATORS} evaluators is no panel.",
        ),
        (study.conditions < 1, "A study needs at least one condition."),
        (study.attributes < 1, "A form needs at least one attribute."),
        (study.attributes > MOST_ATTRIBUTES, f"More than {MOST_ATTRIBUTES} attributes is no form."),
        (not 0 < study.clip_s <= LONGEST_STRETCH_S, "A clip lasts between 0 and 1200 seconds."),
        (not 0 < study.difference < 1e6, "The difference must be a number of points above 0."),
        (not 0 < study.sd < 1e6, "The standard deviation must be a number of points above 0."),
    )
    for refused, sentence in refusals:
        if refused:
            raise DesignError(sentence)
