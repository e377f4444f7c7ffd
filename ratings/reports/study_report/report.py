"""The report as one document, and as files in a folder."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import RatingsError, StudyError, reason_of
from ratings.reports.document import Document, Section
from ratings.reports.study_report import heard, record
from ratings.reports.study_report.front import opening
from ratings.reports.study_report.material import Material, read_material
from ratings.reports.study_report.measured import measured_section
from ratings.reports.tables_out import write_tables
from ratings.reports.writing import write_document
from ratings.storage.blind_study import utc_now
from ratings.study.file_names import safe_name
from ratings.study.progress import Progress, quiet

if TYPE_CHECKING:
    import pandas as pd

    from ratings.storage.study_folder import Study

#: What the tables are called in their files' names.
TABLES = ("scores", "measurements")


def study_document(material: Material) -> Document:
    """Put the report together."""
    facts, verdict = material.facts, material.verdict
    sections: list[Section | None] = [
        record.cautions_section(material),
        heard.differences_section(material),
        heard.forest_section(material),
        heard.enough_section(material),
        measured_section(material),
        heard.ear_section(material),
        heard.agreement_section(material),
        heard.comments_section(material),
        record.runs_section(material),
        record.calibration_section(material),
        heard.drift_section(material),
        record.deviations_section(material),
        record.blindness_section(material),
        record.appendix(material),
    ]
    key = "Sets by name" if verdict.question.names else "Sets stay coded"
    invented = " (invented)" if facts.is_invented else ""
    return Document(
        verdict.headline,
        f"{facts.name}: report",
        material.written_at,
        head="Tyre noise, judged by ear and measured",
        head_end=f"{material.written_at:%Y-%m-%d}{invented}",
        foot=f"{facts.name}. {key}. Relates only to the sets tested.",
        opening=opening(material),
        sections=tuple(section for section in sections if section is not None),
    )


def report_files(study_name: str, folder: Path) -> tuple[Path, ...]:
    """Return where a report's files lie in a folder."""
    name = safe_name(study_name)
    tables = (f"{name} {what}.{kind}" for what in TABLES for kind in ("csv", "parquet"))
    pages = (f"{name} report.{kind}" for kind in ("html", "pdf"))
    return tuple(folder / file for file in (*pages, *tables))


def write_report(
    study: Study,
    folder: Path,
    progress: Progress = quiet,
    clock: Callable[[], datetime] = utc_now,
) -> tuple[Path, ...]:
    """Write the report as PDF and HTML, and both tables as CSV and Parquet; return the files.

    Raises
    ------
    StudyError
        When the study cannot be read or a file cannot be written.
    RatingsError
        When the PDF cannot be set; everything else is written first.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise StudyError(
            f"The folder {folder.name} cannot be made: {reason_of(problem)}.",
            "Choose another place; the study has not changed.",
        ) from problem
    material = read_material(study, clock, progress)
    progress(0.6, "Putting the report together")
    document = study_document(material)
    name = material.facts.name
    page, paper, *_ = report_files(name, folder)
    progress(0.7, "Writing the pages")
    written = [write_document(document, page)]
    written += write_tables(_tables(material, safe_name(name)), folder)
    progress(0.9, "Setting the PDF")
    try:
        written.append(write_document(document, paper))
    except StudyError:
        raise
    except RatingsError as problem:
        raise RatingsError(
            problem.what_happened, f"{problem.what_to_do} The HTML and the tables are written."
        ) from problem
    progress(1.0, "Done")
    return tuple(written)


def _tables(material: Material, name: str) -> dict[str, pd.DataFrame]:
    """Return both tables by file name; with the sets' names beside the codes once they are open."""
    question = material.verdict.question
    names, scores, tables = question.names, material.scores, {}
    if scores is not None:
        # What the verdict stands on can be worked out again from the table alone.
        scores = scores.assign(counted=scores["evaluator"].isin(question.finished))
    for what, table in zip(TABLES, (scores, material.measurements), strict=True):
        if table is not None:
            named = table.assign(set_name=table["set"].map(names)) if names else table
            tables[f"{name} {what}"] = named
    return tables
