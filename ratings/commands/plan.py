"""The command ``plan``: how long a session takes, and what a panel of this size can find."""

import argparse
import math
from dataclasses import asdict

from ratings.commands.common_options import Json, add_json_option, number, printed, whole_number
from ratings.design.orders import hiding_words
from ratings.design.panel_plan import Finding, PanelPlan, PlannedStudy, plan_panel
from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM
from ratings.study.constants import ALPHA
from ratings.study.wording import counted

#: Which chance the figures are that nothing is adjusted for.
ALONE = "looked at alone, as if nothing else were asked"
HELP = "say how long a session takes and what this panel can find"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    usual = PlannedStudy(sets=2, evaluators=1)
    numbers = (
        ("--conditions", whole_number, usual.conditions, "conditions"),
        ("--attributes", whole_number, usual.attributes, "attributes rated for each pair"),
        ("--clip-seconds", number, usual.clip_s, "length of a clip"),
        ("--difference", number, usual.difference, "points that should be found"),
        ("--sd", number, usual.sd, "SD over evaluators of each one's mean difference"),
    )
    parser.add_argument("--sets", type=whole_number, required=True, help="sets, with the control")
    parser.add_argument(
        "--evaluators", type=whole_number, required=True, help="evaluators in the panel"
    )
    for name, kind, default, text in numbers:
        parser.add_argument(name, type=kind, default=default, help=f"{text} (default {default:g})")
    add_json_option(parser)


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed.

    Raises
    ------
    DesignError
        When a number cannot be what it is said to be.
    """
    plan = plan_panel(
        PlannedStudy(
            sets=arguments.sets,
            evaluators=arguments.evaluators,
            conditions=arguments.conditions,
            attributes=arguments.attributes,
            clip_s=arguments.clip_seconds,
            difference=arguments.difference,
            sd=arguments.sd,
        )
    )
    if arguments.json:
        return printed(as_json(plan))
    return as_text(plan)


def as_json(plan: PanelPlan) -> Json:
    """Return the figures; what is undefined is null.

    The chances without a name of their own are of one comparison alone; those of the verdict are
    in ``claim``.
    """
    return {
        **asdict(plan.study),
        "pairs_per_session": plan.pairs_per_session,
        "minutes_listening": plan.minutes_listening,
        "minutes": plan.minutes,
        "breaks_after_pairs": list(plan.breaks_after_pairs),
        "all_pairs": plan.all_pairs,
        "smallest_w_at_5_percent": plan.smallest_w,
        "chance_w": plan.chance_w,
        "alpha": ALPHA,
        "claim": {"chance_that": _claim_words(plan.study), **_finding_json(plan.claim)},
        "chance_that": f"it is significant {ALONE}",
        **_finding_json(plan.alone),
        "fewest_evaluators_for_exact_test": plan.fewest_for_exact_test,
        "icc_to_expect": None if plan.icc is None else asdict(plan.icc),
    }


def _finding_json(found: Finding) -> Json:
    return {
        "power": found.power,
        "detectable_difference_at_80_percent": found.detectable_difference,
        "evaluators_needed_at_80_percent": found.evaluators_needed,
    }


def _claim_words(study: PlannedStudy) -> str:
    """Say which chance the verdict's is."""
    candidates, attributes = study.sets - 1, study.attributes
    which = "the set" if candidates == 1 else f"one named set of {candidates}"
    where = "the attribute" if attributes == 1 else f"one named attribute of {attributes}"
    return f"{which} is called clear on {where}"


def as_text(plan: PanelPlan) -> str:
    """Return the plan for a person to read."""
    return "\n".join([*_session_lines(plan), "", *_panel_lines(plan)]) + "\n"


def _session_lines(plan: PanelPlan) -> list[str]:
    study = plan.study
    lines = [
        f"{study.sets} sets, {counted(study.evaluators, 'evaluator')}, "
        f"{counted(study.conditions, 'condition')}, {counted(study.attributes, 'attribute')}",
        f"  a session: {plan.pairs_per_session} pairs, a null pair and a repeat among them; "
        f"about {math.ceil(plan.minutes)} minutes",
    ]
    if plan.breaks_after_pairs:
        places = ", ".join(map(str, plan.breaks_after_pairs))
        lines.append(f"  breaks proposed after pair {places}; they are counted in")
    hiding = hiding_words(study.sets - 1, study.conditions)
    if hiding:
        lines.append(f"  {hiding}")
    lines.append(f"  every set against every other: {plan.all_pairs} pairs for each condition")
    return lines


def _panel_lines(plan: PanelPlan) -> list[str]:
    study = plan.study
    if study.evaluators == 1:
        return ["  One evaluator cannot agree with anybody: no W, no power."]
    among = f" among {study.attributes} attributes" if study.attributes > 1 else ""
    lines = [
        f"  agreement: too few to tell; chance alone explains any W, even 1.00{among}"
        if plan.chance_w is None
        else f"  agreement: chance alone explains W below {plan.chance_w:.2f}{among}",
        *_finding_lines(plan),
    ]
    if study.evaluators < plan.fewest_for_exact_test:
        lines.append(
            f"  under {plan.fewest_for_exact_test} evaluators the exact signed-rank test cannot "
            "be significant"
        )
    if plan.icc is not None:
        lines.append(
            f"  an ICC of {plan.icc.value:.2f} would come with an interval from "
            f"{plan.icc.lower:.2f} to {plan.icc.upper:.2f}"
        )
    return lines


def _finding_lines(plan: PanelPlan) -> list[str]:
    study, claim = plan.study, plan.claim
    all_asked = [
        counted(number, noun)
        for number, noun in ((study.sets - 1, "candidate"), (study.attributes, "attribute"))
        if number > 1
    ]
    adjusted = f", adjusted for {' and '.join(all_asked)}" if all_asked else ""
    lines = [f"  the verdict{adjusted}:"]
    if claim.power is None or claim.detectable_difference is None:
        lines.append(f"    fewer than {FEWEST_TO_CLAIM} evaluators claim nothing")
    else:
        lines += [
            f"    a true difference of {study.difference:g} of one set on one attribute is called "
            f"clear with a chance of {'at least ' * bool(all_asked)}{_percent(claim.power)}",
            f"    called clear with a chance of 80 %: {claim.detectable_difference:.2f} points",
        ]
    lines.append(f"    {_needed(claim, study.difference)}")
    if all_asked and plan.alone.power is not None:
        lines += [
            f"  the same {ALONE}: chance {_percent(plan.alone.power)}",
            f"    {_needed(plan.alone, study.difference)}",
        ]
    lines.append(
        f"  if the SD over evaluators is {study.sd:g}: of each one's mean difference to the "
        "control, over conditions and repeats"
    )
    return lines


def _needed(found: Finding, difference: float) -> str:
    if found.evaluators_needed is None:
        return f"{difference:g} would take more evaluators than any panel has"
    return f"evaluators needed for {difference:g} at 80 %: {found.evaluators_needed}"


def _percent(chance: float) -> str:
    return "below 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"
