"""The first page: verdict, recommendation, one plot, what to keep in mind, what it relates to."""

from __future__ import annotations

from collections.abc import Sequence

from ratings.findings.measured_figures import decimals_of
from ratings.findings.verdict.front import front_words, ranked_sets
from ratings.findings.verdict.rows import Row, SetVerdict
from ratings.findings.verdict.words import points, signed
from ratings.reports.document import (
    INVENTED,
    Block,
    Bullets,
    Cell,
    Column,
    Columns,
    LeadWords,
    Look,
    Paragraph,
    Plot,
    Subheading,
    Table,
    Tone,
)
from ratings.reports.plots.forest import ForestAxis, ForestRow, forest_plots
from ratings.reports.study_report.material import Material
from ratings.reports.study_report.record import NO_DOUBT
from ratings.study.study_settings import Place

_RELATES = (
    "This report relates only to the sets tested, on this vehicle, in these conditions, as they "
    "were fitted: a refit is not in the intervals."
)
#: So many cautions stand on the first page, and so many sets in its table; the rest follow.
_MOST_CAUTIONS, _MOST_SETS = 3, 8
_SAYS_TONE: dict[str, Tone] = {"the same": "done", "otherwise": "attention", "cannot tell": "soft"}


def opening(material: Material) -> tuple[Block, ...]:
    """Return what follows the title on the first page."""
    verdict = material.verdict
    parts: list[Block] = [_words(material, "summary", "lead")]
    if material.facts.is_invented:
        parts.append(Paragraph(INVENTED, "notice"))
    sets = ranked_sets(verdict)
    if sets and any(row.overall.difference is not None for row in sets[0].rows):
        parts += first_plot(material, sets[0])
    parts.append(
        Columns(
            (Subheading("What to do"), _words(material, "recommendation", "body")),
            (Subheading("What to keep in mind"), *_cautions(material)),
        )
    )
    if len(sets) > 1:
        parts += [glance(material, sets[:_MOST_SETS], "All sets at a glance")]
    parts.append(Paragraph(_RELATES, "small"))
    return tuple(parts)


def first_plot(material: Material, each: SetVerdict) -> tuple[Block, ...]:
    """Return the set that stands first, on every attribute, with what was measured beside it."""
    verdict = material.verdict
    rows = [
        ForestRow(
            row.name,
            row.overall.difference,
            row.overall.lower,
            row.overall.upper,
            (points(row.overall.difference or 0.0), row.overall.word, measured(row), says(row)),
            row.overall.word == "clear",
        )
        for row in each.rows
        if row.overall.difference is not None
    ]
    margin = verdict.question.settings.limits.matters
    name = each.name if verdict.question.names else f"Set {each.code}"
    shown = Plot(
        f"{name} beside the control",
        "",
        "",
        condition=conditions_words(material),
        n=material.panel_words,
        caption=(
            f"Mean and {interval_words(material)} in score points. Filled: clear. Shaded: within "
            f"{margin:g} points, too small to matter. Measured: set less control, mean of the "
            "driver's ears."
        ),
    )
    axis = ForestAxis(margin=margin, least=1.5)
    return forest_plots(rows, ("points", "panel", "measured", "the same?"), axis, shown)


def interval_words(material: Material) -> str:
    """Say which interval stands beside a mean: while looking it holds at every look."""
    return "95 % interval" if material.verdict.is_final else "interval that holds at every look"


def glance(material: Material, sets: Sequence[SetVerdict], title: str) -> Table:
    """Return sets down and attributes across, points beside the control."""
    names = [attribute.name for attribute in material.verdict.question.attributes]
    return Table(
        (Column("set"), *(Column(name, "number") for name in names)),
        tuple(
            (Cell(_name(material, each), is_strong=True), *(_glance_cell(row) for row in each.rows))
            for each in sets
        ),
        title,
        "Points beside the control over all conditions. Bold: clear; +: better, −: worse; "
        "c: clear in some conditions only; s: too small to matter; ?: not certain.",
    )


def _glance_cell(row: Row) -> Cell:
    cell = row.overall
    if cell.difference is None:
        return Cell("–", tone="soft")
    marks = {"by condition": " c", "too small to matter": " s", "not certain": " ?"}
    tone: Tone = cell.way or ("attention" if cell.word == "by condition" else "soft")
    words = f"{points(cell.difference)}{marks.get(cell.word, '')}"
    return Cell(words, is_strong=cell.word == "clear", tone=tone)


def measured(row: Row) -> str:
    """Return a measured difference in short; a dash where there is none."""
    each = row.beside
    if each.difference is None:
        return "–"
    unit = each.unit.removesuffix(" re full scale")
    return f"{signed(each.difference, decimals_of(each.unit))} {unit}"


def says(row: Row) -> str:
    """Return whether the meter confirms it, in a word."""
    return {"the same": "yes", "otherwise": "no"}.get(row.beside.says, "cannot tell")


def says_cell(row: Row) -> Cell:
    """Return the same as a cell, with why."""
    each = row.beside
    # Beside an open word the meter confirms nothing, which needs no reason.
    is_judged = row.overall.word in ("clear", "too small to matter")
    aside = each.why if is_judged or each.difference is None else ""
    return Cell(each.says, aside=aside, tone=_SAYS_TONE[each.says])


def conditions_words(material: Material) -> str:
    """Say over which conditions a figure is."""
    titles = material.verdict.conditions
    return titles[0] if len(titles) == 1 else f"all {len(titles)} conditions together"


def _name(material: Material, each: SetVerdict) -> str:
    return material.verdict.name_of(each.code)


def _words(material: Material, place: Place, look: Look) -> Block:
    text, is_leads = front_words(material.verdict, place)
    return LeadWords(text) if is_leads else Paragraph(text, look)


def _cautions(material: Material) -> tuple[Block, ...]:
    told = [each.brief or each.sentence for each in material.verdict.cautions]
    if not told:
        return (Paragraph(NO_DOUBT),)
    kept = told[:_MOST_CAUTIONS]
    if len(told) > len(kept):
        kept.append(f"{len(told) - len(kept)} more under “Before any finding”.")
    return (Bullets(tuple(kept)),)
