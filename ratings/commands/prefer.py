"""The command ``prefer``: which set is preferred, and do the evaluators choose alike."""

import argparse
from dataclasses import asdict
from pathlib import Path

from ratings.commands.common_options import Json, add_json_option, aligned, printed
from ratings.findings.preference import AttributePreference, EvaluatorChoices, preferences
from ratings.findings.preference_words import headline
from ratings.statistics.preference.worth import ChiSquareTest, Worths
from ratings.study.choice_table import read_choice_table

#: What the figures are.
LEGEND = (
    "log worth: 1 more is chosen 2.7 times as often, with its standard error (se); u: 1 when all",
    "choose alike, about 0 by chance; circles: triples of sets chosen in a circle, of how many;",
    "zeta: 1 without a circle, 0 with as many as can be; p by chance: of so few circles at random.",
)
HELP = "say which set is preferred, from choices between pairs"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "choices",
        type=Path,
        metavar="CHOICES.csv",
        help="columns evaluator,first,second,choice (first, second or none); optional "
        "attribute,condition,repeat",
    )
    add_json_option(parser)


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed.

    Raises
    ------
    ScoreTableError
        When the table cannot be used.
    """
    blocks = preferences(read_choice_table(arguments.choices))
    if arguments.json:
        return printed(as_json(blocks))
    return as_text(blocks)


def as_json(blocks: tuple[AttributePreference, ...]) -> Json:
    """Return the figures by the names of the contract; what is undefined is null."""
    return {"headline": headline(blocks), "attributes": [_block_json(block) for block in blocks]}


def _block_json(block: AttributePreference) -> Json:
    worths = block.worths
    return {
        "attribute": block.attribute,
        "choices": block.choices,
        "no_difference": block.no_difference,
        "missing": block.missing,
        "null_pairs": block.null_pairs,
        "null_pairs_told_apart": block.null_pairs_told_apart,
        "evaluators": len(block.evaluators),
        "sentence": block.sentence,
        "notes": list(block.notes),
        "sets": _sets_json(block),
        "reference": block.sets[0],
        "estimate": _estimate(worths),
        "log_nu": worths.log_nu,
        "log_nu_se": worths.log_nu_se,
        "order_effect": worths.order_effect,
        "order_effect_se": worths.order_effect_se,
        "deviance": None if worths.fit is None else worths.fit.chi_square,
        "deviance_df": None if worths.fit is None else worths.fit.df,
        "deviance_p": None if worths.fit is None else worths.fit.p,
        "equal_worth": _test_json(worths.equal_worth),
        "panel_p": block.panel_p,
        "p_holm": block.p_holm,
        "depends_on_condition": _conditions_json(block),
        "circle": _circle_json(block),
        "reason": worths.reason,
        "thurstone": {
            "places": None if block.places.place is None else block.places.place.tolist(),
            "se": None if block.places.se is None else block.places.se.tolist(),
            "deviance": None if block.places.fit is None else block.places.fit.chi_square,
            "left_out": block.places.left_out,
            "reason": block.places.reason,
        },
        "agreement_u": block.agreement.u,
        "agreement": asdict(block.agreement),
        "transitivity_violations": asdict(block.transitivity),
        "evaluators_detail": [_evaluator_json(detail) for detail in block.evaluators_detail],
    }


def _conditions_json(block: AttributePreference) -> Json:
    found = block.judged.conditions
    within = [
        {
            "condition": each.condition,
            "p_holm": each.p,
            "preferred": None if each.best is None else block.sets[each.best],
        }
        for each in found.within
    ]
    return {"p_holm": found.p, "claimed": found.is_claimed, "conditions": within}


def _circle_json(block: AttributePreference) -> Json | None:
    circle = block.judged.circle
    if circle is None:
        return None
    return {
        "sets": [block.sets[index] for index in circle.sets],
        "p": circle.p,
        "claimed": block.judged.is_circular,
    }


def _estimate(worths: Worths) -> str | None:
    """Name the way in which the worths were found."""
    if worths.log_worth is not None:
        return "maximum likelihood"
    return None if worths.penalised is None else "penalised likelihood (Firth)"


def _sets_json(block: AttributePreference) -> list[Json]:
    worths = block.worths
    figures = {
        "log_worth": worths.log_worth,
        "se": worths.se,
        "penalised_log_worth": worths.penalised,
        "penalised_se": worths.penalised_se,
    }
    return [
        {
            "set": name,
            **{key: None if each is None else float(each[index]) for key, each in figures.items()},
            "chosen": int(block.chosen[index]),
            "compared": int(block.compared[index]),
        }
        for index, name in enumerate(block.sets)
    ]


def _test_json(test: ChiSquareTest | None) -> Json:
    if test is None:
        return {"chi_square": None, "df": None, "p": None}
    return asdict(test)


def _evaluator_json(detail: EvaluatorChoices) -> Json:
    return {"evaluator": detail.evaluator, **asdict(detail.consistency)}


def as_text(blocks: tuple[AttributePreference, ...]) -> str:
    """Return the figures for a person to read."""
    lines = [headline(blocks)] if len(blocks) > 1 else []
    for block in blocks:
        lines += [""] * bool(lines)
        lines += [block.attribute] if block.attribute else []
        lines.append(f"  {block.sentence}")
        lines += [f"  {line}" for line in _set_lines(block)]
        lines += [f"  {line}" for line in _effect_lines(block.worths)]
        lines += [f"  {line}" for line in _equal_lines(block.worths.equal_worth)]
        agreement = block.agreement
        lines.append(
            f"  agreement between evaluators: u {agreement.u:.3f}{_probability(agreement.p)}"
            if agreement.u is not None
            else f"  agreement between evaluators undefined: {agreement.reason}"
        )
        lines += [f"  {note}" for note in block.notes]
        lines += [f"  {line}" for line in _evaluator_lines(block.evaluators_detail)]
    if blocks:
        lines += ["", *LEGEND]
    return "\n".join(lines) + "\n"


def _set_lines(block: AttributePreference) -> list[str]:
    worth, se, name = block.worths.log_worth, block.worths.se, "log worth"
    if worth is None and block.worths.penalised is not None:
        worth, se = block.worths.penalised, block.worths.penalised_se
        name = "penalised log worth"
    rows = [("set", name, "se", "chosen", "of")]
    order = range(len(block.sets)) if worth is None else (-worth).argsort(kind="stable")
    rows += [
        (
            block.sets[index],
            "-" if worth is None else _signed(worth[index]),
            "-" if se is None else f"{se[index]:.3f}",
            f"{block.chosen[index]:.0f}",
            f"{block.compared[index]:.0f}",
        )
        for index in order
    ]
    return aligned(rows)


def _effect_lines(worths: Worths) -> list[str]:
    lines = []
    if worths.order_effect is not None and worths.order_effect_se is not None:
        lines.append(
            f"the set heard first: {_signed(worths.order_effect)} log-odds "
            f"(se {worths.order_effect_se:.3f})"
        )
    if worths.log_nu is not None and worths.log_nu_se is not None:
        lines.append(
            f'readiness for "no difference": log nu {_signed(worths.log_nu)} '
            f"(se {worths.log_nu_se:.3f})"
        )
    return lines


def _equal_lines(test: ChiSquareTest | None) -> list[str]:
    if test is None:
        return []
    return [
        f"all sets worth the same: likelihood ratio {test.chi_square:.2f}, df {test.df}"
        f"{_probability(test.p)}, taking every choice for independent"
    ]


def _evaluator_lines(details: tuple[EvaluatorChoices, ...]) -> list[str]:
    rows = [("evaluator", "circles", "of", "zeta", "p by chance", "")]
    for detail in details:
        found = detail.consistency
        rows.append(
            (
                detail.evaluator,
                str(found.circular_triads),
                str(found.most),
                "-" if found.zeta is None else f"{found.zeta:.2f}",
                "-" if found.p is None else f"{found.p:.2g}",
                found.reason,
            )
        )
    return aligned(rows, texts=1)


def _signed(number: float) -> str:
    """Write a number with its sign; what rounds to zero has none below it."""
    return f"{round(number, 3) + 0.0:+.3f}"


def _probability(p: float | None) -> str:
    if p is None:
        return ""
    return "  p below 0.0001" if p < 0.0001 else f"  p {p:.4f}"
