"""The command ``agree``: does the panel agree, attribute by attribute."""

import argparse
import math
from dataclasses import asdict

from ratings.commands.common_options import (
    Json,
    add_json_option,
    add_score_options,
    printed,
    scale_of,
)
from ratings.findings.agreement import AttributeAgreement, MandelCritical, agreement
from ratings.findings.agreement_words import headline
from ratings.findings.evaluator_findings import EvaluatorFinding
from ratings.statistics.agreement.icc import IntraclassCorrelations
from ratings.statistics.agreement.kendall import Concordance
from ratings.study.score_table import read_score_table
from ratings.study.wording import listed

#: What the figures are.
LEGEND = (
    "W: do they rank the sets alike (0 to 1); ICC(A,1), ICC(A,k): do they give the same numbers,",
    "one evaluator and the mean of all; [95 % interval]; p: chance of as much agreement at random.",
    "repeat SD: scatter of own repeats, in points; separates F: sets against that scatter;",
    "bias: own mean less the panel's, in points; with others: correlation with their mean;",
    "h, k: distance from the panel and scatter beside it, in its standard deviations (ISO 5725-2).",
    "look at: flags stand on all attributes and conditions together; a score to check is no flag.",
)
HELP = "say whether the panel agrees, and who stands apart"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_score_options(parser, "condition,repeat,origin")
    add_json_option(parser)


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed.

    Raises
    ------
    ScoreTableError
        When the table or the scale cannot be used.
    """
    scale = scale_of(arguments)
    table = read_score_table(arguments.scores, scale.low, scale.high)
    blocks = agreement(table, scale)
    if arguments.json:
        return printed(as_json(blocks))
    return as_text(blocks)


def as_json(blocks: tuple[AttributeAgreement, ...]) -> Json:
    """Return the figures by the names of the contract; what is undefined or infinite is null."""
    return {"headline": headline(blocks), "attributes": [_block_json(block) for block in blocks]}


def _block_json(block: AttributeAgreement) -> Json:
    components = block.icc.components
    return {
        "attribute": block.attribute,
        "condition": block.condition,
        "sets": len(block.sets),
        "evaluators": len(block.evaluators),
        "missing": block.missing,
        "sentence": block.sentence,
        "agrees": block.agrees,
        "agrees_in": list(block.agrees_in),
        "p_holm": block.p_holm,
        "p_by_condition": block.p_by_condition,
        "chance_w": block.chance_w,
        "notes": list(block.notes),
        "kendall": _kendall_json(block.kendall),
        "kendall_without_flagged": (
            None if block.without_flagged is None else _kendall_json(block.without_flagged)
        ),
        "icc_method": block.icc.method,
        "icc": [_finite(asdict(form)) for form in block.icc.forms],
        "variance_components": {
            "set": None if components is None else components.sets,
            "evaluator": None if components is None else components.evaluators,
            "residual": None if components is None else components.residual,
            "at_zero": [] if components is None else list(components.boundary),
        },
        "mandel_critical_at_1_percent": _finite(asdict(block.mandel_critical)),
        "evaluators_detail": [_evaluator_json(finding) for finding in block.evaluators_detail],
    }


def _kendall_json(kendall: Concordance) -> Json:
    return _finite(
        {
            "w": kendall.w,
            "chi_square": kendall.chi_square,
            "df": kendall.df,
            "p_chi_square": kendall.p_chi_square,
            "f": kendall.f,
            "f_df1": kendall.f_df1,
            "f_df2": kendall.f_df2,
            "p_f": kendall.p_f,
            "p_exact": kendall.p_exact,
            "p": kendall.p,
            "smallest_w_at_5_percent": kendall.smallest_w,
            "lower": kendall.lower,
            "upper": kendall.upper,
            "w_uncorrected": kendall.w_uncorrected,
            "mean_rank_correlation": kendall.mean_rank_correlation,
            "evaluators": kendall.evaluators,
            "left_out": kendall.left_out,
            "sets": kendall.sets,
            "sets_left_out": kendall.sets_left_out,
            "reason": kendall.reason,
        }
    )


def _evaluator_json(finding: EvaluatorFinding) -> Json:
    return _finite(asdict(finding))


def _finite(figures: Json) -> Json:
    return {
        name: None if isinstance(value, float) and not math.isfinite(value) else value
        for name, value in figures.items()
    }


def as_text(blocks: tuple[AttributeAgreement, ...]) -> str:
    """Return the figures for a person to read."""
    lines = [headline(blocks)]
    for block in blocks:
        title = (
            block.attribute if block.condition is None else f"{block.attribute}, {block.condition}"
        )
        lines += ["", title, f"  {block.sentence}"]
        if block.kendall.w is not None:
            lines.append(f"  {_kendall_line(block.kendall)}")
        if block.without_flagged is not None and block.without_flagged.w is not None:
            names = listed([each.evaluator for each in block.evaluators_detail if each.reasons])
            lines.append(f"  without {names}, flagged below: W {block.without_flagged.w:.3f}")
        lines += [f"  {line}" for line in _icc_lines(block.icc)]
        lines += [f"  {note}" for note in block.notes]
        lines += [f"  {line}" for line in _evaluator_lines(block.evaluators_detail)]
        lines += [f"  {line}" for line in _critical_lines(block.mandel_critical)]
    if blocks:
        lines += ["", *LEGEND]
    return "\n".join(lines) + "\n"


def _kendall_line(kendall: Concordance) -> str:
    way = "F approximation" if kendall.p_exact is None else "exact"
    return (
        f"Kendall's W {_figure(kendall.w)}{_interval(kendall.lower, kendall.upper)}"
        f"  p {_probability(kendall.p)} ({way})"
    )


def _icc_lines(icc: IntraclassCorrelations) -> list[str]:
    forms = icc.form("ICC(A,1)"), icc.form("ICC(A,k)")
    if all(form.value is None for form in forms):
        return [f"ICC undefined: {forms[0].reason}"]
    return [
        f"{form.form} {_figure(form.value)}{_interval(form.lower, form.upper)}"
        + (f"  p {_probability(form.p)}" if form.p is not None else f"  ({icc.method})")
        for form in forms
    ]


def _evaluator_lines(findings: tuple[EvaluatorFinding, ...]) -> list[str]:
    if not findings:
        return []
    rows = [("evaluator", "repeat SD", "separates F", "bias", "with others", "h", "k", "look at")]
    rows += [
        (
            finding.evaluator,
            _figure(finding.repeat_sd, 2),
            _figure(finding.discrimination_f, 1),
            _figure(finding.bias, 2, "+"),
            _figure(finding.correlation_with_others, 2),
            _figure(finding.mandel_h, 2, "+"),
            _figure(finding.mandel_k, 2),
            "; ".join(finding.remarks),
        )
        for finding in findings
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(7)]
    return [
        "  ".join(
            [row[0].ljust(widths[0])]
            + [row[column].rjust(widths[column]) for column in range(1, 7)]
            + [row[7]]
        ).rstrip()
        for row in rows
    ]


def _critical_lines(critical: MandelCritical) -> list[str]:
    parts = [("h beyond", critical.h), ("k above", critical.k)]
    told = [f"{name} {value:.2f}" for name, value in parts if value is not None]
    return [f"one {' or one '.join(told)} stands out at 1 %, of this set alone"] if told else []


def _figure(value: float | None, decimals: int = 3, sign: str = "") -> str:
    if value is None:
        return "-"
    return "no scatter" if math.isinf(value) else f"{value:{sign}.{decimals}f}"


def _interval(lower: float | None, upper: float | None) -> str:
    return "" if lower is None or upper is None else f" [{lower:.2f}, {upper:.2f}]"


def _probability(p: float | None) -> str:
    if p is None:
        return "-"
    return "below 0.0001" if p < 0.0001 else f"{p:.4f}"
