"""The command ``compare``: is the difference to the control real, attribute by attribute."""

import argparse
import math
from dataclasses import asdict

from ratings.commands.common_options import (
    Json,
    add_json_option,
    add_score_options,
    higher_is_better,
    number,
    printed,
    scale_of,
)
from ratings.findings.differences import (
    AttributeDifferences,
    differences,
    refuse_unknown_control,
)
from ratings.findings.differences_figures import SetDifference
from ratings.findings.differences_words import headline
from ratings.statistics.mixed_models.mixed_tests import FTest
from ratings.study.constants import ALPHA
from ratings.study.score_table import read_score_table
from ratings.study.wording import listed

#: What the figures are.
LEGEND = (
    "difference: set less control, in points, + is better; p: chance of as large a one at random,",
    "for this set alone; Dunnett: adjusted for all sets; Holm: for all attributes too; ranks:",
    "exact signed-rank test of the evaluators; equal: small where the difference is within the",
    "margin.",
)
HELP = "say which sets differ from the control, by how much and how surely"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_score_options(parser, "condition,repeat,origin,pair,side")
    parser.add_argument(
        "--control", required=True, metavar="SET", help="the set that the others are compared with"
    )
    parser.add_argument(
        "--margin",
        type=number,
        default=None,
        metavar="POINTS",
        help="a smaller difference does not matter (default half a point on 1 to 10)",
    )
    add_json_option(parser)


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed.

    Raises
    ------
    ScoreTableError
        When the table, the control, the margin or the scale cannot be used.
    """
    scale = scale_of(arguments)
    table = read_score_table(arguments.scores, scale.low, scale.high)
    control = arguments.control.strip()
    refuse_unknown_control(arguments.scores.name, control, sorted(table["set"].unique()))
    turned = higher_is_better(table, arguments)
    blocks = differences(turned, control, scale, arguments.margin)
    if arguments.json:
        return printed(as_json(blocks))
    return as_text(blocks)


def as_json(blocks: tuple[AttributeDifferences, ...]) -> Json:
    """Return the figures by the names of the contract; what is undefined or infinite is null."""
    return {"headline": headline(blocks), "attributes": [_block_json(block) for block in blocks]}


def _block_json(block: AttributeDifferences) -> Json:
    friedman = block.friedman
    return {
        "attribute": block.attribute,
        "control": block.control,
        "margin": block.margin,
        "model": block.model,
        "boundary": bool(block.boundary),
        "exact": block.is_exact,
        "boundary_components": list(block.boundary),
        "variance_components": _finite(dict(block.components)),
        "evaluators": len(block.evaluators),
        "reason": block.reason,
        "overall": {
            "kenward_roger": _test_json(block.kenward_roger),
            "satterthwaite": _test_json(block.satterthwaite),
            "balanced_ratio": _test_json(block.balanced_ratio),
            "friedman": {
                "chi_square": None if friedman is None else friedman.chi_square,
                "p": None if friedman is None else friedman.p_chi_square,
                "p_exact": None if friedman is None else friedman.p_exact,
            },
        },
        "set_by_condition": _test_json(block.set_by_condition),
        "depends_on_condition": block.depends_on_condition,
        "differences": [_difference_json(difference) for difference in block.differences],
        "flagged": {name: list(reasons) for name, reasons in block.flagged.items()},
        "notes": list(block.notes),
    }


def _difference_json(difference: SetDifference) -> Json:
    figures = asdict(difference)
    figures["by_condition"] = [_finite(asdict(row)) for row in difference.by_condition]
    without = difference.without_flagged
    figures["without_flagged"] = None if without is None else _difference_json(without)
    return _finite(figures)


def _test_json(test: FTest | None) -> Json | None:
    return None if test is None else _finite(asdict(test))


def _finite(figures: Json) -> Json:
    return {
        name: None if isinstance(value, float) and not math.isfinite(value) else value
        for name, value in figures.items()
    }


def as_text(blocks: tuple[AttributeDifferences, ...]) -> str:
    """Return the figures for a person to read."""
    lines = [headline(blocks)]
    for block in blocks:
        lines += ["", f"{block.attribute}, against {block.control}"]
        if block.reason:
            lines.append(f"  {block.reason}")
        width = max((len(difference.set) for difference in block.differences), default=0)
        lines += [f"  {d.set.ljust(width)}  {d.sentence}" for d in block.differences]
        if not block.reason:
            lines += [f"  {line}" for line in _figure_lines(block)]
        lines += [f"  {note}" for note in block.notes]
    if any(not block.reason for block in blocks):
        lines += ["", *LEGEND]
    return "\n".join(lines) + "\n"


def _figure_lines(block: AttributeDifferences) -> list[str]:
    rows: list[tuple[str, ...]] = [
        ("set", "difference", "95 % interval", "df", "p", "Dunnett", "Holm", "ranks", "equal")
    ]
    rows += [
        (
            difference.set,
            _figure(difference.difference, "+.2f"),
            f"{_figure(difference.lower, '+.2f')} to {_figure(difference.upper, '+.2f')}",
            _figure(difference.df, ".1f"),
            *(
                _figure(p, ".4f")
                for p in (
                    difference.p,
                    difference.p_dunnett,
                    difference.p_holm,
                    difference.p_signed_rank_exact,
                    difference.equivalent_p,
                )
            ),
        )
        for difference in block.differences
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = [
        "  ".join(
            [row[0].ljust(widths[0])]
            + [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        )
        for row in rows
    ]
    zero = f"; variance of {listed(block.boundary)} zero" if block.boundary else ""
    way = "mean squares" if block.is_exact else "Kenward and Roger"
    lines.append(f"{block.model}; p by {way}{zero}; equal: within {block.margin:.3g} points")
    overall = block.balanced_ratio or block.kenward_roger
    if overall is not None:
        where = "on average over the conditions" if block.set_by_condition is not None else "at all"
        lines.append(f"do the sets differ {where}: {_test(overall, overall.p <= ALPHA)}")
    if block.set_by_condition is not None:
        told = _test(block.set_by_condition, block.depends_on_condition)
        lines.append(f"do they differ otherwise on each condition: {told}")
    return lines


def _test(test: FTest, is_clear: bool) -> str:
    answer = "yes" if is_clear else "not clearly"
    figures = f"F({test.df1:g}, {test.df2:.1f}) {test.f:.2f}, p {_figure(test.p, '.4f')}"
    return f"{answer} ({figures})"


def _figure(value: float | None, form: str) -> str:
    if value is None or not math.isfinite(value):
        return "-"
    return "<0.0001" if form == ".4f" and value < 0.0001 else f"{value:{form}}"
