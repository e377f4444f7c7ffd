"""The tables of the written agreement page: numbers, deviations, evaluators, conditions."""

from collections.abc import Mapping, Sequence
from html import escape

import numpy as np
import numpy.typing as npt

from ratings.findings.agreement import AttributeAgreement
from ratings.reports.colours import DARK, LIGHT, deviation_tint
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


def icc_table(blocks: Sequence[AttributeAgreement], attribute_names: Mapping[str, str]) -> str:
    """Return ICC(A,1) and ICC(A,k) of every attribute as an HTML table."""
    rows = []
    for block in blocks:
        one, mean = block.icc.form("ICC(A,1)"), block.icc.form("ICC(A,k)")
        cells = [_form_cells(one) + _form_cells(mean)]
        if one.value is None:
            cells = [f'<td colspan="4">{escape(one.reason)}</td>']
        name = escape(attribute_names.get(block.attribute, block.attribute))
        rows.append(
            f'<tr><th scope="row">{name}</th>{"".join(cells)}'
            f'<td class="number">{block.icc.evaluators} × {block.icc.sets}</td></tr>'
        )
    return _table(
        (
            "attribute",
            "one evaluator: ICC(A,1)",
            "95 % interval",
            "mean of the panel: ICC(A,k)",
            "95 % interval",
            "evaluators × sets",
        ),
        rows,
        number_columns=(1, 2, 3, 4, 5),
    )


def _form_cells(form: IntraclassCorrelation) -> str:
    between = interval(form.lower, form.upper) or NO_FIGURE
    return f'<td class="number">{figure(form.value)}</td><td class="number">{between}</td>'


def deviation_map(
    block: AttributeAgreement, deviations: npt.NDArray[np.float64], heading: str
) -> str:
    """Return evaluators and sets as a tinted HTML table; every number carries its sign.

    Parameters
    ----------
    deviations
        Shape (evaluators, sets), in score points; NaN where there is no score.
    """
    head = "".join(f'<th scope="col">{escape(code)}</th>' for code in block.sets)
    flagged = flagged_evaluators(block)
    rows = [
        f'<tr><th scope="row">{escape(evaluator)}{FLAG if evaluator in flagged else ""}</th>'
        f"{''.join(map(_tinted, deviations[row]))}</tr>"
        for row, evaluator in enumerate(block.evaluators)
    ]
    return (
        f'<figure><h3>{escape(heading)}</h3><div class="wide"><table class="map"><thead><tr>'
        f'<td class="none"></td>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table></div>'
        "</figure>"
    )


def _tinted(deviation: np.float64) -> str:
    if np.isnan(deviation):
        return f'<td class="none">{NO_FIGURE}</td>'
    light = deviation_tint(float(deviation), LIGHT)
    dark = deviation_tint(float(deviation), DARK)
    return f'<td style="--light:{light};--dark:{dark}">{signed(float(deviation))}</td>'


def fitness_table(block: AttributeAgreement) -> str:
    """Return every evaluator with what to look at, in words as well as in colour."""
    rows = []
    for finding in block.evaluators_detail:
        first, *others, says = fitness_cells(finding)
        look = ' class="flagged"' if finding.reasons else ""
        flag = FLAG if finding.reasons else ""
        test = separation_figures(finding)
        figures = [*[""] * (len(others) - 1), f" <small>({escape(test)})</small>" if test else ""]
        cells = "".join(
            f'<td class="number">{escape(cell)}{behind}</td>'
            for cell, behind in zip(others, figures, strict=True)
        )
        rows.append(
            f'<tr{look}><th scope="row">{escape(first)}{flag}</th>{cells}'
            f"<td>{escape(says)}</td></tr>"
        )
    return _table(FITNESS_HEADINGS, rows, number_columns=(1, 2, 3, 4, 5, 6))


def condition_table(
    blocks: Sequence[AttributeAgreement],
    attribute_names: Mapping[str, str],
    conditions: Sequence[str],
) -> str:
    """Return W of every attribute in each condition; a star marks what the panel agrees on."""
    found = {(b.attribute, b.condition): b for b in blocks}
    rows = []
    for attribute in dict.fromkeys(block.attribute for block in blocks):
        cells = "".join(_w_cell(found.get((attribute, condition))) for condition in conditions)
        name = escape(attribute_names.get(attribute, attribute))
        rows.append(f'<tr><th scope="row">{name}</th>{cells}</tr>')
    columns = tuple(range(1, len(conditions) + 1))
    return _table(("attribute", *conditions), rows, number_columns=columns)


def _w_cell(block: AttributeAgreement | None) -> str:
    if block is None or block.kendall.w is None:
        return f'<td class="number">{NO_FIGURE}</td>'
    star = " *" if block.agrees else ""
    size = size_words(block.kendall)
    return f'<td class="number">{figure(block.kendall.w)}{star} <small>({size})</small></td>'


def _table(headings: Sequence[str], rows: Sequence[str], number_columns: Sequence[int]) -> str:
    head = "".join(
        f'<th scope="col"{" class=number" if column in number_columns else ""}>{escape(text)}</th>'
        for column, text in enumerate(headings)
    )
    return (
        f'<div class="wide"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )
