"""Writes a document to a file, whole or not at all."""

import contextlib
import os
from pathlib import Path

from ratings.errors import StudyError, reason_of
from ratings.reports.as_html import html_of
from ratings.reports.as_pdf import pdf_of
from ratings.reports.document import Document


def write_document(document: Document, destination: Path) -> Path:
    """Write a document as its name's ending says, ``.pdf`` or else HTML; return where it is.

    Raises
    ------
    RatingsError
        When it cannot be set as a PDF; nothing is written then.
    StudyError
        When the file cannot be written.
    """
    is_pdf = destination.suffix.lower() == ".pdf"
    return write_whole(pdf_of(document) if is_pdf else html_of(document).encode(), destination)


def write_whole(content: bytes, destination: Path) -> Path:
    """Write a file beside its place and move it there; return where it is.

    Raises
    ------
    StudyError
        When it cannot be written; what stood there before stays.
    """
    beside = destination.with_name(f".{destination.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(content)
        beside.replace(destination)
    except OSError as problem:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise StudyError(
            f"{destination.name} could not be written: {reason_of(problem)}.",
            "Choose another place; the scores in the study are safe.",
        ) from problem
    return destination
