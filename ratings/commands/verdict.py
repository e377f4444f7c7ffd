"""The command ``verdict``: which set differs from the control, where, by how much, how sure."""

import argparse
import math
import textwrap
from collections.abc import Iterator
from dataclasses import asdict

from ratings.commands.common_options import (
    Json,
    add_details_option,
    add_json_option,
    aligned,
    explained,
    named_path,
    printed,
)
from ratings.findings.verdict.beside import Beside
from ratings.findings.verdict.cells import Cell
from ratings.findings.verdict.control_drift import DriftFinding
from ratings.findings.verdict.ear_meter import EarMeter
from ratings.findings.verdict.judging import StudyVerdict, study_verdict
from ratings.findings.verdict.rows import Row, SetVerdict
from ratings.findings.verdict.words import points
from ratings.reports.verdict_lines import ALL_CONDITIONS, COLUMNS, verdict_lines
from ratings.storage.study_folder import open_study
from ratings.study.wording import counted

HELP = "say of a study which set differs from the control, where, by how much and how surely"

_WIDTH = 100
#: Beyond so many sets each has a sentence in place of a column.
_MOST_COLUMNS = 4
_MOST_CAUTIONS = 4
_SHORT = {
    "clear": "clear",
    "by condition": "by condition",
    "too small to matter": "too small",
    "not certain": "not certain",
    "no verdict": "no verdict",
}
#: What the short table holds, one line each.
LEGEND = (
    "points: set less control over all conditions, + is better; n: evaluators who rated both.",
    "clear: after adjusting for sets and attributes; too small: within the limit that matters;",
    "!: the panel does not agree there; =, #, ?: measured the same, otherwise, cannot tell.",
)
_SIGNS = {"the same": "=", "otherwise": "#", "cannot tell": "?"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_study(parser)
    add_details_option(parser)
    add_json_option(parser)


def add_study(parser: argparse.ArgumentParser) -> None:
    """Take the folder of a study."""
    parser.add_argument(
        "study", type=named_path, metavar="STUDY", help="folder of a study; nothing is written"
    )


def run(arguments: argparse.Namespace) -> str:
    """Return what is to be printed.

    Raises
    ------
    StudyError
        When the study cannot be read.
    """
    study = open_study(arguments.study, only_read=True)
    try:
        verdict = study_verdict(study)
    finally:
        study.close()
    if arguments.json:
        return printed(as_json(verdict))
    return as_details(verdict) if arguments.details else as_text(verdict)


def as_text(verdict: StudyVerdict) -> str:
    """Return the short answer."""
    # The first sentence says who, what and where; how claims are adjusted stands in the details.
    rests_on = verdict.standing.partition(". ")[0].rstrip(".")
    lines = [*_wrapped(verdict.headline), *_wrapped(f"{rests_on}.")]
    told = [f"! {each.sentence}" for each in verdict.cautions]
    lines += [textwrap.shorten(each, _WIDTH, placeholder=" ...") for each in told[:_MOST_CAUTIONS]]
    if len(told) > _MOST_CAUTIONS:
        lines.append(f"! {len(told) - _MOST_CAUTIONS} more: --details")
    if verdict.enough is not None:
        lines += _wrapped(f"Is it enough? {verdict.enough.headline}")
    if verdict.sets and len(verdict.sets) <= _MOST_COLUMNS:
        lines += ["", *_matrix(verdict), *LEGEND]
    else:
        lines += ["", *(line for each in verdict.sets for line in _wrapped(each.sentence))]
    return "\n".join([*lines, "Conditions, figures, reasons: --details."]) + "\n"


def _matrix(verdict: StudyVerdict) -> list[str]:
    rows = [("attribute", *(verdict.name_of(each.code) for each in verdict.sets), "n")]
    for lines in zip(*verdict_lines(verdict), strict=True):
        cells = []
        for line in lines:
            cell = line.cell
            words = cell.way or _SHORT[cell.word]
            size = "" if cell.difference is None else f"{points(cell.difference)} "
            sign = f" {_SIGNS[line.beside.says]}" if line.beside.difference is not None else ""
            cells.append(f"{size}{words}{' !' if line.is_apart else ''}{sign}")
        count = {line.cell.evaluators for line in lines}
        ends = sorted({min(count), max(count)})
        rows.append((lines[0].attribute_name, *cells, " to ".join(map(str, ends))))
    return aligned(rows)


def as_details(verdict: StudyVerdict) -> str:
    """Return everything for a person to read."""
    lines = [*_wrapped(verdict.headline), *_wrapped(verdict.standing)]
    lines += [line for each in verdict.cautions for line in _wrapped(f"! {each.sentence}")]
    if verdict.enough is not None:
        lines += ["", "Is it enough?", *_indented(verdict.enough.headline)]
        lines += [line for note in verdict.enough.notes for line in _indented(note)]
    for each in verdict.sets:
        lines += ["", *_wrapped(each.sentence)]
    lines += _cells(verdict)
    for heading, told in (
        ("Points per decibel", [each.sentence for each in verdict.ears_and_meters]),
        ("The control", [f"{d.subject}, {d.source}: {d.sentence}" for d in verdict.drifts]),
    ):
        if told:
            lines += ["", heading, *(line for each in told for line in _indented(each))]
    lines += ["", "What is listed, and what --json and the saved table call it:"]
    lines += explained(list(COLUMNS.items()))
    return "\n".join(lines) + "\n"


def _cells(verdict: StudyVerdict) -> Iterator[str]:
    titles = verdict.conditions if len(verdict.conditions) > 1 else ()
    for condition in (None, *titles):
        for by_set in zip(*verdict_lines(verdict, condition), strict=True):
            yield ""
            yield f"{by_set[0].attribute_name}, {condition or ALL_CONDITIONS}"
            for line in by_set:
                head = f"{line.set_name}: {line.size or 'no figures'}, {line.word}"
                yield f"  {head}, {counted(line.cell.evaluators, 'evaluator')}"
                yield from _indented(line.sentence, 4)


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(words, _WIDTH)


def _indented(words: str, by: int = 2) -> list[str]:
    return textwrap.wrap(words, _WIDTH, initial_indent=" " * by, subsequent_indent=" " * by)


def as_json(verdict: StudyVerdict) -> Json:
    """Return every figure and sentence; what is undefined is null, minus is plain."""
    question = verdict.question
    opened = question.opening
    figures: Json = {
        "headline": verdict.headline,
        "standing": verdict.standing,
        "cautions": [asdict(each) for each in verdict.cautions],
        "limits": asdict(question.settings.limits),
        "control": verdict.name_of(question.control),
        "evaluators": list(verdict.evaluators),
        "planned_evaluators": question.settings.planned_evaluators,
        "conditions": list(verdict.conditions),
        "key_opened": None
        if opened is None
        else {"who": opened.who, "why": opened.why, "at": opened.opened_at.isoformat()},
        "enough": None if verdict.enough is None else asdict(verdict.enough),
        "sets": [_set_json(verdict, each) for each in verdict.sets],
        "points_per_unit": [_ear_json(each) for each in verdict.ears_and_meters],
        "control_drift": [_drift_json(each) for each in verdict.drifts],
    }
    return {name: _plain(value) for name, value in figures.items()}


def _ear_json(each: EarMeter) -> Json:
    found = each.found
    return {
        "attribute": each.attribute,
        "figure": each.figure,
        "unit": each.unit,
        "slope": found.slope,
        "slope_lower": found.slope_lower,
        "slope_upper": found.slope_upper,
        "sets": found.sets,
        "left_out_error": found.left_out_error,
        "sentence": each.sentence,
        "points": [asdict(point) for point in each.points],
    }


def _drift_json(each: DriftFinding) -> Json:
    return {
        "source": each.source,
        "subject": each.subject,
        "unit": each.unit,
        "time_unit": each.time_unit,
        "time": list(each.time),
        "level": list(each.level),
        "slope": each.drift.slope,
        "is_suspect": each.is_suspect,
        "raw": dict(each.raw),
        "corrected": dict(each.corrected),
        "sentence": each.sentence,
    }


def _set_json(verdict: StudyVerdict, each: SetVerdict) -> Json:
    return {
        "set": verdict.name_of(each.code),
        "sentence": each.sentence,
        "attributes": [_row_json(row) for row in each.rows],
    }


def _row_json(row: Row) -> Json:
    return {
        "attribute": row.attribute,
        "name": row.name,
        **_cell_json(row.overall, row.beside),
        "smallest_detectable": row.smallest_detectable,
        "mark": row.mark,
        "noticed": row.noticed,
        "sentence": row.sentence,
        "by_condition": [
            _cell_json(cell, row.beside_by_condition.get(cell.condition or ""))
            for cell in row.cells.by_condition
        ],
    }


def _cell_json(cell: Cell, each: Beside | None) -> Json:
    return {**asdict(cell), "way": cell.way, "measured": None if each is None else asdict(each)}


def _plain(value: object) -> object:
    """Return a value as other programs take it."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, str):
        return value.replace("−", "-")
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value
