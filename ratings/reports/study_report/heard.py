"""What the panel heard: differences, agreement in brief, comments, ear against meter, drift."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ratings.findings.agreement import AttributeAgreement
from ratings.findings.agreement_words import headline as agreement_headline
from ratings.findings.verdict.cells import Cell as VerdictCell
from ratings.findings.verdict.control_drift import DriftFinding
from ratings.findings.verdict.ear_meter import EarMeter
from ratings.findings.verdict.front import ranked_sets
from ratings.findings.verdict.rows import Row
from ratings.findings.verdict.words import figure_name, has_claims, points
from ratings.reports.agreement_tables import condition_table
from ratings.reports.document import (
    Block,
    Cell,
    Column,
    Paragraph,
    Plot,
    Section,
    Subheading,
    Table,
    Tone,
)
from ratings.reports.plots.concordance import concordance_plot
from ratings.reports.plots.drift import drift_plot
from ratings.reports.plots.forest import ForestAxis, ForestRow, forest_plots
from ratings.reports.plots.radar import RadarSet, radar_plots
from ratings.reports.plots.scatter import FittedLine, NamedPoint, scatter_plot
from ratings.reports.study_report.front import (
    conditions_words,
    glance,
    interval_words,
    measured,
    says,
    says_cell,
)
from ratings.reports.study_report.material import Material
from ratings.study.wording import lowered

#: Beyond so many sets a table has a row for each that is clear, and the glance shows the others.
_MOST_IN_FULL = 12


def differences_section(material: Material) -> Section:
    """Return every set beside the control, attribute by attribute."""
    verdict = material.verdict
    blocks: list[Block] = [Paragraph(verdict.standing, "soft")]
    sets = ranked_sets(verdict)
    full = [each for each in sets if len(sets) <= _MOST_IN_FULL or has_claims(each)]
    if len(sets) > 1:
        blocks.append(glance(material, sets, "All sets, all conditions together"))
    # What the columns mean stands under the first table only.
    columns: tuple[Column, ...] = _COLUMNS
    for each in full[:_MOST_IN_FULL]:
        rows = tuple(_row(row) for row in each.rows)
        name = verdict.name_of(each.code)
        blocks += [Subheading(name), Paragraph(each.sentence), Table(columns, rows)]
        columns = tuple(replace(column, meaning="") for column in _COLUMNS)
        if len(verdict.conditions) > 1:
            blocks.append(_by_condition(material, each.rows))
    return Section("How far is each set from the control?", tuple(blocks))


_COLUMNS = (
    Column("attribute"),
    Column("points", "number", "set less control; positive is better"),
    Column("interval", "number", "95 %, of this difference alone; while looking, at every look"),
    Column("n", "number", "evaluators who rated both"),
    Column(
        "panel",
        "text",
        "what can be said, after adjusting for sets and attributes; too small to matter where the "
        "90 % interval lies within the limit",
    ),
    Column("measured", "number", "set less control"),
    Column("the same?", "text", "whether the measurement confirms it, and why"),
)


def _row(row: Row) -> tuple[Cell, ...]:
    cell = row.overall
    word_tone: Tone = cell.way or "soft"
    apart = "panel does not agree" if row.mark else ""
    aside = "; ".join(filter(None, (apart, _without(cell), lowered(cell.reason).rstrip("."))))
    return (
        Cell(row.name, is_strong=True),
        Cell("–" if cell.difference is None else points(cell.difference)),
        Cell(_interval(cell)),
        Cell(str(cell.evaluators)),
        Cell(cell.word, aside, is_strong=cell.word == "clear", tone=word_tone),
        Cell(measured(row)),
        says_cell(row),
    )


def _by_condition(material: Material, rows: Sequence[Row]) -> Table:
    titles = material.verdict.conditions
    told = []
    for row in rows:
        cells = {cell.condition: cell for cell in row.cells.by_condition}
        told.append(
            (Cell(row.name, is_strong=True), *(_condition_cell(cells.get(each)) for each in titles))
        )
    return Table(
        (Column("attribute"), *(Column(title, "middle") for title in titles)),
        tuple(told),
        "By condition",
        "Points beside the control. Bold: clear there; s: too small to matter; ?: not certain.",
    )


def _condition_cell(cell: VerdictCell | None) -> Cell:
    if cell is None or cell.difference is None:
        return Cell("–", tone="soft")
    mark = {"too small to matter": " s", "not certain": " ?"}.get(cell.word, "")
    tone: Tone = cell.way or "soft"
    return Cell(f"{points(cell.difference)}{mark}", is_strong=cell.word == "clear", tone=tone)


def _without(cell: VerdictCell) -> str:
    if cell.without_flagged is None:
        return ""
    return f"without flagged evaluators {cell.without_flagged}"


def _interval(cell: VerdictCell) -> str:
    if cell.lower is None or cell.upper is None:
        return "–"
    return f"{points(cell.lower)} to {points(cell.upper)}"


def forest_section(material: Material) -> Section | None:
    """Return all differences drawn on one axis, and the radar as an overview; None without any."""
    verdict = material.verdict
    marks, margin = material.marks, verdict.question.settings.limits.matters
    rows = [
        ForestRow(
            verdict.name_of(each.code),
            row.overall.difference,
            row.overall.lower,
            row.overall.upper,
            (row.overall.word, measured(row), says(row)),
            row.overall.word == "clear",
            row.name,
            marks[each.code],
        )
        for place, attribute in enumerate(verdict.question.attributes)
        for each in verdict.sets
        for row in (each.rows[place],)
        if row.attribute == attribute.key and row.overall.difference is not None
    ]
    blocks: list[Block] = []
    if rows:
        shown = Plot(
            "Every set beside the control",
            "",
            "",
            condition=conditions_words(material),
            n=material.panel_words,
            caption=(
                f"Mean and {interval_words(material)}. Filled: clear after adjusting. Shaded: "
                f"within {margin:g} points of the control."
            ),
        )
        axis = ForestAxis(margin=margin, least=1.5)
        blocks += forest_plots(rows, ("panel", "measured", "the same?"), axis, shown)
    blocks += _radar(material)
    if not blocks:
        return None
    return Section("All differences on one axis", tuple(blocks), starts_page=True)


def _radar(material: Material) -> list[Block]:
    verdict = material.verdict
    blocks = [b for b in verdict.agreements if b.condition is None]
    attributes = [
        a for a in verdict.question.attributes if any(b.attribute == a.key for b in blocks)
    ]
    if len(attributes) < 3:
        return []
    by_key = {block.attribute: block for block in blocks}
    scale, marks = verdict.question.scale, material.marks
    codes = [verdict.question.control, *(each.code for each in verdict.sets)]
    sets = [
        RadarSet(marks[code], tuple(_mean(by_key[a.key], code) for a in attributes))
        for code in codes
    ]
    shown = Plot(
        "Mean scores, as an overview",
        "",
        "",
        condition=conditions_words(material),
        n=material.panel_words,
        caption=(
            f"Fixed axes from {scale.low:g} in the middle to {scale.high:g} at the rim; "
            f"{scale.high:g}: nothing to hear. Neighbours on the rim and areas mean nothing: read "
            "differences from the plots before."
        ),
    )
    names = [attribute.name for attribute in attributes]
    return list(radar_plots(names, sets, (scale.low, scale.high), shown))


def _mean(block: AttributeAgreement, code: str) -> float | None:
    if code not in block.sets:
        return None
    column = block.scores[:, block.sets.index(code)]
    known = column[~np.isnan(column)]
    return float(known.mean()) if known.size else None


def agreement_section(material: Material) -> Section:
    """Return whether the panel agrees, in brief."""
    verdict = material.verdict
    whole = [block for block in verdict.agreements if block.condition is None]
    single = [block for block in verdict.agreements if block.condition is not None]
    names = {attribute.key: attribute.name for attribute in verdict.question.attributes}
    counted_words = "Of the evaluators who have finished; the page Agreement counts everybody."
    blocks: list[Block] = [Paragraph(agreement_headline(whole))]
    if verdict.question.is_under_way:
        blocks.append(Paragraph(counted_words, "soft"))
    if whole:
        blocks.append(replace(concordance_plot(whole, names), n=material.panel_words))
    if single:
        blocks.append(condition_table(single, names, list(verdict.conditions)))
    return Section("Does the panel agree?", tuple(blocks), starts_page=True)


def enough_section(material: Material) -> Section | None:
    """Return whether more evaluators are wanted; None where nothing can be said."""
    enough = material.verdict.enough
    if enough is None:
        return None
    blocks: list[Block] = [Paragraph(enough.headline)]
    blocks += [Paragraph(note, "small") for note in enough.notes]
    return Section("Is it enough?", tuple(blocks))


def comments_section(material: Material) -> Section:
    """Return what evaluators wrote, by set and condition."""
    verdict = material.verdict
    rows = tuple(
        (
            Cell(verdict.name_of(note.set_code), is_strong=True),
            Cell(note.condition),
            Cell(note.evaluator),
            Cell(note.text),
        )
        for note in sorted(material.notes, key=lambda n: (n.set_code, n.condition, n.evaluator))
    )
    if not rows:
        return Section("What did they write?", (Paragraph("Nobody wrote a note."),))
    columns = tuple(map(Column, ("set", "condition", "evaluator", "note")))
    return Section("What did they write?", (Table(columns, rows),))


def ear_section(material: Material) -> Section | None:
    """Return points per decibel, a plot for each attribute with a measured figure."""
    told = material.verdict.ears_and_meters
    if not told:
        return None
    blocks: list[Block] = []
    for each in told:
        blocks += [Paragraph(each.sentence), _ear_plot(material, each)]
    return Section("Does the ear follow the meter?", tuple(blocks), starts_page=True)


def _ear_plot(material: Material, each: EarMeter) -> Plot:
    marks = material.marks
    dots = [NamedPoint(marks[point.code], point.figure, point.score) for point in each.points]
    unit = each.unit.removesuffix(" re full scale")
    shown = Plot(
        f"{each.name} against {figure_name(each.figure)}",
        "",
        "",
        condition=conditions_words(material),
        channel="mean of the driver's ears",
        n=f"{len(dots)} sets, {material.panel_words}",
    )
    fit = None
    if each.found.slope is not None and dots:
        x = sorted({dot.x for dot in dots})
        middle_x, middle_y = np.mean([d.x for d in dots]), np.mean([d.y for d in dots])
        fit = FittedLine(x, [float(middle_y + each.found.slope * (one - middle_x)) for one in x])
    words = f"{figure_name(each.figure)} in {unit}"
    return scatter_plot(dots, f"{words[:1].upper()}{words[1:]}", "mean score", shown, fit)


def drift_section(material: Material) -> Section | None:
    """Return the control over sessions, days and runs."""
    drifts = material.verdict.drifts
    if not drifts:
        return None
    columns = (
        Column("control"),
        Column("what"),
        Column("met", "number", "how often the control was scored or measured"),
        Column("what it did"),
    )
    rows = tuple(
        (
            Cell(each.source),
            Cell(each.subject),
            Cell(str(each.drift.runs)),
            Cell(each.sentence, tone="attention" if each.is_suspect else ""),
        )
        for each in drifts
    )
    blocks: list[Block] = [Table(columns, rows)]
    blocks += [_drift_plot(each) for each in drifts if each.source == "driven" or each.is_suspect]
    blocks += [_corrected(material, each) for each in drifts if each.corrected]
    return Section("Did the control stay what it was?", tuple(blocks))


def _drift_plot(each: DriftFinding) -> Plot:
    known = [(t, v) for t, v in zip(each.time, each.level, strict=True) if np.isfinite(v)]
    shown = Plot(f"The control: {each.subject}", "", "", n=f"{len(known)} {each.time_unit}")
    return drift_plot(
        [t for t, _ in known],
        [v for _, v in known],
        [],
        (each.time_unit, f"control in {each.unit}"),
        shown,
    )


def _corrected(material: Material, each: DriftFinding) -> Table:
    verdict = material.verdict
    columns = (
        Column("set"),
        Column("raw", "number", "points beside the control"),
        Column(
            "corrected",
            "number",
            "the same with the control's drift taken off, after the "
            "method of ASTM F1650 made additive",
        ),
    )
    rows = tuple(
        (
            Cell(verdict.name_of(code), is_strong=True),
            Cell(points(raw)),
            Cell(points(each.corrected[code])),
        )
        for code, raw in each.raw.items()
    )
    return Table(columns, rows, f"{each.subject}: raw beside corrected")
