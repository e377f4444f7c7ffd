"""The command ``agree``: does the panel agree, attribute by attribute."""

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
    printed,
    scale_of,
)
from ratings.findings.agreement import USABLE_W, AttributeAgreement, MandelCritical, agreement
from ratings.findings.agreement_matrix import mark
from ratings.findings.agreement_words import Degree, headline, without_flagged_finding
from ratings.findings.evaluator_findings import EvaluatorFinding
from ratings.statistics.agreement.icc import IntraclassCorrelations
from ratings.statistics.agreement.kendall import Concordance
from ratings.study.score_table import read_score_table
from ratings.study.wording import listed, spoken

#: What the figures of ``--details`` are.
MEANINGS = (
    ("Kendall's W", "0 no common order of the sets, 1 the same order; [95 % interval]"),
    ("ICC(A,1)", "do they give the same numbers: one evaluator alone"),
    ("ICC(A,k)", "the same for the mean of all evaluators"),
    ("p", "chance of as much agreement where nobody shares anything"),
    ("repeat SD", "scatter of the evaluator's own repeats, in points"),
    ("separates F", "sets against that scatter: F test of the evaluator's own scores"),
    ("bias", "the evaluator's mean less the panel's, in points"),
    ("with others", "correlation with the mean of the other evaluators"),
    ("h, k", "distance from the panel, scatter beside it, in its standard deviations (ISO 5725-2)"),
    ("look at", "flags stand on all attributes and conditions together; a score to check is none"),
)
#: What the short table says of an attribute.
ANSWERS: dict[Degree, str] = {
    "well": "yes",
    "loosely": "loosely",
    "not certain": "not certain",
    "not above chance": "no",
    "unknown": "-",
}
HELP = "say whether the panel agrees, and who stands apart"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_score_options(parser, "condition,repeat,origin")
    add_details_option(parser)
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
    return as_details(blocks) if arguments.details else as_text(blocks)


def as_json(blocks: tuple[AttributeAgreement, ...]) -> Json:
    """Return the figures by the names of the contract; what is undefined or infinite is null."""
    return {
        "headline": headline(blocks),
        "without_flagged": without_flagged_finding(blocks),
        "attributes": [_block_json(block) for block in blocks],
    }


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
        "w_in": list(block.w_in),
        "degree": block.degree,
        "degree_without_flagged": block.degree_without,
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
    """Return the answer for a person: the finding, and a line for each attribute."""
    lines = [headline(blocks)]
    if not blocks:
        return f"{lines[0]}\n"
    whole = [block for block in blocks if block.condition is None]
    conditions = list(dict.fromkeys(b.condition for b in blocks if b.condition is not None))
    lines += [said] if (said := without_flagged_finding(blocks)) else []
    lines += ["", *_short_table(whole, blocks, conditions), ""]
    lines += explained(_short_meanings(whole, conditions))
    flagged = list(
        dict.fromkeys(e.evaluator for b in whole for e in b.evaluators_detail if e.reasons)
    )
    verb = "is" if len(flagged) == 1 else "are"
    begins = f"{listed(flagged)} {verb} flagged; why, and every" if flagged else "Every"
    lines.append(f"{begins} figure of attributes and evaluators: --details")
    return "\n".join(lines) + "\n"


def _short_table(
    whole: Sequence[AttributeAgreement],
    blocks: Sequence[AttributeAgreement],
    conditions: Sequence[str],
) -> list[str]:
    by_place = {(block.attribute, block.condition): block for block in blocks}
    rows = [("attribute", "W", "95 %", "n", "agrees", *_numbers(conditions))]
    for block in whole:
        kendall = block.kendall
        lower, upper = kendall.lower, kendall.upper
        rows.append(
            (
                spoken(block.attribute),
                _figure(kendall.w, 2),
                "-" if lower is None or upper is None else f"{lower:.2f} to {upper:.2f}",
                f"{kendall.evaluators} x {kendall.sets}",
                _answer(block, conditions),
                *(_single(by_place.get((block.attribute, title))) for title in conditions),
            )
        )
    return aligned(rows)


def _numbers(conditions: Sequence[str]) -> list[str]:
    return [f"[{number}]    " for number in range(1, len(conditions) + 1)]


def _answer(block: AttributeAgreement, conditions: Sequence[str]) -> str:
    if not block.agrees_in:
        return ANSWERS[block.degree]
    return f"in {','.join(f'[{conditions.index(title) + 1}]' for title in block.agrees_in)}"


def _single(block: AttributeAgreement | None) -> str:
    if block is None or block.kendall.w is None:
        return "-    "
    return f"{block.kendall.w:.2f} {mark(block):3s}"


def _short_meanings(
    whole: Sequence[AttributeAgreement], conditions: Sequence[str]
) -> list[tuple[str, str]]:
    pooled = " over all conditions" if conditions else ""
    meanings = [
        ("W", f"0 no common order of the sets, 1 the same order{pooled} (Kendall)"),
        ("95 %", "interval of W: other evaluators of this kind, the same sets"),
        ("n", "evaluators x sets that W stands on"),
        (
            "agrees",
            f"loosely: W below {USABLE_W:g}; not certain: interval reaches chance; "
            "no: W not above chance",
        ),
    ]
    if any(block.degree == "unknown" for block in whole):
        meanings.append(("-", "cannot be told; --details says why"))
    if conditions:
        meanings += [
            (number.strip(), f"W in {title}")
            for number, title in zip(_numbers(conditions), conditions, strict=True)
        ]
        meanings.append(
            (
                "*",
                "above chance: p at most 0.05, adjusted for these W; (*): interval reaches chance",
            )
        )
    return meanings


def as_details(blocks: tuple[AttributeAgreement, ...]) -> str:
    """Return every figure for a person to read."""
    lines = [headline(blocks)]
    lines += [said] if (said := without_flagged_finding(blocks)) else []
    for block in blocks:
        title = spoken(block.attribute) + (f", {block.condition}" if block.condition else "")
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
        lines += ["", *explained(MEANINGS)]
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
    return aligned(rows, texts=1)


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
