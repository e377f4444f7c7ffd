"""The command ``compare``: is the difference to the control real, attribute by attribute."""

import argparse
import math
from collections.abc import Sequence
from dataclasses import asdict

from ratings.commands.common_options import (
    Json,
    add_details_option,
    add_json_option,
    add_score_options,
    aligned,
    explained,
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
from ratings.findings.differences_words import (
    Verdict,
    claimed_p,
    claims_by_condition,
    headline,
)
from ratings.statistics.mixed_models.mixed_tests import FTest
from ratings.study.constants import ALPHA
from ratings.study.score_table import read_score_table
from ratings.study.wording import counted, listed, spoken

#: Columns of ``--details``, each with what it is.
COLUMNS = (
    ("n", "evaluators who rated both the set and the control"),
    ("difference", "set less control, in points; + is better"),
    ("95 % interval", "of the difference, for this set alone"),
    ("df", "degrees of freedom of its t"),
    ("p", "chance of as large a difference at random, for this set alone"),
    ("p Dunnett", "the same adjusted for all sets"),
    ("p Holm", "the same adjusted for all attributes too: what is clear needs 0.05"),
    ("p ranks", "exact signed-rank test of the evaluators' differences"),
    ("p within", "chance of looking as small as this if the difference were the margin or more"),
)
#: Marks of the short table by verdict.
MARKS: dict[Verdict, str] = {
    "better": "*",
    "worse": "*",
    "same": "=",
    "by condition": "c",
    "not certain": "",
    "unknown": "?",
}
#: Where a difference holds that is no single condition's.
WHOLE = "all conditions"
#: The short answer lists no more clear differences than this.
MOST_LISTED = 10
#: With more sets than this, and than attributes, sets are the rows of the short table.
MOST_SET_COLUMNS = 8
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
    add_details_option(parser)
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
    return as_details(blocks) if arguments.details else as_text(blocks)


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
    """Return the answer for a person: the finding, the differences, and what is clear of them."""
    lines = [headline(blocks)]
    rows = [(block, row) for block in blocks for row in block.differences]
    if not rows:
        return "\n".join([*lines, *dict.fromkeys(b.reason for b in blocks if b.reason)]) + "\n"
    lines += ["", *_short_table(blocks), "", *explained(_short_meanings(blocks))]
    clear = sorted(
        (each for block, row in rows for each in _clear_rows(block, row)),
        key=lambda each: -abs(float(each[1])),
    )
    if clear:
        heads = "clear", "points", "95 % interval", "p", "n", "where"
        texts = int(any(each[-1] for each in clear))
        shown = [each[: len(heads) - 1 + texts] for each in (heads, *clear[:MOST_LISTED])]
        lines += ["", *aligned(shown, texts)]
        if len(clear) > MOST_LISTED:
            lines.append(f"and {len(clear) - MOST_LISTED} more that are clear")
        looked_at = _looked_at(blocks) + ", and conditions where one is named" * texts
        lines.append(f"p: chance of it at random, adjusted for {looked_at}; interval: not adjusted")
    flagged = list(dict.fromkeys(name for block in blocks for name in block.flagged))
    verb = "is" if len(flagged) == 1 else "are"
    begins = f"{listed(flagged)} {verb} flagged and counted; why, and every" if flagged else "Every"
    lines.append(f"{begins} figure: --details")
    return "\n".join(lines) + "\n"


def _short_table(blocks: Sequence[AttributeDifferences]) -> list[str]:
    """Return attributes by sets, or sets by attributes where the sets are many."""
    found = {(b.attribute, row.set): row for b in blocks for row in b.differences}
    attributes = [block.attribute for block in blocks]
    sets = list(dict.fromkeys(row.set for block in blocks for row in block.differences))
    if len(sets) > max(MOST_SET_COLUMNS, len(attributes)):
        heads, names = ["set", *map(spoken, attributes)], sets
        cells = [[found.get((attribute, name)) for attribute in attributes] for name in sets]
    else:
        heads, names = ["attribute", *sets], [spoken(attribute) for attribute in attributes]
        cells = [[found.get((attribute, name)) for name in sets] for attribute in attributes]
    rows = [(heads[0], "n", *(f"{head}  " for head in heads[1:]))]
    for name, row in zip(names, cells, strict=True):
        rows.append((name, _evaluators(row), *map(_short_cell, row)))
    return aligned(rows)


def _evaluators(row: Sequence[SetDifference | None]) -> str:
    counts = sorted({each.evaluators for each in row if each is not None})
    return "-" if not counts else f"{counts[0]}" + (f"-{counts[-1]}" if len(counts) > 1 else "")


def _short_cell(row: SetDifference | None) -> str:
    if row is None or row.difference is None:
        return "-  "
    return f"{_figure(row.difference, '+.2f')} {MARKS[row.verdict]:1s}"


def _short_meanings(blocks: Sequence[AttributeDifferences]) -> list[tuple[str, str]]:
    verdicts = {row.verdict for block in blocks for row in block.differences}
    pooled = ", all conditions" if any(block.set_by_condition for block in blocks) else ""
    meanings = {
        "*": "clear",
        "=": f"too small to matter (within {blocks[0].margin:.3g})",
        "c": "clear in a condition, or differently from one to another",
        "?": "cannot be judged",
    }
    used = [f"{mark} {meanings[mark]}" for mark in meanings if mark in map(MARKS.get, verdicts)]
    used += ["no mark: not certain"] if "not certain" in verdicts else []
    used += ["- no figure; --details says why"] if "unknown" in verdicts else []
    return [
        ("n", "evaluators who rated both a set and the control"),
        ("figures", f"points less those of {blocks[0].control}{pooled}; + is better"),
        ("marks", "; ".join(used)),
    ]


def _looked_at(blocks: Sequence[AttributeDifferences]) -> str:
    sets = max(len(block.differences) for block in blocks)
    judged = sum(bool(block.differences) for block in blocks)
    return f"{counted(sets, 'set')} and {counted(judged, 'attribute')}"


def _clear_rows(block: AttributeDifferences, row: SetDifference) -> list[tuple[str, ...]]:
    """Return the difference over all conditions, and those in single ones, that are clear."""
    found = []
    if row.verdict in ("better", "worse"):
        found.append(
            (
                WHOLE if row.by_condition else "",
                row.difference,
                row.lower,
                row.upper,
                claimed_p(row),
            )
        )
    clear = {title for title, _ in claims_by_condition(row)}
    found += [
        (
            each.condition,
            each.difference,
            each.lower,
            each.upper,
            max(each.p_holm or 0.0, each.p_own or 0.0),
        )
        for each in row.by_condition
        if each.condition in clear
    ]
    return [
        (
            f"{row.set}, {spoken(block.attribute)}",
            _figure(difference, "+.2f"),
            f"{_figure(lower, '+.2f')} to {_figure(upper, '+.2f')}",
            _figure(p, ".4f"),
            str(row.evaluators),
            where,
        )
        for where, difference, lower, upper, p in found
    ]


def as_details(blocks: tuple[AttributeDifferences, ...]) -> str:
    """Return every figure for a person to read."""
    lines = [headline(blocks)]
    # What is said of every attribute is said once.
    shared = (
        []
        if len(blocks) < 2
        else [note for note in blocks[0].notes if all(note in block.notes for block in blocks)]
    )
    for block in blocks:
        lines += ["", f"{spoken(block.attribute)}, against {block.control}"]
        if block.reason:
            lines.append(f"  {block.reason}")
        width = max((len(difference.set) for difference in block.differences), default=0)
        lines += [f"  {d.set.ljust(width)}  {d.sentence}" for d in block.differences]
        if not block.reason:
            lines += [f"  {line}" for line in _figure_lines(block)]
        lines += [f"  {note}" for note in block.notes if note not in shared]
    if shared:
        lines += ["", "on every attribute", *(f"  {note}" for note in shared)]
    if any(not block.reason for block in blocks):
        lines += ["", *explained(COLUMNS)]
    return "\n".join(lines) + "\n"


def _figure_lines(block: AttributeDifferences) -> list[str]:
    rows = [("set", *(name for name, _ in COLUMNS))]
    rows += [
        (
            difference.set,
            str(difference.evaluators),
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
    lines = aligned(rows)
    zero = f"; variance of {listed(block.boundary)} zero" if block.boundary else ""
    way = "mean squares" if block.is_exact else "Kenward and Roger"
    lines.append(f"model: {block.model}; p by {way}{zero}; margin {block.margin:.3g} points")
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
