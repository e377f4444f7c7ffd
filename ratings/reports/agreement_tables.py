"""The tables of the agreement page: numbers, deviations, evaluators, conditions."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from ratings.findings.agreement import AttributeAgreement
from ratings.findings.agreement_matrix import MARKS_WORDS, mark
from ratings.reports.colours import LIGHT, deviation_tint
from ratings.reports.document import Cell, Column, Table
from ratings.reports.figure_words import (
    FITNESS_HEADINGS,
    NO_FIGURE,
    figure,
    fitness_cells,
    flagged_evaluators,
    interval,
    separation_figures,
    signed,
    size_words,
)
from ratings.statistics.agreement.icc import IntraclassCorrelation

#: Stands behind an evaluator with something to look at.
FLAG = " !"


def icc_table(blocks: Sequence[AttributeAgreement], attribute_names: Mapping[str, str]) -> Table:
    """Return ICC(A,1) and ICC(A,k) of every attribute; why one is missing stands below."""
    rows, reasons = [], []
    for block in blocks:
        name = attribute_names.get(block.attribute, block.attribute)
        one, mean = block.icc.form("ICC(A,1)"), block.icc.form("ICC(A,k)")
        if one.value is None:
            reasons.append(f"{name}: {one.reason}")
        size = Cell(f"{block.icc.evaluators} × {block.icc.sets}")
        rows.append((Cell(name), *_form_cells(one), *_form_cells(mean), size))
    headings = (
        "one evaluator: ICC(A,1)",
        "95 % interval",
        "mean of the panel: ICC(A,k)",
        "95 % interval",
        "evaluators × sets",
    )
    columns = (Column("attribute"), *(Column(heading, "number") for heading in headings))
    return Table(columns, tuple(rows), caption=" ".join(reasons))


def _form_cells(form: IntraclassCorrelation) -> tuple[Cell, Cell]:
    return Cell(figure(form.value)), Cell(interval(form.lower, form.upper) or NO_FIGURE)


def deviation_map(
    block: AttributeAgreement, deviations: npt.NDArray[np.float64], title: str
) -> Table:
    """Return evaluators and sets with tints; every number carries its sign.

    Parameters
    ----------
    deviations
        Shape (evaluators, sets), in score points; NaN where there is no score.
    """
    flagged = flagged_evaluators(block)
    rows = tuple(
        (
            Cell(f"{evaluator}{FLAG if evaluator in flagged else ''}"),
            *map(_tinted, deviations[row].tolist()),
        )
        for row, evaluator in enumerate(block.evaluators)
    )
    columns = (Column("evaluator"), *(Column(code, "middle") for code in block.sets))
    return Table(columns, rows, title=title)


def _tinted(deviation: float) -> Cell:
    if np.isnan(deviation):
        return Cell(NO_FIGURE, tone="soft")
    return Cell(signed(deviation), tint=deviation_tint(deviation, LIGHT))


def fitness_table(block: AttributeAgreement) -> Table:
    """Return every evaluator with what to look at, in words as well as in colour."""
    rows = []
    for finding in block.evaluators_detail:
        first, *others, separates, says = fitness_cells(finding)
        is_flagged = bool(finding.reasons)
        texts = [f"{first}{FLAG if is_flagged else ''}", *others, separates, says]
        test = separation_figures(finding)
        asides = [*[""] * (len(texts) - 2), f"({test})" if test else "", ""]
        rows.append(
            tuple(
                Cell(words, aside, tone="attention" if is_flagged else "")
                for words, aside in zip(texts, asides, strict=True)
            )
        )
    first_heading, *figures, last_heading = FITNESS_HEADINGS
    columns = (
        Column(first_heading),
        *(Column(heading, "number") for heading in figures),
        Column(last_heading),
    )
    return Table(columns, tuple(rows), title="How consistent is each evaluator?")


def condition_table(
    blocks: Sequence[AttributeAgreement],
    attribute_names: Mapping[str, str],
    conditions: Sequence[str],
) -> Table:
    """Return W of every attribute in each condition; a star marks what the panel agrees on."""
    found = {(b.attribute, b.condition): b for b in blocks}
    rows = tuple(
        (
            Cell(attribute_names.get(attribute, attribute)),
            *(_w_cell(found.get((attribute, condition))) for condition in conditions),
        )
        for attribute in dict.fromkeys(block.attribute for block in blocks)
    )
    columns = (Column("attribute"), *(Column(condition, "number") for condition in conditions))
    caption = (
        f"Kendall's W; {MARKS_WORDS} (p at most 0.05, adjusted for all W of this table); in "
        "brackets evaluators × sets."
    )
    return Table(columns, rows, caption=caption)


def _w_cell(block: AttributeAgreement | None) -> Cell:
    if block is None or block.kendall.w is None:
        return Cell(NO_FIGURE)
    star = f" {mark(block)}" if block.agrees else ""
    return Cell(f"{figure(block.kendall.w)}{star}", f"({size_words(block.kendall)})")
