"""What stands behind a report: runs, calibration, deviations, blindness, versions, methods."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from ratings.findings.name_order import by_number
from ratings.reports.agreement_page import METHODS
from ratings.reports.document import (
    Block,
    Bullets,
    Cell,
    Column,
    KeyFacts,
    Paragraph,
    Section,
    Subheading,
    Table,
)
from ratings.reports.study_report.material import Material
from ratings.study.program_version import program_version
from ratings.study.runs import Run, RunNote
from ratings.study.study_settings import PLACES
from ratings.study.wording import counted, listed

#: Methods of the verdict with their sources.
VERDICT_METHODS = (
    "Differences to the control by a mixed model with evaluators and evaluator by set as random, "
    "by mean squares where the table is complete, else by restricted maximum likelihood with the "
    "degrees of freedom of Kenward and Roger 1997, Biometrics 53:983-997. Adjusted for the sets: "
    "Dunnett 1955, J. Amer. Statist. Assoc. 50:1096-1121; for the attributes: Holm 1979, Scand. J. "
    "Statist. 6:65-70. Sources from memory.",
    "A single condition is called clear only where the attribute can be claimed as a whole or "
    "depends on the condition, after Holm's adjustment for all conditions that are looked at then.",
    "Too small to matter: two one-sided tests against the study's limit, each at 5 % and not "
    "adjusted: Schuirmann 1987, J. Pharmacokinet. Biopharm. 15:657-680 (from memory). It says "
    "nothing about what can be heard.",
    "Measured differences have 95 % intervals from the scatter of repeated runs, pooled over the "
    "sets; over several conditions the mean of those with repeated runs.",
    "The measurement says the same where its interval leaves out zero on the side that was heard "
    "and the difference is one that ears notice; otherwise where it points the other way or hardly "
    "differs; in all other cases it cannot tell.",
    "Points per decibel: least squares of the sets' means; leaving one set out: Allen 1974, "
    "Technometrics 16:125-127 (from memory).",
)

#: What stands where nothing is to be said.
NO_DOUBT = "No run, evaluator or change of the plan casts doubt on it."


def cautions_section(material: Material) -> Section:
    """Return what must be read before any finding."""
    told = tuple(each.sentence for each in material.verdict.cautions)
    block: Block = Bullets(told) if told else Paragraph(NO_DOUBT)
    return Section("Before any finding", (block,), starts_page=True)


def runs_section(material: Material) -> Section | None:
    """Return every run with the conditions that it was driven in."""
    if not material.runs:
        return None
    order = sorted(material.runs, key=lambda r: (by_number(r.set_code), r.condition.title, r.run))
    notes = [material.run_notes.get(run.recording_id, RunNote()) for run in order]
    # A column that nobody filled says nothing.
    known = [
        (heading, name)
        for heading, name in _NOTED.items()
        if any(getattr(note, name) is not None for note in notes)
    ]
    # Words and names of files may tell which set it is.
    is_open = bool(material.verdict.question.names)
    has_remarks = is_open and any(note.remark for note in notes)
    rows = tuple(
        (
            Cell(material.verdict.name_of(run.set_code), is_strong=True),
            Cell(run.condition.title),
            Cell(str(run.run)),
            *(Cell(_number(getattr(note, name))) for _, name in known),
            _state(run),
            *([Cell(note.remark)] if has_remarks else []),
        )
        for run, note in zip(order, notes, strict=True)
    )
    columns = (
        Column("set"),
        Column("condition"),
        Column("run", "number"),
        *(Column(heading, "number") for heading, _ in known),
        Column("state"),
        *([Column("remark")] if has_remarks else []),
    )
    blocks: list[Block] = [Table(columns, rows)]
    if not known:
        blocks.append(Paragraph("Nobody noted temperatures, wind, pressures or loads.", "soft"))
    return Section("In which conditions was each run driven?", tuple(blocks))


_NOTED = {
    "air °C": "air_c",
    "road °C": "surface_c",
    "tyre air °C": "tyre_air_c",
    "wind m/s": "wind_m_s",
    "front kPa": "pressure_front_kpa",
    "rear kPa": "pressure_rear_kpa",
    "front kg": "load_front_kg",
    "rear kg": "load_rear_kg",
}


def _state(run: Run) -> Cell:
    if run.worst in ("void", "doubtful"):
        return Cell(run.worst, tone="attention")
    return Cell("measured" if run.measured_at is not None else "not measured")


def calibration_section(material: Material) -> Section | None:
    """Return how each run's channels were calibrated, alike ones in one row."""
    # What files are called may tell which set it is.
    is_open = bool(material.verdict.question.names)
    found: Counter[tuple[str, ...]] = Counter()
    for run in material.runs:
        for number, channel in enumerate(material.channels.get(run.recording_id, ()), start=1):
            factor = channel.pa_per_full_scale
            key = (
                str(number),
                channel.role,
                "not calibrated" if factor is None else f"{factor:.4g} Pa",
                channel.calibration if is_open else "",
            )
            found[key] += 1
    if not found:
        return None
    columns = (
        Column("channel", "number"),
        Column("what it is"),
        Column("full scale", "number", "pressure that a full-scale sample stands for"),
        Column("calibration"),
        Column("runs", "number"),
    )
    rows = tuple((*(Cell(part) for part in key), Cell(str(runs))) for key, runs in found.items())
    return Section("How were the channels calibrated?", (Table(columns, rows),))


def deviations_section(material: Material) -> Section:
    """Return what was not as planned: settings changed late, and what is missing."""
    question = material.verdict.question
    changes = [each for each in question.changes if each.what not in PLACES]
    blocks: list[Block] = []
    if changes:
        columns = tuple(map(Column, ("what", "before", "after", "when", "scores by then")))
        rows = tuple(
            (
                Cell(each.what),
                Cell(each.before),
                Cell(each.after),
                Cell(_moment(each.changed_at)),
                Cell(str(each.scores_then), tone="attention" if each.scores_then else ""),
            )
            for each in changes
        )
        blocks.append(Table(columns, rows, caption="Settings that were changed."))
    planned = question.settings.planned_evaluators
    of_plan = "no number was planned" if planned is None else f"{planned} were planned"
    people = material.panel_words
    blocks.append(Paragraph(f"{people} counted; {of_plan}."))
    return Section("What was not as planned?", tuple(blocks))


def blindness_section(material: Material) -> Section:
    """Return who opened the key, when and why, and what else could have told."""
    log = material.blindness
    told = [
        f"The key was opened by {each.who} on {_moment(each.opened_at)}: {each.why}."
        for each in log.openings
    ] or ["The key has not been opened: sets are named by their codes."]
    for each in log.imports:
        how = {True: "by name", False: "by code", None: "by code or name, not recorded"}
        name = each.file_name if material.verdict.question.names else "A table"
        told.append(
            f"{name}: {counted(each.scores, 'score')} imported on "
            f"{_moment(each.imported_at)}, sets {how[each.sets_by_name]}."
        )
    if log.shares_clips:
        told.append(
            "All pairs of a condition play one clip of the control, as in studies of earlier "
            "versions: a count of the clips finds it."
        )
    if log.runs_added:
        told.append(
            f"{counted(len(log.runs_added), 'run')} added under a set's name after the study was "
            "made: whoever did it could see its code."
        )
    for late in log.later_scores:
        parts = [
            f"{count} {word}"
            for count, word in (
                (late.new, "new"),
                (late.changed, "changed"),
                (late.withdrawn, "withdrawn"),
                (late.imported, "imported"),
            )
            if count
        ]
        told.append(f"Scores of {late.evaluator} after the opening: {listed(parts)}.")
    return Section("Was it blind?", (Bullets(tuple(told)),))


def appendix(material: Material) -> Section:
    """Return methods, settings and versions."""
    facts, question = material.facts, material.verdict.question
    limits = question.settings.limits
    return Section(
        "How it was worked out",
        (
            KeyFacts(
                (
                    ("Study", facts.name),
                    ("Vehicle", facts.vehicle or "not told"),
                    ("Made", f"{facts.created_at:%Y-%m-%d}"),
                    (
                        "Limits",
                        f"{limits.small:g}, {limits.matters:g} and {limits.customer:g} points: "
                        "trained ears back to back, matters, customer (common practice)",
                    ),
                    ("Program", f"Twinset {program_version()}"),
                    ("Seed of the orders", material.seed or "behind the key"),
                    ("Written", _moment(material.written_at)),
                )
            ),
            Subheading("Verdict"),
            Bullets(VERDICT_METHODS, "small"),
            Subheading("Agreement"),
            Bullets(METHODS, "small"),
        ),
        is_appendix=True,
        starts_page=True,
    )


def _moment(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M} UTC"


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:g}".replace("-", "−")
