"""What was measured: bands beside the control, third octaves, and the coast-down."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ratings.findings.measured_words import headline
from ratings.findings.run_curves import (
    OVERALL,
    Curve,
    bands_over_speed,
    levels_over_speed,
    third_octave_spectra,
)
from ratings.reports.document import Block, Paragraph, Plot, Section
from ratings.reports.measured_table import level_unit
from ratings.reports.plots.band_bars import BandDifference, BandSet, band_plots
from ratings.reports.plots.curves import Course, spectrum_plots, speed_plots
from ratings.reports.study_report.material import Material
from ratings.study.figures import EARS

_EARS = "mean of the driver's ears"


def measured_section(material: Material) -> Section | None:
    """Return the measured figures; None without runs."""
    measured = material.verdict.question.measured
    if measured is None:
        return None
    found = measured.found
    if not found.findings:
        return Section("What was measured?", (Paragraph("No run has been measured yet."),))
    blocks: list[Block] = [Paragraph(material.named(headline(found, EARS)))]
    for title in found.conditions:
        blocks += _bands(material, title)
        blocks += _third_octaves(material, title)
        blocks += _over_speed(material, title)
    return Section("What was measured?", tuple(blocks), starts_page=True)


def _bands(material: Material, title: str) -> list[Block]:
    measured = material.verdict.question.measured
    if measured is None:
        return []
    bands = sorted(measured.bands.bands, key=lambda band: (band.low_hz, band.high_hz))
    by_key = {f.key: f for f in measured.found.block(title, EARS)}
    known = [band for band in bands if f"band_{band.key}" in by_key]
    sets = []
    for each in material.verdict.sets:
        told = []
        for band in known:
            finding = by_key[f"band_{band.key}"]
            one = next((d for d in finding.differences if d.set == each.code), None)
            value = None if one is None else one.difference
            low, high = (None, None) if one is None else (one.low, one.high)
            told.append(BandDifference(band.name, value, low, high))
        if any(one.value is not None for one in told):
            sets.append(BandSet(material.marks[each.code], tuple(told)))
    if not sets:
        return []
    shown = Plot(
        "Bands beside the control",
        "",
        "",
        condition=title,
        channel=_EARS,
        n=_runs(material, title),
        caption="Difference with its 95 % interval from the scatter of the runs, where runs were "
        "repeated. Bands overlap; their levels are never added.",
    )
    return list(band_plots(sets, shown))


def _third_octaves(material: Material, title: str) -> list[Block]:
    measured = material.verdict.question.measured
    if measured is None:
        return []
    curves = third_octave_spectra(measured.found.block(title, EARS))
    courses, is_true = _courses(material, curves)
    if not courses:
        return []
    shown = Plot(
        "Third octaves",
        "",
        "",
        condition=title,
        channel=_EARS,
        n=_runs(material, title),
        caption="Mean level over the runs, unweighted.",
    )
    return list(spectrum_plots(courses, level_unit(is_level_true=is_true), shown))


def _over_speed(material: Material, title: str) -> list[Block]:
    here = [each for each in material.curves if each.run.condition.title == title]
    if not any(each.run.condition.manoeuvre == "coast-down" for each in here):
        return []
    if OVERALL not in bands_over_speed(here):
        return []
    courses, is_true = _courses(material, levels_over_speed(here, EARS, OVERALL))
    if not courses:
        return []
    shown = Plot(
        "Level against speed",
        "",
        "",
        condition=title,
        channel=_EARS,
        n=_runs(material, title),
        caption="A-weighted level in bins of 5 km/h.",
    )
    unit = level_unit(is_level_true=is_true, weighting="A-weighted")
    return list(speed_plots(courses, unit, shown))


def _courses(material: Material, curves: Sequence[Curve]) -> tuple[list[Course], bool]:
    """Return what can be drawn on one axis: never levels re full scale beside pascals."""
    is_true = any(curve.is_level_true for curve in curves)
    marks, order = material.marks, list(material.marks)
    drawn = [
        Course(marks[curve.code], curve.x[keep].tolist(), curve.y[keep].tolist())
        for curve in sorted(curves, key=lambda c: order.index(c.code))
        if curve.is_level_true == is_true and (keep := np.isfinite(curve.y)).any()
    ]
    return drawn, is_true


def _runs(material: Material, title: str) -> str:
    counts = {
        sum(run.set_code == code for run in material.runs if run.condition.title == title)
        for code in material.verdict.question.codes
    } - {0}
    few, many = min(counts, default=0), max(counts, default=0)
    words = f"{few}" if few == many else f"{few} to {many}"
    return f"{words} {'run' if words == '1' else 'runs'} of each set"
