"""What a study's plan amounts to, in a sentence each: its sessions, and what its panel can find."""

from collections.abc import Mapping

from ratings.design.orders import plan_session
from ratings.design.session_length import break_positions, seconds_per_pair
from ratings.design.study_plan import StudyPlan
from ratings.study.wording import counted


def session_words(plan: StudyPlan, clip_lengths_s: Mapping[int, float]) -> str:
    """Say how many pairs and minutes a plan that lacks nothing asks of each evaluator.

    Parameters
    ----------
    clip_lengths_s
        Length of a clip in seconds, by the id of the condition.
    """
    by_id = {condition.condition_id: condition for condition in plan.conditions}
    pairs = plan_session(
        plan.control.set_id, [s.set_id for s in plan.candidates], list(by_id), plan.seed, 0
    )
    seconds = [
        seconds_per_pair(
            len(plan.attributes_on(by_id[pair.condition_id])), clip_lengths_s[pair.condition_id]
        )
        for pair in pairs
    ]
    compared = f"{counted(len(plan.candidates), 'candidate')} against control {plan.control.name}"
    if len(plan.conditions) > 1:
        compared += f" on {len(plan.conditions)} conditions"
    parts = [
        compared,
        f"{counted(len(pairs), 'pair')} each",
        f"about {counted(max(1, round(sum(seconds) / 60)), 'minute')}",
    ]
    breaks = break_positions(len(pairs), sum(seconds) / len(pairs))
    rest = f" with {counted(len(breaks), 'break')}" if breaks else ""
    return f"Ready: {', '.join(parts)}{rest}."


def panel_words(candidates: int, attributes: int, evaluators: int) -> str:
    """Say which difference of one set on one attribute is called clear with a chance of 80 %.

    Scores of an unknown panel are taken to scatter as in `PlannedStudy`.
    """
    # Inside, so that whoever draws up orders needs no libraries for statistics.
    from ratings.design.panel_plan import PlannedStudy
    from ratings.statistics.planning.claim_power import (
        FEWEST_TO_CLAIM,
        claimable_difference,
        evaluators_to_claim,
    )

    sd = PlannedStudy(2, evaluators).sd
    needed = evaluators_to_claim(0.5, sd, candidates, attributes)
    found = claimable_difference(sd, evaluators, candidates, attributes)
    panel = (
        f"Fewer than {FEWEST_TO_CLAIM} evaluators claim nothing"
        if found is None
        else f"{evaluators} evaluators call a difference of {found:.1f} points clear 4 times in 5"
    )
    return f"{panel}; half a point takes {needed} (SD of their differences {sd:g})."
